/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_FRONTS_H
#define SH_APP_CAPTURE_FRONTS_H

#include "app/capture.h"

/* All fronts of a capture, told one after another. */
struct sh_capture_fronts {
    const struct sh_capture_front *front; /* kept, [n] */
    size_t n;
};

void sh_capture_fronts_say(const struct sh_capture_fronts *fronts, const char *text);
void sh_capture_fronts_ring(const struct sh_capture_fronts *fronts);
void sh_capture_fronts_signal(const struct sh_capture_fronts *fronts,
                              unsigned n_strokes,
                              bool is_before_draws);
void sh_capture_fronts_begin(const struct sh_capture_fronts *fronts,
                             const struct sh_capture_recording *recording);
void sh_capture_fronts_block(const struct sh_capture_fronts *fronts,
                             const struct sh_block *block,
                             const struct sh_clocks *clocks);
void sh_capture_fronts_shot(const struct sh_capture_fronts *fronts,
                            const struct sh_shot_record *record,
                            const struct sh_shot_view *view);
void sh_capture_fronts_mark(const struct sh_capture_fronts *fronts, const struct sh_mark *mark);

/* All are told, whatever one answers; the first failure comes back, its line in err (which may
 * be NULL). */
enum sh_status sh_capture_fronts_end(const struct sh_capture_fronts *fronts,
                                     const struct sh_capture_recording *recording,
                                     struct sh_error *err);

void sh_capture_fronts_idle(const struct sh_capture_fronts *fronts,
                            const struct sh_session *session,
                            const struct sh_error *why);

/* Stops at the first failure. */
enum sh_status sh_capture_fronts_step(const struct sh_capture_fronts *fronts,
                                      struct sh_capture *capture,
                                      struct sh_error *err);

#endif
