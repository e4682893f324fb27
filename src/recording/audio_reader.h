/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_AUDIO_READER_H
#define SH_RECORDING_AUDIO_READER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Reads the samples of one stream from its audio file (WAV, RF64, W64, FLAC and what else
 * libsndfile reads without loss). Files of 8, 16, 24 or 32 bit integers give the sensor's own
 * counts (an 8-bit WAV, which stores count + 128, gives -128 to 127); files of 32 or 64 bit
 * floats give physical values. Memory is the same for every length: nothing is sized by what a
 * header says. One reader a thread. Test: tests/recording/test_audio_reader.c.
 */
struct sh_audio_reader;

/*
 * Opens a file that must have n_channels (1 to SH_STREAM_CHANNELS_MAX) and, to the whole Hz a
 * header can hold, rate_hz. Copies path.
 * SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO; SH_ERR_FORMAT (no audio, other channels or
 * rate, cut off: a WAV, RF64 or W64 shorter than its header says); SH_ERR_UNSUPPORTED
 * (compressed with loss); SH_ERR_SHORT (no frames at all); SH_ERR_ARGUMENT (path too long);
 * SH_ERR_MEMORY.
 */
enum sh_status sh_audio_reader_open(const char *path,
                                    size_t n_channels,
                                    double rate_hz,
                                    struct sh_audio_reader **out,
                                    struct sh_error *err);

/* Closes the file and sets *reader to NULL. Takes NULL inside. */
void sh_audio_reader_close(struct sh_audio_reader **reader);

/* True where samples are physical values (floats), not counts. */
bool sh_audio_reader_is_physical(const struct sh_audio_reader *reader);

/* Bits of a count in the file: 8, 16, 24 or 32; 0 where samples are physical values. */
unsigned sh_audio_reader_bits(const struct sh_audio_reader *reader);

/* True for a FLAC file. */
bool sh_audio_reader_is_flac(const struct sh_audio_reader *reader);

/* Frames read so far. */
uint64_t sh_audio_reader_n_frames(const struct sh_audio_reader *reader);

/*
 * Reads up to n_frames_max (at least 1) frames into raw[n_frames_max][n_channels]; *n_frames:
 * how many there were, 0 at the end of the file and from then on.
 * SH_ERR_NOT_FINITE for an infinity or a NaN among floats, SH_ERR_FORMAT for samples that
 * cannot be decoded and for a file that ends before the frame its header promises: err names
 * the frame, *n_frames is 0. SH_ERR_IO.
 */
enum sh_status sh_audio_reader_read(struct sh_audio_reader *reader,
                                    double *raw,
                                    size_t n_frames_max,
                                    size_t *n_frames,
                                    struct sh_error *err);

/*
 * Goes to a frame, which the next read begins with; beyond the last frame to the end. Frames
 * read so far (sh_audio_reader_n_frames) counts from the file's start all the same.
 * SH_ERR_IO where the file cannot be moved in. Cost: none to speak of in WAV; FLAC decodes some
 * thousand frames.
 */
enum sh_status
sh_audio_reader_seek(struct sh_audio_reader *reader, uint64_t frame, struct sh_error *err);

#endif
