/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_DRAWS_H
#define SH_APP_LIVE_DRAWS_H

#include "app/remeasure.h"
#include "finding/analysis.h"
#include "recording/mark.h"

/*
 * The draws of a recording that runs: as the first pass found them, as the recording's
 * corrections put them, and as they were measured last. Where those differ, a draw is to be
 * measured anew, and so is one whose set-up counts from a release that has moved.
 *
 * One thread; what takes time is handed out as a struct sh_remeasure. Test:
 * tests/app/test_live_draws.c.
 */
struct sh_live_draw {
    struct sh_shot found;
    struct sh_shot corrected;
    struct sh_shot measured;
    struct sh_quantity previous_release_s; /* that its set-up was measured from */
    struct sh_recall recall;
};

/* All zero: none. */
struct sh_live_draws {
    struct sh_live_draw *list; /* owned, [n], in their order */
    size_t n;
    size_t capacity;
};

/* Frees what it owns and zeroes it. */
void sh_live_draws_close(struct sh_live_draws *draws);

/* Adds a draw as it came out of the stages, with its view (both borrowed). SH_ERR_MEMORY. */
enum sh_status sh_live_draws_add(struct sh_live_draws *draws,
                                 const struct sh_shot *shot,
                                 const struct sh_shot_view *view);

/*
 * Whether a correction beside those among marks[n_marks] would be used, for draw n: SH_OK;
 * SH_ERR_ARGUMENT with a line: it does not go with the draw's other events; SH_ERR_MEMORY.
 */
enum sh_status sh_live_draws_check(const struct sh_live_draws *draws,
                                   const struct sh_mark *marks,
                                   size_t n_marks,
                                   const struct sh_mark *correction,
                                   struct sh_error *err);

/* Corrects all draws by the marks there are now. SH_ERR_MEMORY: nothing is changed. */
enum sh_status
sh_live_draws_correct(struct sh_live_draws *draws, const struct sh_mark *marks, size_t n_marks);

/*
 * What is to be measured anew: gives *job (its id and folder are the caller's to set), or NULL
 * where nothing is. SH_ERR_MEMORY.
 */
enum sh_status sh_live_draws_plan(const struct sh_live_draws *draws, struct sh_remeasure **job);

/* Takes what was measured, and puts it into the analysis' shots of the same numbers: shot and
 * measures; they are still to be judged. */
void sh_live_draws_put(struct sh_live_draws *draws,
                       const struct sh_remeasure *job,
                       struct sh_analysis *analysis);

#endif
