/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_HISTORY_INDEX_H
#define SH_HISTORY_INDEX_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/digest.h"
#include "base/status.h"
#include "finding/analysis.h"
#include "recording/session.h"
#include "series/arrow.h"

/*
 * The index of all recordings: an SQLite file with one row a recording and one row a shot, made
 * from the recordings' folders and made again from them at any time (docs/history.md has the
 * tables). A recording is known by its content, so that a folder that is moved or copied counts
 * once. Writing comes in transactions: a program that dies leaves the state before the last
 * one, and others may read meanwhile. One index a thread. Test of all: tests/history.
 */
struct sh_index;

#define SH_INDEX_VERSION    2 /* of the tables: an index of another is emptied when opened */
#define SH_INDEX_PATH_BYTES 4096u

/* A recording as the index knows it. */
struct sh_index_recording {
    char content[SH_DIGEST_TEXT_BYTES];  /* what tells it from all others */
    char folder[SH_INDEX_PATH_BYTES];    /* where it was seen last */
    int64_t stamp_ns;                    /* of the last change of what a person says in it */
    char program[SH_SESSION_NAME_BYTES]; /* whose figures these are */
    char started[SH_SESSION_NAME_BYTES]; /* ISO 8601, UTC */
    int utc_offset_min;
    char session[SH_SESSION_NAME_BYTES];
    char athlete[SH_SESSION_NAME_BYTES];
    char bow[SH_SESSION_NAME_BYTES];
    char channels[SH_SESSION_FILE_BYTES]; /* "string_force bow_acceleration": the sensors */
    const struct sh_tag *tags;            /* borrowed where it is put; none where it is found */
    size_t n_tags;
};

/*
 * Opens the index, which is made where there is none. SH_ERR_IO, SH_ERR_PERMISSION,
 * SH_ERR_FORMAT (no index: delete the file), SH_ERR_BUSY (another program writes for longer
 * than five seconds), SH_ERR_MEMORY. Copies path.
 */
enum sh_status sh_index_open(const char *path, struct sh_index **out, struct sh_error *err);

/* Closes and sets *index to NULL; what was begun and not committed is as if never done. Takes
 * NULL inside. */
void sh_index_close(struct sh_index **index);

/* A transaction: all that is put, moved and removed between the two becomes visible at once.
 * Without one each call is its own. SH_ERR_IO, SH_ERR_BUSY, SH_ERR_FULL (disk). */
enum sh_status sh_index_begin(struct sh_index *index, struct sh_error *err);
enum sh_status sh_index_commit(struct sh_index *index, struct sh_error *err);

/* Takes back all since sh_index_begin. The same statuses. */
enum sh_status sh_index_roll_back(struct sh_index *index, struct sh_error *err);

/* Removes all recordings. The same statuses. */
enum sh_status sh_index_clear(struct sh_index *index, struct sh_error *err);

/*
 * Looks a recording up by its folder or by its content. True and *out where it is there; false
 * where it is not, or where reading failed (then *status is not SH_OK; else SH_OK).
 */
bool sh_index_find_folder(struct sh_index *index,
                          const char *folder,
                          struct sh_index_recording *out,
                          enum sh_status *status);
bool sh_index_find_content(struct sh_index *index,
                           const char *content,
                           struct sh_index_recording *out,
                           enum sh_status *status);

/*
 * Puts a recording with all its shots in place of what was known of that content, and of
 * another that was in that folder before. arrows [analysis->n_shots] stand beside the shots.
 * The same input gives the same rows. SH_ERR_IO, SH_ERR_BUSY, SH_ERR_FULL.
 */
enum sh_status sh_index_put(struct sh_index *index,
                            const struct sh_index_recording *recording,
                            const struct sh_analysis *analysis,
                            const struct sh_arrow *arrows,
                            struct sh_error *err);

/* Says that a known recording is in another folder now, where no other is any more. The same
 * statuses. */
enum sh_status sh_index_move(struct sh_index *index,
                             const char *content,
                             const char *folder,
                             struct sh_error *err);

/* Removes a recording and its shots; that it is not there is fine. The same statuses. */
enum sh_status
sh_index_remove(struct sh_index *index, const char *content, struct sh_error *err);

/* Removes all recordings of an athlete, whose number goes to *n. The same statuses. */
enum sh_status sh_index_remove_athlete(struct sh_index *index,
                                       const char *athlete,
                                       size_t *n,
                                       struct sh_error *err);

/*
 * Writes the whole file anew, so that nothing of what was removed is left in it or in the log
 * beside it. Outside a transaction. The same statuses; SH_ERR_BUSY also where another program
 * reads. Cost: that of copying the file.
 */
enum sh_status sh_index_scrub(struct sh_index *index, struct sh_error *err);

#endif
