/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_PULL_H
#define SH_FINDING_LIMIT_PULL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * What the archer does with the string, sample by sample, as well as it can be told at once:
 * for warnings while shooting. Draws are found a little too readily, as shot/detector.h finds
 * them. A plain value. Test: tests/finding/test_limit_pull.c.
 */
#define SH_LIMIT_PULL_N         5.0  /* total force: the string is being pulled */
#define SH_LIMIT_PULL_GONE_S    0.1  /* under it so long: let go */
#define SH_LIMIT_PULL_DRAW_S    0.24 /* above the eased threshold so long: a draw */
#define SH_LIMIT_PULL_EASE      0.8  /* of the threshold */
#define SH_LIMIT_PULL_END_RATIO 0.6  /* of the threshold, */
#define SH_LIMIT_PULL_PEAK_RATIO                                                               \
    0.25 /* or of the largest force: the draw's end, under it so                               \
            long as SH_LIMIT_PULL_GONE_S */

enum sh_limit_pull_event {
    SH_LIMIT_PULL_NONE,
    SH_LIMIT_PULL_BEGAN, /* the string is being pulled */
    SH_LIMIT_PULL_DRAWN, /* it is a draw */
    SH_LIMIT_PULL_ENDED, /* the draw is over; the string may still be held */
    SH_LIMIT_PULL_LET_GO
};

struct sh_limit_pull {
    double rate_hz;
    double threshold_n; /* of a draw */
    bool is_pulled;
    bool is_drawn;
    double total_n;
    double largest_n;       /* of this pull, or since the last draw's end */
    double ended_largest_n; /* of the draw that ended last */
    uint64_t n_above;
    uint64_t n_below;
    uint64_t n_quiet; /* samples since it was pulled last */
};

/* At rest. rate_hz and threshold_n above 0. */
struct sh_limit_pull sh_limit_pull_make(double rate_hz, double threshold_n);

/* Takes the next total net force. One event a sample at the most. */
enum sh_limit_pull_event sh_limit_pull_push(struct sh_limit_pull *pull, double total_n);

/* True in a draw, and already where the force is that of one. */
bool sh_limit_pull_is_loaded(const struct sh_limit_pull *pull);

#endif
