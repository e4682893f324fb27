/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_WATCH_H
#define SH_FINDING_LIMIT_WATCH_H

#include <stdbool.h>
#include <stddef.h>

#include "finding/limit.h"
#include "recording/session.h"
#include "sensor/block.h"

/*
 * Watches a person's limits while samples come, so that a warning does not wait for the end of
 * the shot: peak, impulse, draws and rest are held against their limits from the sample on that
 * crosses them; shares and other measures when the shot has been measured.
 *
 * A finger whose sensor is missing, clips, loses samples, does not change, or shows next to
 * nothing while the others hold (it has slid off, or the finger is not on the string: nobody
 * can tell) is unknown in that draw, with a warning, never inside. Limits of a session or a day
 * start from what their marks say was there before (recording/mark.h).
 *
 * What comes out depends on the samples alone, never on how they were cut into blocks. One
 * thread. Test: tests/finding/test_limit_watch.c.
 */
struct sh_limit_watch;

#define SH_LIMIT_WATCH_LIMITS_MAX 64u  /* further limits are not watched: open refuses them */
#define SH_LIMIT_WATCH_LOW_S      0.25 /* so long without force: unknown */
#define SH_LIMIT_WATCH_LOW_N      1.0  /* without: under this and */
#define SH_LIMIT_WATCH_LOW_RATIO  0.02 /* this share of the total force */
#define SH_LIMIT_WATCH_QUIET_S    1.0  /* without a pull: a sound may come */

enum sh_limit_event_kind {
    SH_LIMIT_EVENT_NEAR,
    SH_LIMIT_EVENT_REACHED,
    SH_LIMIT_EVENT_UNKNOWN
};

struct sh_limit_event {
    enum sh_limit_event_kind kind;
    const struct sh_mark *limit; /* UNKNOWN: one of the limits that it concerns */
    size_t finger;               /* UNKNOWN: SH_LIMIT_TALLY_FINGERS where all are */
    double t_s;                  /* of the sample that crossed, its sensor's delay taken off */
    struct sh_quantity value;    /* unknown with UNKNOWN */
    char text[SH_FINDING_TEXT_BYTES]; /* for people */
};

/* Event is borrowed during the call. A status other than SH_OK stops the push. */
struct sh_limit_event_sink {
    enum sh_status (*event)(void *context,
                            const struct sh_limit_event *event,
                            struct sh_error *err);
    void *context;
};

struct sh_limit_watch_config {
    const struct sh_session *session; /* kept: streams, bow, and marks, the limits among them */
    const char *date;                 /* copied: which are in force; "": all */
    struct sh_limit_event_sink sink;  /* copied */
};

/* Opens a watch over the session's limits. SH_ERR_MEMORY, SH_ERR_FULL. */
enum sh_status sh_limit_watch_open(const struct sh_limit_watch_config *config,
                                   struct sh_limit_watch **out,
                                   struct sh_error *err);

/* Closes and sets *watch to NULL. Takes NULL inside. */
void sh_limit_watch_close(struct sh_limit_watch **watch);

/* Number of limits that are watched: with none, pushing does nothing. */
size_t sh_limit_watch_get_n(const struct sh_limit_watch *watch);

/* What the draws measured so far add up to; into watch. */
const struct sh_limit_tally *sh_limit_watch_get_tally(const struct sh_limit_watch *watch);

/*
 * Says at once what cannot be watched: fingers without a channel, spans of which the earlier
 * part is unknown. Once, before the first block. What the sink returns.
 */
enum sh_status sh_limit_watch_begin(struct sh_limit_watch *watch, struct sh_error *err);

/*
 * Takes the next frames of a stream: frame i at first_s + i step_s. What the sink returns.
 * Cost: some hundred operations a frame of streams with force channels.
 */
enum sh_status sh_limit_watch_push(struct sh_limit_watch *watch,
                                   const struct sh_block *block,
                                   double first_s,
                                   double step_s,
                                   struct sh_error *err);

/*
 * Takes a shot that has been measured: its figures replace the running ones in the sums, and
 * limits that only it could reach are told. SH_ERR_MEMORY; what the sink returns.
 */
enum sh_status sh_limit_watch_take(struct sh_limit_watch *watch,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err);

/*
 * Takes that shots have been corrected and measured anew: records[n], all that have been taken
 * so far, in their order. Sums and states are those of their figures, as if they had been taken
 * in the first place; what runs goes on. What was told stays told: a limit that only these
 * figures reach (or are near to) is told, once; one that they are inside of again may be told
 * again later. Where n is another number than that of the shots taken all stays as it is. What
 * the sink returns. Cost: O(n limits). Test: tests/finding/test_limit_amend.c.
 */
enum sh_status sh_limit_watch_amend(struct sh_limit_watch *watch,
                                    const struct sh_shot_record *records,
                                    size_t n,
                                    struct sh_error *err);

/*
 * How a limit of the session's marks stands: as the last draw, or the one that runs, has it, of
 * a session or day as its sum does. SH_LIMIT_UNKNOWN before anything could be held against it,
 * for a mark that is not watched, and where the part that is known is not near it.
 */
enum sh_limit_state sh_limit_watch_get_state(const struct sh_limit_watch *watch,
                                             const struct sh_mark *limit);

/* True where no string has been pulled for SH_LIMIT_WATCH_QUIET_S: a sound would startle
 * nobody. False before any force has come. */
bool sh_limit_watch_is_quiet(const struct sh_limit_watch *watch);

#endif
