/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_MEASURE_H
#define SH_MEASURE_MEASURE_H

#include "measure/catalog.h"
#include "measure/workspace.h"
#include "recording/session.h"
#include "shot/shot.h"

/*
 * One shot and its samples in, all its measures out. How each is worked out, with its
 * uncertainty and its reasons for being unknown, stands in the header of its family: hold.h,
 * creep.h, flinch.h, tremor.h, bow_ring.h, clock_time.h and finger_*.h.
 */

/* What a measure may need besides the shot; all of it may be missing. Borrowed. */
struct sh_measure_context {
    const struct sh_bow *bow;    /* NULL: nothing known */
    const struct sh_mark *marks; /* [n_marks], the session's, any order; NULL with n_marks 0 */
    size_t n_marks;
    struct sh_quantity previous_release_s; /* of this archer; unknown where there is none */
    struct sh_event_share previous_share;  /* what its error shares with this shot's events */
};

/*
 * Fills *out, every quantity of it: known, or with the reason why not. The same input gives the
 * same bits, whatever was measured before. Touches no heap.
 *
 * SH_ERR_ARGUMENT, *out untouched: the view's streams are not those that the workspace was
 * opened for (number, nominal rates). Cost: some 13 ms with all channels, most of it the
 * ringing of each axis at 3.2 kHz (docs/speed.md). One thread a workspace. Test:
 * tests/measure/test_measure.c.
 */
enum sh_status sh_measure_shot(struct sh_workspace *workspace,
                               const struct sh_measure_context *context,
                               const struct sh_shot *shot,
                               const struct sh_shot_view *view,
                               struct sh_measures *out);

#endif
