/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_SESSION_H
#define SH_RECORDING_SESSION_H

#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "metrology/channel.h"
#include "recording/mark.h"
#include "sensor/frame.h"
#include "sensor/timebase.h"

/*
 * All that recording.json says, as plain structs: who shot what, with which streams, and what
 * was marked. docs/recording-format.md has the keys.
 */

enum sh_answer { SH_ANSWER_UNKNOWN, SH_ANSWER_NO, SH_ANSWER_YES };

#define SH_SESSION_NAME_BYTES 128u
#define SH_SESSION_FILE_BYTES 256u
#define SH_SESSION_TAGS_MAX   32u

struct sh_bow {
    char name[SH_SESSION_NAME_BYTES];
    struct sh_quantity draw_weight_n;     /* unknown where not given */
    struct sh_quantity stiffness_n_per_m; /* near full draw; unknown where not given */
    enum sh_answer clicker;
};

struct sh_tag {
    char key[SH_SESSION_NAME_BYTES];
    char value[SH_SESSION_NAME_BYTES];
};

struct sh_gap {
    uint64_t frame;
    uint64_t n_frames;
};

/* One stream of a session: its channels, its file, its clock and what was lost. */
struct sh_session_stream {
    struct sh_stream stream;
    char file[SH_SESSION_FILE_BYTES]; /* inside the folder, no path separators */
    struct sh_timebase timebase;      /* owned */
    struct sh_gap *gaps;              /* owned, by frame ascending */
    size_t n_gaps;
    struct sh_frame_counts frames;
};

struct sh_session {
    char started[SH_SESSION_NAME_BYTES]; /* ISO 8601, UTC */
    int utc_offset_min;
    char session[SH_SESSION_NAME_BYTES];
    char athlete[SH_SESSION_NAME_BYTES];
    struct sh_mark_number distance_m;
    struct sh_tag tags[SH_SESSION_TAGS_MAX];
    size_t n_tags;
    struct sh_bow bow;
    struct sh_session_stream streams[SH_STREAMS_MAX];
    size_t n_streams;
    struct sh_mark *marks; /* owned, in file order */
    size_t n_marks;
};

/* Frees what the session owns and zeroes it. Takes a zeroed session. */
void sh_session_close(struct sh_session *session);

/*
 * Copies from into to, which is all zero, with everything it owns. SH_ERR_MEMORY, and to is all
 * zero again.
 */
enum sh_status sh_session_copy(const struct sh_session *from, struct sh_session *to);

/* Appends a mark (copies). SH_ERR_MEMORY; SH_ERR_FULL beyond 1,000,000 marks. */
enum sh_status sh_session_add_mark(struct sh_session *session, const struct sh_mark *mark);

/* Removes the mark at an index; those behind it move up. SH_ERR_NOT_FOUND. */
enum sh_status sh_session_remove_mark(struct sh_session *session, size_t index);

/*
 * Sets a tag (copies), in place of one of that key; an empty value takes it away, or does
 * nothing where there is none. SH_ERR_ARGUMENT: an empty key. SH_ERR_FULL: there are
 * SH_SESSION_TAGS_MAX others.
 */
enum sh_status sh_session_set_tag(struct sh_session *session, const struct sh_tag *tag);

/*
 * Appends a gap to a stream, joined to the last one where they touch. The same statuses, and
 * SH_ERR_ARGUMENT where there is no such stream, where the gap has no frames or runs beyond
 * 2^64, or where it begins before the last one's end. Test: tests/recording/test_session.c.
 */
enum sh_status
sh_session_add_gap(struct sh_session *session, size_t stream, const struct sh_gap *gap);

#endif
