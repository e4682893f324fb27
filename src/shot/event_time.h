/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_EVENT_TIME_H
#define SH_SHOT_EVENT_TIME_H

#include <stdbool.h>

#include "base/quantity.h"
#include "shot/shot.h"

/*
 * From a place among the samples of the force to a time of the recording's clock. Any thread.
 * Test: tests/shot/test_event_time.c.
 */
#define SH_EVENT_TIME_GAP_S 0.1 /* two sigma of the rate's Gaussian: a gap nearer hides it */

/*
 * Time of an event at a frame of the force (with its fraction) and its uncertainty: that of
 * the place, of the clock and of the channel's delay, which is taken off. An unknown frame
 * stays unknown. SH_WHY_GAP, SH_WHY_CLIPPED: samples within SH_EVENT_TIME_GAP_S were lost, or
 * reached the loaded end of their range: a force that cannot rise looks like full draw.
 */
struct sh_quantity sh_event_time_get(const struct sh_shot_view *view,
                                     const struct sh_quantity *frame);

/* The same without a look for gaps: for what was found between samples that are there. */
struct sh_quantity sh_event_time_map(const struct sh_shot_view *view,
                                     const struct sh_quantity *frame);

/* Was a sample of the force lost between two of its frames? */
bool sh_event_time_is_lost(const struct sh_shot_view *view, double first, double last);

/* Did one reach the end of its channel's range that stands for more force? */
bool sh_event_time_is_clipped(const struct sh_shot_view *view, double first, double last);

#endif
