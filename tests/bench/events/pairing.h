/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_EVENTS_PAIRING_H
#define SH_TESTS_BENCH_EVENTS_PAIRING_H

#include "bench/events/practice.h"
#include "finding/analysis.h"

/* What was found of one session, held against the truth. */

#define PAIRING_EVENTS 7u /* draw start, full draw, clicker, release, let-down, hold, end */
#define PAIRING_HOLD   5u
#define PAIRING_END    6u

struct pairing_event {
    bool is_true;   /* it happened */
    bool is_found;  /* and was found; the error means something where both are */
    bool is_inside; /* the truth lies in the stated 95 % interval */
    double error_s;
    double u_s;
};

struct pairing_draw {
    double truth_s; /* release or let-down */
    bool is_missed;
    bool is_kind_right;
    bool is_cut; /* samples were lost where it ended, and it says so: of no kind */
    struct pairing_event event[PAIRING_EVENTS];
};

struct pairing {
    uint64_t seed;
    bool is_done;
    bool is_clean;
    size_t n_draws; /* by the definition of a draw */
    struct pairing_draw draw[PRACTICE_DRAWS];
    size_t n_invented;
    double invented_s;      /* when the last of them was */
    size_t n_clicker_false; /* where none fell */
    size_t n_clicker_seen;
};

/* Names of the events, static. */
const char *pairing_get_name(size_t event);

/* Pairs shots with draws by release or let-down, within 0.5 s. */
void pairing_make(const struct practice *practice,
                  const struct sh_analysis *analysis,
                  struct pairing *out);

#endif
