/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_WAVE_H
#define SH_APP_LIVE_WAVE_H

#include <stdbool.h>

#include "base/text.h"
#include "live/wave.h"
#include "recording/session.h"

/*
 * The wave of the recording that is being captured, between the thread that captures and those
 * that answer: the first never waits for the others. While one of them reads, new frames are
 * laid aside (SH_LIVE_WAVE_ASIDE_VALUES of them at the most, then lost from the wave, not from
 * the recording) and put in afterwards. Test: tests/app/test_live_wave.c.
 */
struct sh_live_wave;

#define SH_LIVE_WAVE_ASIDE_VALUES 262144u
#define SH_LIVE_WAVE_STEP_S       0.02 /* of what is told as it comes */

/* For all channels of a session's streams, in their order. SH_ERR_MEMORY. Gives *out. */
enum sh_status sh_live_wave_open(const struct sh_session *session,
                                 struct sh_live_wave **out,
                                 struct sh_error *err);

/* Closes and sets *wave to NULL; takes NULL inside. Nobody else may use it any more. */
void sh_live_wave_close(struct sh_live_wave **wave);

/* Adds frames (see sh_wave_push). From the thread that captures; never waits. */
void sh_live_wave_push(struct sh_live_wave *wave, const struct sh_wave_frames *frames);

/*
 * Appends the WAVE of whole steps since the last call, up to what all streams have come to;
 * false, nothing appended, where there is none yet or somebody reads. From the thread that
 * captures; never waits.
 */
bool sh_live_wave_write_next(struct sh_live_wave *wave,
                             unsigned recording,
                             struct sh_text *text);

/* Appends the WAVE between two times, with n_points (cut to what can be) at the most. False:
 * nothing there. Any thread. Cost: some 100 ns a point and channel. */
bool sh_live_wave_write(struct sh_live_wave *wave,
                        double from_s,
                        double until_s,
                        size_t n_points,
                        unsigned recording,
                        struct sh_text *text);

#endif
