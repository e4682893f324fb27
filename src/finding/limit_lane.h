/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_LANE_H
#define SH_FINDING_LIMIT_LANE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"
#include "metrology/channel.h"
#include "shot/rest.h"

/*
 * One force channel as it comes, sample by sample: its net force (20 ms mean), its impulse so
 * far, and what makes it unknown. For warnings while shooting; what is kept of a draw is
 * measured afterwards (measure/finger_load.h).
 *
 * Rest is what shot/rest.h says while nobody draws; it stands still during a draw. The impulse
 * is counted from where the draw's total force was last under a quarter of its largest so far,
 * which leaves a preload out as the measure's draw start does; what lies between draw start and
 * there is missing, about 1 %, and counts in its uncertainty. Plain values but for the window.
 * Test: tests/finding/test_limit_lane.c.
 */
#define SH_LIMIT_LANE_MEAN_S      0.02
#define SH_LIMIT_LANE_LEVELS      48u  /* of total force, from 1 N on */
#define SH_LIMIT_LANE_LEVEL_RATIO 1.15 /* of one level to the one below */
#define SH_LIMIT_LANE_START_RATIO 0.25 /* of the largest: where the impulse begins */
#define SH_LIMIT_LANE_START_U     0.01 /* of the impulse: what is missing before that */

struct sh_limit_lane {
    const struct sh_channel *channel; /* kept */
    double rate_hz;
    struct sh_rest rest;
    double base_n;   /* level of rest */
    double rest_raw; /* the latest sample at rest */
    double rest_u_n;
    double *window; /* owned: the last n_window net forces */
    size_t n_window;
    size_t n_in;
    size_t next;
    double raw; /* the latest sample, and of this pull the lowest and highest */
    double raw_low;
    double raw_high;
    double net_n;       /* mean over the window */
    double peak_n;      /* largest mean of this pull */
    double peak_raw;    /* the sample at it */
    double impulse_n_s; /* since the pull began */
    double length_s;
    double impulse_at[SH_LIMIT_LANE_LEVELS]; /* impulse and length when the total force was */
    double length_at[SH_LIMIT_LANE_LEVELS];  /* last below each level */
    bool is_clipped;                         /* in this pull */
    bool has_gap;
};

/* A lane of a channel sampled at rate_hz, above 0, whose first frame is first_frame. To be
 * closed. SH_ERR_MEMORY. */
enum sh_status sh_limit_lane_open(const struct sh_channel *channel,
                                  double rate_hz,
                                  uint64_t first_frame,
                                  struct sh_limit_lane *out);
void sh_limit_lane_close(struct sh_limit_lane *lane);

/*
 * Takes a sample: its count (or value) and its force, finite. is_pulled: the string is being
 * pulled; is_drawn: it is a draw, rest stands still. Cost: some thirty operations.
 */
void sh_limit_lane_push(
    struct sh_limit_lane *lane, double raw, double force_n, bool is_filled, bool is_drawn);

/* Takes into its impulse that the total force is total_n now. Once a sample, behind push. */
void sh_limit_lane_mark_total(struct sh_limit_lane *lane, double total_n);

/* A pull begins: peak, impulse and what makes it unknown start afresh. */
void sh_limit_lane_begin(struct sh_limit_lane *lane);

/* The largest 20 ms mean of this pull, and the impulse from where the total force was last
 * under a quarter of largest_n, with their uncertainties. */
struct sh_quantity sh_limit_lane_get_peak_n(const struct sh_limit_lane *lane);
struct sh_quantity sh_limit_lane_get_impulse_n_s(const struct sh_limit_lane *lane,
                                                 double largest_n);

/* True where the samples of this pull did not change at all. */
bool sh_limit_lane_is_dead(const struct sh_limit_lane *lane);

#endif
