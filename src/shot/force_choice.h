/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_FORCE_CHOICE_H
#define SH_SHOT_FORCE_CHOICE_H

#include "shot/shot.h"

/*
 * Which channels of stream[n_streams] make the force: the string's, else the fingers of the
 * stream that has most of them. Fills is_present, is_finger_sum, stream, channels, rate_hz and
 * the delay (the channels' mean one, their uncertainties taken as one and the same); the rest
 * is 0. Cost: O(channels). Any thread. Test: tests/shot/test_lanes.c.
 */
void sh_force_choice_make(const struct sh_stream *const *stream,
                          size_t n_streams,
                          struct sh_shot_force *out);

#endif
