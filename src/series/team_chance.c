/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_chance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/stats.h"

#define RUNS_MIN   100u
#define ARCHERS    SH_TEAM_PLAN_ARCHERS_MAX
#define ROUNDING_S 1e-9 /* sums that differ by less are the same */
#define TAIL       (0.5 * (1.0 - SH_TEAM_CHANCE_LEVEL))

/* What is drawn from, and what it came to. The orders that one archer begins share an entry. */
struct work {
    const struct sh_team_plan *plan;
    const struct sh_team_chance_config *config;
    struct sh_random random;
    struct sh_team_pool pool[ARCHERS];
    struct sh_team_hand_over hand_over[ARCHERS];
    double *seen_s[ARCHERS]; /* the hand-overs that were drawn */
    double *left_s;          /* [n_archers][n_runs] of the runs */
    double *chance;          /* [n_archers][n_redraws] */
    double *mean_s;          /* [n_archers][n_redraws] expected time left */
    double *spare;           /* [n_runs + n_redraws] */
};

struct sh_team_chance_config sh_team_chance_config_default(void)
{
    return (struct sh_team_chance_config){
        .seed = 1, .n_runs = 20000, .n_redraws = 1000, .n_inner = 1000};
}

/* An archer's part of one end: where she begins it, and where she does not. */
struct part {
    double first_s;
    double later_s;
};

static void add(struct part *part, double s)
{
    part->first_s += s;
    part->later_s += s;
}

/* One turn; only the very first of an end may follow the clock's start. */
static void run_turn(struct work *work, size_t archer, bool may_begin, struct part *part)
{
    const struct sh_team_plan *plan = work->plan;
    const struct sh_team_pool *pool = &work->pool[archer];
    const bool is_begun = may_begin && !plan->is_first_handed;
    const double hand_over_s = sh_team_hand_over_pick_s(&work->hand_over[archer],
                                                        sh_random_get_uniform(&work->random));
    double u = sh_random_get_uniform(&work->random);
    size_t later_end = 0;
    part->later_s +=
        hand_over_s + sh_team_pool_pick_first_s(pool, SH_TEAM_FIRST_HAND_OVER, u, &later_end);
    size_t first_end = later_end;
    part->first_s +=
        is_begun ? sh_team_pool_pick_first_s(pool, SH_TEAM_FIRST_START, u, &first_end)
                 : hand_over_s +
                       sh_team_pool_pick_first_s(pool, SH_TEAM_FIRST_HAND_OVER, u, &first_end);
    for (size_t arrow = 1; arrow < plan->n_turn; arrow++) {
        u = sh_random_get_uniform(&work->random);
        part->first_s += sh_team_pool_pick_next_s(pool, first_end, u);
        part->later_s += sh_team_pool_pick_next_s(pool, later_end, u);
    }
    for (size_t arrow = 0; arrow < plan->n_turn; arrow++) {
        add(part, sh_team_pool_draw_let_downs_s(pool, &work->random));
    }
}

/* One end, whoever begins: the time left after its last arrow. */
static void run_end(struct work *work, double left_s[ARCHERS])
{
    const struct sh_team_plan *plan = work->plan;
    struct part part[ARCHERS];
    double sum_s = 0.0;
    for (size_t a = 0; a < plan->n_archers; a++) {
        part[a] = (struct part){0.0, 0.0};
        for (size_t turn = 0; turn < plan->n_arrows / plan->n_turn; turn++) {
            run_turn(work, a, turn == 0, &part[a]);
        }
        sum_s += part[a].later_s;
    }
    for (size_t a = 0; a < plan->n_archers; a++) {
        left_s[a] = plan->shooting_s - (sum_s - part[a].later_s + part[a].first_s);
    }
}

/* What a turn takes on average, without the hand-over. */
static double get_turn_s(const struct work *work, size_t archer, enum sh_team_first kind)
{
    const struct sh_team_pool *pool = &work->pool[archer];
    const double n = (double)work->plan->n_turn;
    return sh_team_pool_get_first_mean_s(pool, kind) +
           (n - 1.0) * sh_team_pool_get_next_mean_s(pool, kind) +
           n * sh_team_pool_get_let_downs_mean_s(pool);
}

/* The turns of an order on average; the time left after the last. */
static double add_up(const struct work *work,
                     const struct sh_team_plan_order *order,
                     struct sh_team_chance_turn *turns)
{
    const struct sh_team_plan *plan = work->plan;
    double left_s = plan->shooting_s;
    for (size_t turn = 0; turn < sh_team_plan_get_turns(plan); turn++) {
        const size_t archer = order->archer[turn % plan->n_archers];
        const bool is_begun = turn == 0 && !plan->is_first_handed;
        left_s -= is_begun ? 0.0 : sh_team_hand_over_get_mean_s(&work->hand_over[archer]);
        turns[turn] = (struct sh_team_chance_turn){.archer = archer, .begins_s = left_s};
        left_s -=
            get_turn_s(work, archer, is_begun ? SH_TEAM_FIRST_START : SH_TEAM_FIRST_HAND_OVER);
        turns[turn].ends_s = left_s;
    }
    return left_s;
}

/* The time left on average where an archer begins. */
static double get_left_s(const struct work *work, size_t first)
{
    struct sh_team_chance_turn turns[SH_TEAM_PLAN_TURNS_MAX];
    struct sh_team_plan_order order = {{0, 1, 2, 3}};
    order.archer[0] = first;
    order.archer[first] = 0;
    return add_up(work, &order, turns);
}

static void redraw(struct work *work)
{
    for (size_t a = 0; a < work->plan->n_archers; a++) {
        const struct sh_team_hand_over *hand_over = &work->plan->archers[a].hand_over;
        sh_team_pool_redraw(&work->pool[a], &work->random);
        for (size_t i = 0; i + 1 < hand_over->n_seen; i++) {
            work->seen_s[a][i] =
                hand_over
                    ->seen_s[sh_random_get_below(&work->random, (uint64_t)hand_over->n_seen)];
        }
        if (hand_over->n_seen > 1) {
            work->hand_over[a].seen_s = work->seen_s[a];
            work->hand_over[a].n_seen = hand_over->n_seen - 1;
        }
    }
}

static void run_all(struct work *work)
{
    const size_t n_archers = work->plan->n_archers;
    const size_t n_runs = work->config->n_runs;
    double left_s[ARCHERS] = {0.0};
    for (size_t run = 0; run < n_runs; run++) {
        run_end(work, left_s);
        for (size_t a = 0; a < n_archers; a++) {
            work->left_s[a * n_runs + run] = left_s[a];
        }
    }
}

/* Ends of one redraw that are in time, by who begins. */
static void count_in_time(struct work *work, size_t n_in_time[ARCHERS])
{
    double left_s[ARCHERS] = {0.0};
    for (size_t run = 0; run < work->config->n_inner; run++) {
        run_end(work, left_s);
        for (size_t a = 0; a < work->plan->n_archers; a++) {
            n_in_time[a] += left_s[a] >= -ROUNDING_S ? 1 : 0;
        }
    }
}

static void run_redraws(struct work *work)
{
    const size_t n_redraws = work->config->n_redraws;
    for (size_t i = 0; i < n_redraws; i++) {
        size_t n_in_time[ARCHERS] = {0};
        redraw(work);
        count_in_time(work, n_in_time);
        for (size_t a = 0; a < work->plan->n_archers; a++) {
            work->chance[a * n_redraws + i] =
                (double)n_in_time[a] / (double)work->config->n_inner;
            work->mean_s[a * n_redraws + i] = get_left_s(work, a);
        }
    }
}

/* The interval of what redraws gave, widened to hold the value. */
static struct sh_team_chance_figure
find_figure(const struct work *work, double value, const double *redrawn)
{
    struct sh_team_chance_figure figure = {value, value, value};
    const size_t n = work->config->n_redraws;
    double lo = 0.0;
    double hi = 0.0;
    if (sh_stats_get_quantile(redrawn, n, TAIL, work->spare, &lo) == SH_OK &&
        sh_stats_get_quantile(redrawn, n, 1.0 - TAIL, work->spare, &hi) == SH_OK) {
        figure.lo = fmin(value, lo);
        figure.hi = fmax(value, hi);
    }
    return figure;
}

static void tell_order(const struct work *work, struct sh_team_chance_order *order)
{
    const size_t n_runs = work->config->n_runs;
    const size_t n_redraws = work->config->n_redraws;
    const size_t first = order->order.archer[0];
    const double *left_s = work->left_s + first * n_runs;
    size_t n_in_time = 0;
    for (size_t run = 0; run < n_runs; run++) {
        n_in_time += left_s[run] >= -ROUNDING_S ? 1 : 0;
    }
    const double p = (double)n_in_time / (double)n_runs;
    order->chance = find_figure(work, p, work->chance + first * n_redraws);
    order->chance_u = sqrt(p * (1.0 - p) / (double)n_runs);
    (void)sh_stats_get_quantile(left_s, n_runs, SH_TEAM_CHANCE_LOW_RATIO, work->spare,
                                &order->low_s);
    order->left_s = find_figure(work, add_up(work, &order->order, order->turns),
                                work->mean_s + first * n_redraws);
}

/* The one of values[n_archers][stride] that is largest at a place, passing over one archer. */
static size_t
find_largest(const double *values, size_t n_archers, size_t stride, size_t passed_over)
{
    size_t largest = passed_over == 0 ? 1 : 0;
    for (size_t a = 0; a < n_archers; a++) {
        if (a != passed_over && values[a * stride] > values[largest * stride]) {
            largest = a;
        }
    }
    return largest;
}

static void find_best(const struct work *work, struct sh_team_chance_best *best)
{
    const size_t n_archers = work->plan->n_archers;
    const size_t n = work->config->n_redraws;
    double left_s[ARCHERS] = {0.0};
    double least_s = HUGE_VAL;
    size_t n_best = 0;
    for (size_t a = 0; a < n_archers; a++) {
        left_s[a] = get_left_s(work, a);
        least_s = fmin(least_s, left_s[a]);
    }
    best->archer = find_largest(left_s, n_archers, 1, n_archers);
    best->next = find_largest(left_s, n_archers, 1, best->archer);
    best->is_alike = left_s[best->archer] - least_s <= ROUNDING_S;
    double *gain_s = work->chance; /* which nobody reads any more */
    for (size_t i = 0; i < n; i++) {
        const double of_best_s = work->mean_s[best->archer * n + i];
        const size_t other = find_largest(work->mean_s + i, n_archers, n, best->archer);
        gain_s[i] = of_best_s - work->mean_s[best->next * n + i];
        n_best += of_best_s > work->mean_s[other * n + i] + ROUNDING_S ? 1 : 0;
    }
    best->share_ratio = (double)n_best / (double)n;
    best->gain_s = find_figure(work, left_s[best->archer] - left_s[best->next], gain_s);
    best->is_sure = best->share_ratio >= SH_TEAM_CHANCE_SURE_RATIO && best->gain_s.lo > 0.0;
}

static void tell_archers(const struct work *work, struct sh_team_chance_archer *archers)
{
    for (size_t a = 0; a < work->plan->n_archers; a++) {
        const struct sh_team_pool *pool = &work->pool[a];
        for (size_t kind = 0; kind < SH_TEAM_FIRST_KINDS; kind++) {
            archers[a].first_s[kind] =
                sh_team_pool_get_first_mean_s(pool, (enum sh_team_first)kind);
        }
        archers[a].next_s = sh_team_pool_get_next_mean_s(pool, SH_TEAM_FIRST_HAND_OVER);
        archers[a].hand_over_s = sh_team_hand_over_get_mean_s(&work->hand_over[a]);
        archers[a].let_down_ratio = pool->let_down_ratio;
        archers[a].let_downs_s = sh_team_pool_get_let_downs_mean_s(pool);
    }
}

/* The pools and hand-overs as they are, not drawn afresh. */
static enum sh_status open_pools(struct work *work)
{
    enum sh_status status = SH_OK;
    for (size_t a = 0; a < work->plan->n_archers && status == SH_OK; a++) {
        work->hand_over[a] = work->plan->archers[a].hand_over;
        sh_team_pool_close(&work->pool[a]);
        status = sh_team_pool_open(work->plan->archers[a].times, &work->pool[a]);
    }
    return status;
}

static enum sh_status open_work(struct work *work)
{
    const struct sh_team_plan *plan = work->plan;
    const size_t n_runs = work->config->n_runs;
    const size_t n_redraws = work->config->n_redraws;
    bool is_open = true;
    work->left_s = calloc(plan->n_archers * n_runs, sizeof *work->left_s);
    work->chance = calloc(plan->n_archers * n_redraws, sizeof *work->chance);
    work->mean_s = calloc(plan->n_archers * n_redraws, sizeof *work->mean_s);
    work->spare = calloc(n_runs + n_redraws, sizeof *work->spare);
    for (size_t a = 0; a < plan->n_archers; a++) {
        work->seen_s[a] = calloc(plan->archers[a].hand_over.n_seen + 1, sizeof(double));
        is_open = is_open && work->seen_s[a] != NULL;
    }
    is_open = is_open && work->left_s != NULL && work->chance != NULL && work->mean_s != NULL &&
              work->spare != NULL;
    return is_open ? open_pools(work) : SH_ERR_MEMORY;
}

static void close_work(struct work *work)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        sh_team_pool_close(&work->pool[a]);
        free(work->seen_s[a]);
    }
    free(work->left_s);
    free(work->chance);
    free(work->mean_s);
    free(work->spare);
}

static enum sh_status check(const struct sh_team_plan *plan,
                            const struct sh_team_chance_config *config)
{
    return config->n_runs >= RUNS_MIN && config->n_redraws >= RUNS_MIN &&
                   config->n_inner >= RUNS_MIN
               ? sh_team_plan_check(plan)
               : SH_ERR_ARGUMENT;
}

enum sh_status sh_team_chance_get(const struct sh_team_plan *plan,
                                  const struct sh_team_chance_config *config,
                                  struct sh_team_chance *chance)
{
    struct sh_team_plan_order orders[SH_TEAM_PLAN_ORDERS_MAX];
    struct work work = {.plan = plan, .config = config};
    enum sh_status status = check(plan, config);
    if (status != SH_OK) {
        return status;
    }
    memset(chance, 0, sizeof *chance);
    chance->plan = *plan;
    chance->config = *config;
    status = open_work(&work);
    if (status == SH_OK) {
        sh_random_init(&work.random, config->seed);
        run_all(&work);
        run_redraws(&work);
        status = open_pools(&work);
    }
    if (status == SH_OK) {
        tell_archers(&work, chance->archers);
        chance->n_orders = sh_team_plan_list_orders(plan->n_archers, orders);
        for (size_t i = 0; i < chance->n_orders; i++) {
            chance->orders[i].order = orders[i];
            tell_order(&work, &chance->orders[i]);
        }
        find_best(&work, &chance->best);
    }
    close_work(&work);
    return status;
}
