/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_pool.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct sh_team_end *get_end(const struct sh_team_pool *pool, size_t end)
{
    return &pool->times->ends[end];
}

static void put(struct sh_team_pool_list *list, size_t index)
{
    list->index[list->n++] = index;
}

static void empty_lists(struct sh_team_pool *pool)
{
    for (size_t kind = 0; kind < SH_TEAM_FIRST_KINDS; kind++) {
        pool->first[kind].n = 0;
    }
    pool->next.n = 0;
    pool->cost.n = 0;
}

static void list_end(struct sh_team_pool *pool, size_t index)
{
    const struct sh_team_end *end = get_end(pool, index);
    for (size_t kind = 0; kind < SH_TEAM_FIRST_KINDS; kind++) {
        if (end->first == (enum sh_team_first)kind ||
            (pool->is_merged && end->first != SH_TEAM_FIRST_KINDS)) {
            put(&pool->first[kind], index);
        }
    }
    if (end->n_next > 0) {
        put(&pool->next, index);
    }
    for (size_t i = 0; i < end->n_costs; i++) {
        put(&pool->cost, end->cost + i);
    }
}

/* Makes the lists of the ends that are drawn; whether they hold any time. */
static bool list_all(struct sh_team_pool *pool)
{
    double n_arrows = 0.0;
    double n_let_downs = 0.0;
    empty_lists(pool);
    for (size_t i = 0; i < pool->drawn.n; i++) {
        const struct sh_team_end *end = get_end(pool, pool->drawn.index[i]);
        list_end(pool, pool->drawn.index[i]);
        n_arrows += (double)end->n_arrows;
        n_let_downs += (double)end->n_let_downs;
    }
    const bool has_times = pool->next.n + pool->first[SH_TEAM_FIRST_START].n +
                               pool->first[SH_TEAM_FIRST_HAND_OVER].n >
                           0;
    pool->let_down_ratio = has_times ? n_let_downs / (n_arrows + n_let_downs) : 0.0;
    return has_times;
}

static double get_end_mean_s(const struct sh_team_pool *pool, size_t end)
{
    const struct sh_team_end *of = get_end(pool, end);
    double sum_s = 0.0;
    for (size_t i = 0; i < of->n_next; i++) {
        sum_s += pool->times->next_s[of->next + i];
    }
    return of->n_next > 0 ? sum_s / (double)of->n_next : 0.0;
}

static size_t find_most_costs(const struct sh_team_times *times)
{
    size_t most = 0;
    for (size_t i = 0; i < times->n_ends; i++) {
        most = times->ends[i].n_costs > most ? times->ends[i].n_costs : most;
    }
    return most;
}

enum sh_status sh_team_pool_open(const struct sh_team_times *times, struct sh_team_pool *pool)
{
    const struct sh_team_times_count count = sh_team_times_get_count(times);
    const size_t n = times->n_ends;
    *pool = (struct sh_team_pool){.times = times};
    if (!sh_team_times_is_enough(&count)) {
        return SH_ERR_SHORT;
    }
    for (size_t kind = 0; kind < SH_TEAM_FIRST_KINDS; kind++) {
        pool->is_merged = pool->is_merged || count.n_first[kind] < SH_TEAM_POOL_FIRST_MIN;
        pool->first[kind].index = calloc(n, sizeof(size_t));
    }
    pool->drawn.index = calloc(n, sizeof(size_t));
    pool->next.index = calloc(n, sizeof(size_t));
    pool->cost.index = calloc(n * find_most_costs(times) + 1, sizeof(size_t));
    pool->end_mean_s = calloc(n, sizeof(double));
    if (pool->drawn.index == NULL || pool->next.index == NULL || pool->cost.index == NULL ||
        pool->end_mean_s == NULL || pool->first[SH_TEAM_FIRST_START].index == NULL ||
        pool->first[SH_TEAM_FIRST_HAND_OVER].index == NULL) {
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < n; i++) {
        put(&pool->drawn, i);
        pool->end_mean_s[i] = get_end_mean_s(pool, i);
    }
    (void)list_all(pool); /* which hold times, as they are enough */
    return SH_OK;
}

/* The ends that first arrows of a kind are taken from; those of further arrows: none is. */
static const struct sh_team_pool_list *find_first(const struct sh_team_pool *pool,
                                                  enum sh_team_first kind)
{
    const enum sh_team_first other =
        kind == SH_TEAM_FIRST_START ? SH_TEAM_FIRST_HAND_OVER : SH_TEAM_FIRST_START;
    const struct sh_team_pool_list *list =
        pool->first[kind].n > 0 ? &pool->first[kind] : &pool->first[other];
    return list->n > 0 ? list : &pool->next;
}

double sh_team_pool_get_first_mean_s(const struct sh_team_pool *pool, enum sh_team_first kind)
{
    const struct sh_team_pool_list *list = find_first(pool, kind);
    double sum_s = 0.0;
    for (size_t i = 0; i < list->n; i++) {
        sum_s += list == &pool->next ? pool->end_mean_s[list->index[i]]
                                     : get_end(pool, list->index[i])->first_s;
    }
    return sum_s / (double)list->n;
}

/* What pick_next gives on average where the end has no further arrow. */
static double get_other_mean_s(const struct sh_team_pool *pool)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < pool->next.n; i++) {
        sum_s += pool->end_mean_s[pool->next.index[i]];
    }
    return pool->next.n > 0 ? sum_s / (double)pool->next.n
                            : sh_team_pool_get_first_mean_s(pool, SH_TEAM_FIRST_HAND_OVER);
}

double sh_team_pool_get_next_mean_s(const struct sh_team_pool *pool, enum sh_team_first kind)
{
    const struct sh_team_pool_list *list = find_first(pool, kind);
    const double other_s = get_other_mean_s(pool);
    double sum_s = 0.0;
    for (size_t i = 0; i < list->n; i++) {
        sum_s += get_end(pool, list->index[i])->n_next > 0 ? pool->end_mean_s[list->index[i]]
                                                           : other_s;
    }
    return sum_s / (double)list->n;
}

void sh_team_pool_redraw(struct sh_team_pool *pool, struct sh_random *random)
{
    const size_t n_ends = pool->times->n_ends;
    do {
        pool->drawn.n = 0;
        for (size_t i = 0; i + 1 < n_ends; i++) {
            put(&pool->drawn, (size_t)sh_random_get_below(random, n_ends));
        }
    } while (!list_all(pool));
    pool->stretch_ratio = sqrt((double)n_ends / (double)(n_ends - 2)) - 1.0;
    for (size_t kind = 0; kind < SH_TEAM_FIRST_KINDS; kind++) {
        pool->first_mean_s[kind] =
            sh_team_pool_get_first_mean_s(pool, (enum sh_team_first)kind);
    }
    pool->next_mean_s = get_other_mean_s(pool);
}

/* The place of a list of n that u picks; *u is then a number as good as before. */
static size_t pick(size_t n, double *u)
{
    const double place = *u * (double)n;
    const size_t index = (size_t)place;
    *u = place - (double)index;
    return index < n ? index : n - 1;
}

static double pick_of_end_s(const struct sh_team_pool *pool, size_t end, double u)
{
    const struct sh_team_end *from = get_end(pool, end);
    return pool->times->next_s[from->next + pick(from->n_next, &u)] +
           pool->stretch_ratio * (pool->end_mean_s[end] - pool->next_mean_s);
}

double sh_team_pool_pick_first_s(const struct sh_team_pool *pool,
                                 enum sh_team_first kind,
                                 double u,
                                 size_t *end)
{
    const struct sh_team_pool_list *list = find_first(pool, kind);
    *end = list->index[pick(list->n, &u)];
    if (list == &pool->next) {
        return pick_of_end_s(pool, *end, u);
    }
    const double first_s = get_end(pool, *end)->first_s;
    return first_s + pool->stretch_ratio * (first_s - pool->first_mean_s[kind]);
}

double sh_team_pool_pick_next_s(const struct sh_team_pool *pool, size_t end, double u)
{
    if (get_end(pool, end)->n_next > 0) {
        return pick_of_end_s(pool, end, u);
    }
    if (pool->next.n > 0) {
        const size_t other = pool->next.index[pick(pool->next.n, &u)];
        return pick_of_end_s(pool, other, u);
    }
    return sh_team_pool_pick_first_s(pool, SH_TEAM_FIRST_HAND_OVER, u, &end);
}

double sh_team_pool_draw_let_downs_s(const struct sh_team_pool *pool, struct sh_random *random)
{
    double cost_s = 0.0;
    while (pool->let_down_ratio > 0.0 && sh_random_get_uniform(random) < pool->let_down_ratio) {
        double u = sh_random_get_uniform(random);
        if (pool->cost.n > 0) {
            cost_s += pool->times->cost_s[pool->cost.index[pick(pool->cost.n, &u)]];
        } else {
            size_t end = 0;
            (void)sh_team_pool_pick_first_s(pool, SH_TEAM_FIRST_HAND_OVER, u, &end);
            cost_s += sh_team_pool_pick_next_s(pool, end, sh_random_get_uniform(random));
        }
    }
    return cost_s;
}

double sh_team_pool_get_let_downs_mean_s(const struct sh_team_pool *pool)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < pool->cost.n; i++) {
        sum_s += pool->times->cost_s[pool->cost.index[i]];
    }
    const double one_s = pool->cost.n > 0
                             ? sum_s / (double)pool->cost.n
                             : sh_team_pool_get_next_mean_s(pool, SH_TEAM_FIRST_HAND_OVER);
    return pool->let_down_ratio / (1.0 - pool->let_down_ratio) * one_s;
}

void sh_team_pool_close(struct sh_team_pool *pool)
{
    for (size_t kind = 0; kind < SH_TEAM_FIRST_KINDS; kind++) {
        free(pool->first[kind].index);
    }
    free(pool->drawn.index);
    free(pool->next.index);
    free(pool->cost.index);
    free(pool->end_mean_s);
    memset(pool, 0, sizeof *pool);
}
