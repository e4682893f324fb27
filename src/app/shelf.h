/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SHELF_H
#define SH_APP_SHELF_H

#include <jansson.h>
#include <stdbool.h>

#include "base/text.h"
#include "finding/analysis.h"
#include "finding/thresholds.h"

/*
 * The recordings that a page may look at, by small numbers, and the answers to what it asks of
 * them (docs/live.md). A recording's analysis comes from its analysis.json where that is fresh,
 * else from both passes, and the latest of them are kept.
 *
 * All functions but close may be called from several threads at once. Nobody waits for a
 * recording being read or analysed but who asks for what comes of it; edits come one after the
 * other. What wants much stack is done on a thread that has it (app/wide_stack.h), so that the
 * HTTP library's small ones may call. Test of all: tests/app/test_shelf.c.
 */
struct sh_shelf;

#define SH_SHELF_RECORDINGS_MAX 2000u
#define SH_SHELF_KEPT_MAX       8u /* analyses, and courses of whole recordings: 2 */

struct sh_shelf_config {
    const char *home; /* people/ and the index; copied; NULL: nobody is known */
    struct sh_thresholds thresholds;
};

/* SH_ERR_ARGUMENT (home too long), SH_ERR_MEMORY. Gives *out, to be closed. */
enum sh_status sh_shelf_open(const struct sh_shelf_config *config,
                             struct sh_shelf **out,
                             struct sh_error *err);

/* Closes and sets *shelf to NULL. Takes NULL inside. No other call may be under way. */
void sh_shelf_close(struct sh_shelf **shelf);

/*
 * Puts a finished recording on the shelf (a folder that is there already keeps its number).
 * Statuses of sh_session_json_read; SH_ERR_FULL; SH_ERR_MEMORY. *id from 1 on.
 */
enum sh_status
sh_shelf_add(struct sh_shelf *shelf, const char *folder, unsigned *id, struct sh_error *err);

/*
 * The same for one that is being captured: its shots are those of sh_shelf_put_shot until it
 * ends, its close-ups come from what is on disk, and its course is not the shelf's (whoever
 * captures has it: live/wave.h). Takes the lock for some microseconds.
 */
enum sh_status
sh_shelf_begin(struct sh_shelf *shelf, const char *folder, unsigned *id, struct sh_error *err);

/* Adds a shot (copies). SH_ERR_NOT_FOUND: no such running recording. SH_ERR_MEMORY. */
enum sh_status
sh_shelf_put_shot(struct sh_shelf *shelf, unsigned id, const struct sh_shot_record *record);

/* Puts a shot in place of the one with its number (copies). SH_ERR_NOT_FOUND: no such running
 * recording, or no such shot in it. */
enum sh_status
sh_shelf_replace_shot(struct sh_shelf *shelf, unsigned id, const struct sh_shot_record *record);

/* The recording is complete, analysis.json and all: its shots are read anew when asked for. */
void sh_shelf_end(struct sh_shelf *shelf, unsigned id);

/* Number of recordings, and the number of the latest one (0: none). */
size_t sh_shelf_count(struct sh_shelf *shelf);
unsigned sh_shelf_get_latest(struct sh_shelf *shelf);

/* Makes sure a recording's analysis is at hand. Statuses of sh_analysis_store_get;
 * SH_ERR_NOT_FOUND. */
enum sh_status sh_shelf_load(struct sh_shelf *shelf, unsigned id, struct sh_error *err);

/*
 * Appends the members of a hello that are about recordings, each after a comma:
 * ,"recordings":[...],"current":ID,"channels":[...] where current is the one given
 * (0: null, no channels).
 */
void sh_shelf_write_hello(struct sh_shelf *shelf, unsigned current, struct sh_text *text);

/*
 * Answers GET of a path under /api/ ("/api/recordings/3/shots/7/trace"), query without its
 * question mark: appends JSON and gives 200; or 404 (there is no such thing), 400 (the query is
 * wrong), 503 (a recording in use), 500, with {"error": one line}. A path of a file cannot be
 * meant by any of it.
 */
int sh_shelf_answer(struct sh_shelf *shelf,
                    const char *path,
                    const char *query,
                    struct sh_text *text);

/*
 * Does what a viewer wants to be changed in a finished recording: object's "do" is score, end,
 * note, tag, pain, correct or undo (docs/live.md). The change is a mark (or tag) in
 * recording.json; after correct and undo the recording is analysed anew, which takes
 * some 10 s for 150 draws. SH_ERR_ARGUMENT: not understood, or it would put events out of
 * order; SH_ERR_NOT_FOUND; SH_ERR_BUSY: being captured; statuses of sh_recording_edit_run and
 * sh_passes_run, whose failure leaves the mark. On any other nothing was changed.
 */
enum sh_status
sh_shelf_edit(struct sh_shelf *shelf, unsigned id, const json_t *object, struct sh_error *err);

/* Whether an object's "do" is one of those. */
bool sh_shelf_is_edit(const json_t *object);

/* Appends {"type":"recording","id",...,"event"} (docs/live.md) for event begun, ended, final.
 */
void sh_shelf_write_event(struct sh_shelf *shelf,
                          unsigned id,
                          const char *event,
                          struct sh_text *text);

#endif
