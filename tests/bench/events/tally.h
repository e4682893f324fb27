/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_EVENTS_TALLY_H
#define SH_TESTS_BENCH_EVENTS_TALLY_H

#include "bench/events/pairing.h"

/* Figures over many sessions. */

#define TALLY_RESAMPLES 1000u /* of the bootstrap */

struct tally_event {
    size_t n_true;
    size_t n_found;  /* of them */
    double median_s; /* of the errors' magnitudes */
    double most_s;   /* 95 % of them */
    double worst_s;
    uint64_t worst_seed;
    double worst_at_s;
    double bias_s;    /* median of the errors */
    double inside;    /* share of the truths in the stated interval */
    double inside_lo; /* 95 % interval of that share, by whole sessions */
    double inside_hi;
};

struct tally {
    size_t n_sessions;
    size_t n_draws;
    size_t n_missed;
    size_t n_invented;
    size_t n_kind_right;
    size_t n_cut; /* by a gap, and of no kind for it */
    size_t n_clicker_seen;
    size_t n_clicker_false;
    struct tally_event event[PAIRING_EVENTS];
};

/* Counts pairing[n]; those not done are left out. SH_ERR_MEMORY. */
enum sh_status tally_make(const struct pairing *pairing, size_t n, struct tally *out);

/* Prints it, and the draws that were missed or invented or have the wrong kind. */
void tally_print(const char *set,
                 const struct pairing *pairing,
                 size_t n,
                 const struct tally *tally);

#endif
