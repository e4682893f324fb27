/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SESSION_PLAN_H
#define SH_SIM_SESSION_PLAN_H

#include <stddef.h>
#include <stdint.h>

#include "sim/session_draw.h"

/*
 * A whole session drawn from a seed: ends of arrows with rests between, a clock, faults, draws
 * that are let down and drawn again, and the truth of it all on one clock. What one draw is
 * like does not depend on how many follow it. Test: tests/sim/test_session_plan.c.
 */

#define SH_SESSION_PLAN_DRAWS_MAX 2000u

struct sh_session_plan_config {
    uint64_t seed;
    size_t n_draws;       /* let-downs too; 1 to SH_SESSION_PLAN_DRAWS_MAX */
    size_t arrows_an_end; /* shots an end, 1 to 72 */
    double end_rest_s;    /* from the last arrow to the next end's start, 10 to 3600 */
    double set_up_low_s;  /* from the last arrow, or the end's start, until the hand takes up */
    double set_up_high_s; /* the string: 5 to 120, low <= high; never before the bow is quiet */
    double clock_s;       /* what the clock of each end shows at its start; 0: no clock */
    double hurry_ratio;   /* set-up times this where the clock gets short; 0.3 to 1 */
    bool has_clicker;
    struct sh_bow_law_config bow;
    double
        fault_ratio[SH_ARCHER_FAULTS]; /* probability a draw; bit i of enum sh_archer_fault */
    double fault_size_ratio;  /* creep, flinch, collapse, slide: of sim/archer.h's; 0 to 2 */
    double drop_bend;         /* of the release's fall, at most so much either way; 0 to 1 */
    double double_draw_ratio; /* probability a draw: begun as soon as may be */
    double tab_ratio;         /* probability a draw: the tab takes 0.12 to 0.2 of the force */
    double half_draw_ratio;   /* probability a draw: drawn half and taken down */
    double drift_n_per_h;     /* of the unloaded force, -100 to 100 */
    double drift_swing_n;     /* amplitude of its slow swing, 0 to 10 */
};

/*
 * 36 draws in ends of 6, 120 s of clock an end, 100 s of rest, 8 to 12 s of set-up, a clicker,
 * the default bow, no faults (of full size), a zero that drifts by 2 N/h and swings by 0.1 N.
 */
struct sh_session_plan_config sh_session_plan_config_default(void);

/* Arrows between rests; the clock, if any, starts at begin_s. */
struct sh_session_end {
    double begin_s;
    double end_s; /* the last arrow has gone, or the last draw is down */
    size_t first_draw;
    size_t n_draws;
};

struct sh_session_plan {
    struct sh_session_plan_config config;
    struct sh_session_archer archer;
    struct sh_session_draw *draw; /* owned, [n_draws] in order of time, no two overlap */
    struct sh_truth *truth;       /* owned, [n_draws] */
    size_t n_draws;
    struct sh_session_end *end; /* owned, [n_ends] */
    size_t n_ends;
    double duration_s; /* some seconds after the last draw's end */
    double swing_hz;   /* of the zero */
    double swing_phase_rad;
};

/*
 * Draws a session. copies config. SH_ERR_ARGUMENT: a setting is out of its range;
 * SH_ERR_MEMORY; statuses of sh_session_draw_make. *out is set only on success. Cost: about 10
 * ms a draw; 3 kB of memory a draw.
 */
enum sh_status sh_session_plan_open(const struct sh_session_plan_config *config,
                                    struct sh_session_plan **out,
                                    struct sh_error *err);

/* Frees a plan and sets *plan to NULL. Takes NULL. */
void sh_session_plan_close(struct sh_session_plan **plan);

/* The draw that goes on at t_s of the session; NULL between draws. Cost: a binary search. */
const struct sh_session_draw *sh_session_plan_find_draw(const struct sh_session_plan *plan,
                                                        double t_s);

/* What the unloaded force sensor shows in N at t_s. */
double sh_session_plan_get_zero_n(const struct sh_session_plan *plan, double t_s);

#endif
