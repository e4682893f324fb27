/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_REMEASURE_H
#define SH_APP_REMEASURE_H

#include "app/home.h"
#include "measure/catalog.h"
#include "shot/recall.h"

/*
 * Measures draws of a recording anew, as they have been corrected, from their own samples: the
 * stage between events and findings, run once more for those draws alone. What comes out is
 * what the first pass over the recording with its corrections gives for them, to the bit. For a
 * thread beside the one that captures. Test: tests/app/test_live_draws.c.
 */
struct sh_remeasure_draw {
    struct sh_shot shot; /* as it is to be measured */
    struct sh_recall recall;
    struct sh_quantity previous_release_s; /* see struct sh_measure_context */
    struct sh_event_share previous_share;
    struct sh_measures measures; /* what came of it */
};

struct sh_remeasure {
    unsigned id;                     /* the caller's, of the recording */
    char folder[SH_HOME_PATH_BYTES]; /* which may still be written to */
    struct sh_remeasure_draw *draws; /* owned, [n] */
    size_t n;
    enum sh_status status; /* of the run */
    struct sh_error err;
};

/* Room for n draws, all zero; NULL: out of memory. */
struct sh_remeasure *sh_remeasure_open(size_t n);

/* Frees it and sets *job to NULL. Takes NULL inside. */
void sh_remeasure_close(struct sh_remeasure **job);

/*
 * Fills the measures, and status and err: statuses of sh_recording_reader_open, sh_recall_open
 * and sh_workspace_open. Samples that are not in the files yet are waited for, some seconds at
 * the most. Cost: some 30 ms a draw, wherever it lies. Wants a wide stack
 * (app/wide_stack.h).
 */
void sh_remeasure_run(struct sh_remeasure *job);

#endif
