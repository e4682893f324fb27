/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_FINDINGS_SCORE_H
#define SH_TESTS_BENCH_FINDINGS_SCORE_H

#include <stdbool.h>
#include <stddef.h>

#include "bench/coverage/truth.h"
#include "finding/code.h"

/*
 * Findings against what the noise-free signal of each draw shows. A draw has a fault at the bar
 * (large enough that it is to be found: beyond threshold and bar by the measure's own 95 %
 * uncertainty), between (beyond the threshold, or nearer to it than a
 * fifth, but under the bar: found or not, neither counts), or none.
 */
#define SCORE_SIZES 5u /* value / threshold: under 0.8, to 1, to 1.25, to 2, over */

struct score_row {
    bool is_shown; /* the set's channels can show it */
    bool has_size;
    size_t n_draws;
    size_t n_shown; /* beyond the threshold in truth */
    size_t n_found;
    size_t n_bar;
    size_t n_bar_found;
    size_t n_grey;
    size_t n_grey_found;
    size_t n_none;
    size_t n_none_found;
    size_t n_spurious; /* findings in shots that no draw belongs to */
    size_t n_size[SCORE_SIZES];
    size_t n_size_found[SCORE_SIZES];
};

struct score {
    struct score_row row[SH_CODE_COUNT];
};

/* An empty score for a set of channels of sim/channel_set.h. */
void score_init(struct score *score, const char *set);

/* Adds all draws of an evening. Statuses of truth_find. */
enum sh_status
score_add(struct score *score, struct truth_kit *kit, const struct evening *evening);

#endif
