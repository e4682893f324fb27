/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_RECALL_H
#define SH_SHOT_RECALL_H

#include "recording/recording_reader.h"
#include "shot/owned_view.h"

/*
 * The samples of a draw had again: what the segmenter lent with a shot is remembered without
 * its samples, some kilobytes, and read back from the recording's files when they are wanted,
 * however long ago it was. What comes back is what was lent, bit for bit: the same frames,
 * times, values with single nonsense mended and load drift taken off, flags, rest levels and
 * net force. Test of all: tests/shot/test_recall.c.
 */
struct sh_recall_stream {
    uint64_t first_frame;
    size_t n_frames;
    double time_u_s;
    struct sh_quantity rest_n[SH_STREAM_CHANNELS_MAX];
};

/* Plain values; owns nothing. */
struct sh_recall {
    size_t n_streams;
    enum sh_timebase_reading reading; /* of all streams */
    struct sh_recall_stream stream[SH_STREAMS_MAX];
    struct sh_shot_force force; /* without its samples */
    double rest_n;              /* taken off them */
};

/* Remembers the view that came with a shot (both borrowed). */
void sh_recall_keep(const struct sh_shot *shot,
                    const struct sh_shot_view *view,
                    struct sh_recall *out);

/*
 * Reads a view back out of a reader of the same recording, which must outlive it; the recording
 * may still be written to. SH_ERR_SHORT: the files do not hold all of it (yet: they are synced
 * each second). SH_ERR_FORMAT: the recording has other streams. SH_ERR_MEMORY; statuses of
 * sh_recording_reader_read. *out is to be closed on SH_OK.
 * Cost: the frames of the view, some 20 ns a value; of a stream with a load drift all frames
 * before, too, since each hangs on the one before it.
 */
enum sh_status sh_recall_open(struct sh_recording_reader *reader,
                              const struct sh_recall *recall,
                              struct sh_owned_view *out,
                              struct sh_error *err);

#endif
