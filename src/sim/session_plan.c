/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/session_plan.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/units.h"
#include "sim/chance.h"
#include "sim/range.h"

#define LEAD_S          2.0  /* rest before the first end */
#define TAIL_S          3.0  /* and after the last draw */
#define QUIET_S         0.2  /* at least between two draws */
#define SHORT_PER_ARROW 17.0 /* seconds of clock an arrow under which the archer hurries */
#define DOUBLE_LOW_S    2.0
#define DOUBLE_HIGH_S   5.0
#define TAB_LOW         0.12
#define TAB_HIGH        0.2
#define ARROWS_MAX      72u
#define PART_ARCHER     0u /* parts of the seed; draw i has PART_DRAW + i */
#define PART_DRAW       1u
#define PART_ODD        1000000u /* and PART_ODD + i for what is rare and takes nothing else's */

/* The largest swing has a period of some minutes, as of sun and shade on a load cell. */
#define SWING_LOW_HZ  (1.0 / 600.0)
#define SWING_HIGH_HZ (1.0 / 200.0)

struct sh_session_plan_config sh_session_plan_config_default(void)
{
    return (struct sh_session_plan_config){
        .seed = 1,
        .n_draws = 36,
        .arrows_an_end = 6,
        .end_rest_s = 100.0,
        .set_up_low_s = 8.0,
        .set_up_high_s = 12.0,
        .clock_s = 120.0,
        .hurry_ratio = 0.75,
        .has_clicker = true,
        .bow = sh_bow_law_config_default(),
        .fault_size_ratio = 1.0,
        .drift_n_per_h = 2.0,
        .drift_swing_n = 0.1,
    };
}

static enum sh_status check_config(const struct sh_session_plan_config *config,
                                   struct sh_error *err)
{
    const struct sh_range range[] = {
        {"n_draws", (double)config->n_draws, 1.0, SH_SESSION_PLAN_DRAWS_MAX},
        {"arrows_an_end", (double)config->arrows_an_end, 1.0, ARROWS_MAX},
        {"end_rest_s", config->end_rest_s, 10.0, 3600.0},
        {"set_up_low_s", config->set_up_low_s, 5.0, 120.0},
        {"set_up_high_s", config->set_up_high_s, config->set_up_low_s, 120.0},
        {"clock_s", config->clock_s, 0.0, 3600.0},
        {"hurry_ratio", config->hurry_ratio, 0.3, 1.0},
        {"fault_size_ratio", config->fault_size_ratio, 0.0, 2.0},
        {"drop_bend", config->drop_bend, 0.0, 1.0},
        {"double_draw_ratio", config->double_draw_ratio, 0.0, 1.0},
        {"tab_ratio", config->tab_ratio, 0.0, 1.0},
        {"half_draw_ratio", config->half_draw_ratio, 0.0, 1.0},
        {"drift_n_per_h", config->drift_n_per_h, -100.0, 100.0},
        {"drift_swing_n", config->drift_swing_n, 0.0, 10.0},
    };
    struct sh_range fault[SH_ARCHER_FAULTS];
    for (size_t i = 0; i < SH_ARCHER_FAULTS; i++) {
        fault[i] = (struct sh_range){sh_archer_fault_name((enum sh_archer_fault)(1u << i)),
                                     config->fault_ratio[i], 0.0, 1.0};
    }
    const enum sh_status status = sh_range_check(range, sizeof range / sizeof range[0], err);
    return status == SH_OK ? sh_range_check(fault, SH_ARCHER_FAULTS, err) : status;
}

/* What is odd about draw i: how soon it begins, and what the tab takes. */
static void draw_odd(const struct sh_session_plan *plan,
                     size_t i,
                     struct sh_session_draw *draw,
                     double *set_up_s)
{
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(plan->config.seed, PART_ODD + i));
    const bool is_double = sh_chance_is(&random, plan->config.double_draw_ratio);
    const double soon_s = sh_chance_between(&random, DOUBLE_LOW_S, DOUBLE_HIGH_S);
    const bool has_tab = sh_chance_is(&random, plan->config.tab_ratio);
    const double taken = sh_chance_between(&random, TAB_LOW, TAB_HIGH);
    *set_up_s = is_double && i > 0 ? soon_s : *set_up_s;
    draw->finger.excess_ratio -= has_tab ? taken * (1.0 + draw->finger.excess_ratio) : 0.0;
}

static unsigned draw_faults(const double *ratio, struct sh_random *random)
{
    unsigned faults = 0;
    for (unsigned i = 0; i < SH_ARCHER_FAULTS; i++) {
        faults |= sh_chance_is(random, ratio[i]) ? 1u << i : 0u;
    }
    return faults;
}

static double get_set_up_s(const struct sh_session_plan *plan,
                           double since_begin_s,
                           size_t n_left,
                           struct sh_random *random)
{
    const struct sh_session_plan_config *config = &plan->config;
    const double set_up_s =
        sh_chance_between(random, config->set_up_low_s, config->set_up_high_s);
    const double left_s = config->clock_s - since_begin_s;
    const bool is_short = config->clock_s > 0.0 && left_s < SHORT_PER_ARROW * (double)n_left;
    return is_short ? set_up_s * config->hurry_ratio : set_up_s;
}

/* Where the session stands while it is put together. */
struct progress {
    double done_s;  /* the last arrow, or the end's start */
    double quiet_s; /* the bow has come to rest */
    size_t n_shots; /* in this end */
};

/* Makes draw i and puts it behind what went before. */
static enum sh_status
place_draw(struct sh_session_plan *plan, size_t i, struct progress *at, struct sh_error *err)
{
    struct sh_session_draw *draw = &plan->draw[i];
    const struct sh_session_end *end = &plan->end[plan->n_ends - 1];
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(plan->config.seed, PART_DRAW + i));
    unsigned faults = draw_faults(plan->config.fault_ratio, &random);
    if (plan->config.half_draw_ratio > 0.0 &&
        sh_chance_is(&random, plan->config.half_draw_ratio)) {
        faults |= (unsigned)SH_ARCHER_HALF_DRAW;
    }
    const enum sh_status status =
        sh_session_draw_make(draw, &plan->archer, faults, &random, err);
    if (status != SH_OK) {
        return status;
    }
    const size_t n_left = plan->config.arrows_an_end - at->n_shots;
    double set_up_s = get_set_up_s(plan, at->done_s - end->begin_s, n_left, &random);
    draw_odd(plan, i, draw, &set_up_s);
    draw->hand_s = fmax(at->done_s + set_up_s, at->quiet_s + QUIET_S - draw->bow.begin_s);
    at->done_s = sh_session_draw_get_done_s(draw);
    at->quiet_s = sh_session_draw_get_end_s(draw);
    at->n_shots += draw->shot.is_let_down ? 0 : 1;
    return SH_OK;
}

static enum sh_status place_draws(struct sh_session_plan *plan, struct sh_error *err)
{
    struct progress at = {.done_s = LEAD_S, .quiet_s = LEAD_S};
    struct sh_session_end *end = NULL;
    for (size_t i = 0; i < plan->config.n_draws; i++) {
        if (end == NULL || at.n_shots == plan->config.arrows_an_end) {
            at.done_s += end == NULL ? 0.0 : plan->config.end_rest_s;
            at.n_shots = 0;
            end = &plan->end[plan->n_ends++];
            *end = (struct sh_session_end){.begin_s = at.done_s, .first_draw = i};
        }
        const enum sh_status status = place_draw(plan, i, &at, err);
        if (status != SH_OK) {
            return status;
        }
        end->n_draws++;
        end->end_s = at.done_s;
    }
    plan->n_draws = plan->config.n_draws;
    plan->duration_s = at.quiet_s + TAIL_S;
    return SH_OK;
}

/* What only the session knows of a draw: its number, its set-up, its clock. */
static void find_truth(struct sh_session_plan *plan, const struct sh_session_end *end, size_t i)
{
    const bool has_clock = plan->config.clock_s > 0.0;
    struct sh_truth *truth = &plan->truth[i];
    sh_session_draw_get_truth(&plan->draw[i], truth);
    truth->n = i + 1;
    truth->end = 1.0 + (double)(end - plan->end);
    size_t before = i; /* one more than the last shot before this draw; 0: there is none */
    while (before > 0 && plan->truth[before - 1].kind != SH_TRUTH_SHOT) {
        before--;
    }
    const double release_s = before > 0 ? plan->truth[before - 1].release_s : 0.0;
    const double from_s = has_clock ? fmax(end->begin_s, release_s) : release_s;
    truth->has_setup = has_clock || before > 0;
    truth->setup_time_s = truth->has_setup ? truth->draw_start_s - from_s : 0.0;
    truth->has_clock = has_clock;
    if (has_clock) {
        const double out_s = end->begin_s + plan->config.clock_s;
        truth->time_left_draw_s = out_s - truth->draw_start_s;
        truth->time_left_release_s =
            truth->kind == SH_TRUTH_SHOT ? out_s - truth->release_s : 0.0;
    }
}

static void find_truths(struct sh_session_plan *plan)
{
    for (size_t k = 0; k < plan->n_ends; k++) {
        const struct sh_session_end *end = &plan->end[k];
        for (size_t i = 0; i < end->n_draws; i++) {
            find_truth(plan, end, end->first_draw + i);
        }
    }
}

static enum sh_status draw_archer(struct sh_session_plan *plan, struct sh_error *err)
{
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(plan->config.seed, PART_ARCHER));
    sh_bow_voice_draw(&plan->archer.voice, &random);
    plan->archer.has_clicker = plan->config.has_clicker;
    plan->archer.drop_bend = plan->config.drop_bend;
    plan->archer.fault_size_ratio = plan->config.fault_size_ratio;
    plan->swing_hz = sh_chance_between(&random, SWING_LOW_HZ, SWING_HIGH_HZ);
    plan->swing_phase_rad = sh_chance_between(&random, 0.0, 2.0 * SH_PI);
    return sh_bow_law_init(&plan->archer.law, &plan->config.bow, err);
}

enum sh_status sh_session_plan_open(const struct sh_session_plan_config *config,
                                    struct sh_session_plan **out,
                                    struct sh_error *err)
{
    struct sh_session_plan *plan = NULL;
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    plan = calloc(1, sizeof *plan);
    if (plan != NULL) {
        plan->config = *config;
        plan->draw = calloc(config->n_draws, sizeof *plan->draw);
        plan->truth = calloc(config->n_draws, sizeof *plan->truth);
        plan->end = calloc(config->n_draws, sizeof *plan->end);
    }
    if (plan == NULL || plan->draw == NULL || plan->truth == NULL || plan->end == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "no memory for a session");
        goto out;
    }
    status = draw_archer(plan, err);
    if (status != SH_OK) {
        goto out;
    }
    status = place_draws(plan, err);
    if (status != SH_OK) {
        goto out;
    }
    find_truths(plan);
    *out = plan;
    plan = NULL;
out:
    sh_session_plan_close(&plan);
    return status;
}

void sh_session_plan_close(struct sh_session_plan **plan)
{
    if (*plan == NULL) {
        return;
    }
    free((*plan)->end);
    free((*plan)->truth);
    free((*plan)->draw);
    free(*plan);
    *plan = NULL;
}

const struct sh_session_draw *sh_session_plan_find_draw(const struct sh_session_plan *plan,
                                                        double t_s)
{
    size_t low = 0; /* the draw is within low .. high - 1 */
    size_t high = plan->n_draws;
    while (high - low > 1) {
        const size_t middle = (low + high) / 2;
        if (t_s < sh_session_draw_get_begin_s(&plan->draw[middle])) {
            high = middle;
        } else {
            low = middle;
        }
    }
    const struct sh_session_draw *draw = &plan->draw[low];
    const bool is_inside =
        t_s >= sh_session_draw_get_begin_s(draw) && t_s < sh_session_draw_get_end_s(draw);
    return is_inside ? draw : NULL;
}

double sh_session_plan_get_zero_n(const struct sh_session_plan *plan, double t_s)
{
    return plan->config.drift_n_per_h * t_s / 3600.0 +
           plan->config.drift_swing_n *
               sin(2.0 * SH_PI * plan->swing_hz * t_s + plan->swing_phase_rad);
}
