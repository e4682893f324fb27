/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_RECORDING_READER_H
#define SH_RECORDING_RECORDING_READER_H

#include <stddef.h>
#include <stdint.h>

#include "recording/session.h"
#include "sensor/block.h"

/*
 * Plays a recording: its session, and its samples as the blocks and anchors that a sensor would
 * have given. Memory is the same however long the recording is. One reader a thread.
 * Test: tests/recording/test_recording_reader.c.
 */
struct sh_recording_reader;

#define SH_RECORDING_READER_CHUNK_S_MAX  0.1
#define SH_RECORDING_READER_BLOCK_VALUES 32768u /* no block is larger, whatever the rate */

struct sh_recording_reader_config {
    double chunk_s; /* the longest block, above 0 to SH_RECORDING_READER_CHUNK_S_MAX */
};

/* chunk_s 0.1. */
struct sh_recording_reader_config sh_recording_reader_config_default(void);

/*
 * Opens folder: reads recording.json and opens each stream's audio file. Copies folder.
 * SH_ERR_ARGUMENT (chunk_s, path too long); SH_ERR_FORMAT also where channels of counts say
 * neither scale nor curve (contact and sound may do without); SH_ERR_SHORT where no stream has
 * a frame (a stream without any beside others that have some is let be: its sensor was silent);
 * what sh_session_json_read and sh_audio_reader_open give.
 */
enum sh_status sh_recording_reader_open(const char *folder,
                                        const struct sh_recording_reader_config *config,
                                        struct sh_recording_reader **out,
                                        struct sh_error *err);

/* Closes all files and sets *reader to NULL. Takes NULL inside. */
void sh_recording_reader_close(struct sh_recording_reader **reader);

/*
 * What recording.json says, with is_physical and the scale of contact and sound filled in.
 * Borrowed until close.
 */
const struct sh_session *sh_recording_reader_session(const struct sh_recording_reader *reader);

/*
 * Pushes the whole recording through sink, from its start at each call (a second pass gives the
 * same as the first). Blocks come in the order of their first frame's time as read forward
 * (SH_TIMEBASE_FORWARD), the lower stream first where times are equal, each at most chunk_s
 * long: no stream runs further ahead of another than chunk_s and what its clock steps at an
 * anchor. An anchor comes before the first block that reaches its frame; blocks are cut there,
 * and where gaps begin and end (is_filled). Anchors beyond the end of the samples do not come.
 * A status of the sink, or of sh_audio_reader_read, stops and comes back.
 * Cost: 14 million samples (1 h of 4 channels at 1000 Hz) in some 35 ms from WAV, 95 ms
 * from FLAC.
 */
enum sh_status sh_recording_reader_push(struct sh_recording_reader *reader,
                                        const struct sh_block_sink *sink,
                                        struct sh_error *err);

/*
 * Reads up to n_frames_max frames of a stream from a frame on, as they stand in its file:
 * raw[n_frames_max][n_channels] of the stream. *n_frames: how many there were, 0 behind the
 * end and of a stream without any. Does not disturb what sh_recording_reader_push gives next.
 * SH_ERR_ARGUMENT: no such stream. Statuses of sh_audio_reader_open, sh_audio_reader_seek and
 * sh_audio_reader_read. Cost: that of the frames read, wherever they lie.
 */
enum sh_status sh_recording_reader_read(struct sh_recording_reader *reader,
                                        size_t stream,
                                        uint64_t first_frame,
                                        double *raw,
                                        size_t n_frames_max,
                                        size_t *n_frames,
                                        struct sh_error *err);

/* Frames of a stream that the last push passed on. */
uint64_t sh_recording_reader_n_frames(const struct sh_recording_reader *reader, size_t stream);

#endif
