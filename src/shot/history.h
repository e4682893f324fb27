/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_HISTORY_H
#define SH_SHOT_HISTORY_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "metrology/channel.h"

/*
 * The last minute of one stream in physical values, each frame with its flags
 * (SH_SHOT_FLAG_...), found again by its absolute frame number.
 *
 * Bound: SH_HISTORY_SPAN_S seconds of frames. When it is full, the oldest frames are forgotten
 * as new ones come: pushing never fails and never waits. The samples of a channel lie in one
 * piece, so that a span of them can be lent without copying; they are moved together each time
 * half a span has been written, which costs two copies a sample on average.
 *
 * All memory is taken when it is opened. One thread at a time per object.
 */
struct sh_history;

#define SH_HISTORY_SPAN_S    60.0
#define SH_HISTORY_BYTES_MAX ((size_t)512 << 20)

/*
 * Opens a history of n_channels (1 to SH_STREAM_CHANNELS_MAX) at rate_hz (above 0, finite);
 * the first frame pushed will be frame 0. Gives *out, to be closed. SH_ERR_ARGUMENT: a figure
 * out of its range. SH_ERR_UNSUPPORTED: the span would take more than SH_HISTORY_BYTES_MAX.
 * SH_ERR_MEMORY. err may be NULL. Test of the file: tests/shot/test_history.c.
 */
enum sh_status sh_history_open(size_t n_channels,
                               double rate_hz,
                               struct sh_history **out,
                               struct sh_error *err);

/* Closes and sets *history to NULL; takes NULL and a pointer to NULL. */
void sh_history_close(struct sh_history **history);

/* Forgets all; the next frame pushed will be first_frame. Cost: O(1). */
void sh_history_reset(struct sh_history *history, uint64_t first_frame);

/* Appends one frame. value: [n_channels], finite, copied. Cost: O(n_channels), see above. */
void sh_history_push(struct sh_history *history, const double *value, unsigned char flags);

/* Sets the values of a frame that is held. Cost: O(n_channels). */
void sh_history_mend(struct sh_history *history, uint64_t frame, const double *value);

/* The oldest frame held, and the one that will be pushed next. Equal where none is held. */
uint64_t sh_history_get_first(const struct sh_history *history);
uint64_t sh_history_get_next(const struct sh_history *history);

/* Frames the span holds: what n_frames of a lent piece is at most. */
size_t sh_history_get_capacity(const struct sh_history *history);

/* A piece of the history, lent until the next push or reset. */
struct sh_history_span {
    uint64_t first_frame;
    size_t n_frames;
    const double *value[SH_STREAM_CHANNELS_MAX]; /* each [n_frames] */
    const unsigned char *flags;                  /* [n_frames] */
};

/*
 * Lends the frames from first up to but not end, or what of them is still held or already
 * there: n_frames may be 0. Cost: O(n_channels).
 */
void sh_history_get_span(const struct sh_history *history,
                         uint64_t first,
                         uint64_t end,
                         struct sh_history_span *out);

#endif
