/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_COVERAGE_TALLY_H
#define SH_TESTS_BENCH_COVERAGE_TALLY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"

/*
 * Errors of one measure against the truth, by session; what is one in a session (a scale's
 * error) makes its shots alike, so that the share of truths inside is judged by sessions.
 */
struct tally_row {
    size_t session;
    double error;
    double u;
    bool is_inside; /* the stated 95 % interval holds the truth */
};

struct tally {
    struct tally_row *rows; /* owned */
    size_t n;
    size_t capacity;
    size_t n_unknown; /* true, but not measured */
};

struct tally_summary {
    size_t n;
    size_t n_unknown;
    double bias;
    double error_rms;
    double u_rms;
    double error_95; /* 95 of 100 errors are not larger */
    double inside_ratio;
    double inside_low; /* its 95 % interval, sessions drawn anew (bootstrap) */
    double inside_high;
    bool is_met; /* that interval reaches into 0.93 .. 0.97 */
};

/* Adds a comparison; an unknown quantity is counted as such. false: no memory. */
bool tally_add(struct tally *tally,
               size_t session,
               const struct sh_quantity *measured,
               double truth);

/* Sums up; n_sessions is one more than the largest session. Sorts the rows' errors in a copy;
 * false: no memory, or no rows. */
bool tally_sum(const struct tally *tally,
               size_t n_sessions,
               uint64_t seed,
               struct tally_summary *out);

void tally_close(struct tally *tally);

#endif
