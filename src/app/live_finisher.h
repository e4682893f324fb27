/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_FINISHER_H
#define SH_APP_LIVE_FINISHER_H

#include "app/live_queue.h"
#include "app/remeasure.h"
#include "app/shelf.h"
#include "live/server.h"

/*
 * What takes its time while sensors are being read, on a thread of its own, one job after the
 * other: the second pass over a recording that has ended, edits of finished ones, and draws of
 * the one that runs that are to be measured anew. Viewers are told when a finished recording
 * has changed. Test: tests/live/test_evening.py, tests/live/test_rectify.py.
 */
struct sh_live_finisher;

#define SH_LIVE_FINISHER_EDITS_MAX 64u

struct sh_live_finisher_config {
    struct sh_shelf *shelf;                 /* kept */
    struct sh_server *server;               /* kept */
    const struct sh_thresholds *thresholds; /* kept */
    /* Is given what was measured (takes it), on the finisher's thread. */
    void (*measured)(void *context, struct sh_remeasure *job);
    void *context; /* kept */
};

/* Opens it and starts its thread. SH_ERR_MEMORY. Gives *out. */
enum sh_status sh_live_finisher_open(const struct sh_live_finisher_config *config,
                                     struct sh_live_finisher **out,
                                     struct sh_error *err);

/*
 * Does what is still to be done, ends the thread, sets *finisher to NULL. Takes NULL inside.
 * The status and line of the first second pass that failed, or SH_OK.
 */
enum sh_status sh_live_finisher_close(struct sh_live_finisher **finisher, struct sh_error *err);

/*
 * A recording of the shelf has ended: both passes will run over it. Never waits: there are no
 * more of these than the shelf has places.
 */
void sh_live_finisher_end(struct sh_live_finisher *finisher, unsigned id, const char *folder);

/* An edit of a recording (takes the command, which is answered). False: there are
 * SH_LIVE_FINISHER_EDITS_MAX jobs already; the command is still the caller's. */
bool sh_live_finisher_edit(struct sh_live_finisher *finisher,
                           unsigned id,
                           struct sh_live_command *command);

/* Draws to be measured (takes job, and gives it back by config's measured, also where that
 * failed), before all else that waits. False: out of memory; the job is still the caller's. */
bool sh_live_finisher_measure(struct sh_live_finisher *finisher, struct sh_remeasure *job);

#endif
