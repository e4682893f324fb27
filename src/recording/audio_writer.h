/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_AUDIO_WRITER_H
#define SH_RECORDING_AUDIO_WRITER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Writes the samples of one stream into an audio file of its own: counts as integers, physical
 * values as 64-bit floats. What sh_audio_writer_sync has synced survives a kill and a loss of
 * power (WAV and RF64; a FLAC file is whole only after finish). One writer a thread.
 * Test: tests/recording/test_audio_writer.c.
 */
struct sh_audio_writer;

enum sh_audio_container { SH_AUDIO_WAV, SH_AUDIO_RF64, SH_AUDIO_FLAC };

struct sh_audio_writer_config {
    enum sh_audio_container container;
    unsigned bits;     /* of a count: 16, 24 or 32 (not FLAC); 0: physical values (not FLAC) */
    size_t n_channels; /* 1 to SH_STREAM_CHANNELS_MAX; 1 to 8 in FLAC */
    double rate_hz;    /* above 0; the header holds it in whole Hz, at least 1 */
};

/*
 * Makes a file that must not exist. SH_ERR_ARGUMENT (bits, channels, rate, path too long),
 * SH_ERR_UNSUPPORTED (not with this container: FLAC takes 24 bits, 8 channels, 655,350 Hz, and
 * above 65,535 Hz only tens), SH_ERR_EXISTS, SH_ERR_NOT_FOUND,
 * SH_ERR_PERMISSION, SH_ERR_IO, SH_ERR_MEMORY. On failure no file is left.
 */
enum sh_status sh_audio_writer_open(const char *path,
                                    const struct sh_audio_writer_config *config,
                                    struct sh_audio_writer **out,
                                    struct sh_error *err);

/*
 * Closes the file as it stands and sets *writer to NULL; what a person must know of failures is
 * told by finish. Takes NULL inside.
 */
void sh_audio_writer_close(struct sh_audio_writer **writer);

/*
 * True where each of n_values fits a file of those bits to the last digit: whole numbers of the
 * range, or, with 0 bits, finite numbers.
 */
bool sh_audio_writer_fits(unsigned bits, const double *raw, size_t n_values);

/*
 * Appends raw[n_frames][n_channels]. SH_ERR_ARGUMENT where it does not fit (nothing is
 * written), SH_ERR_FULL where a WAV would pass 4 GiB, SH_ERR_IO (full disk, say). Cost: one
 * write for each 4096 values.
 */
enum sh_status sh_audio_writer_write(struct sh_audio_writer *writer,
                                     const double *raw,
                                     size_t n_frames,
                                     struct sh_error *err);

/*
 * Makes what was written safe: samples first, then the header that counts them. SH_ERR_IO.
 * Cost: two syncs of the disk.
 */
enum sh_status sh_audio_writer_sync(struct sh_audio_writer *writer, struct sh_error *err);

/* Ends the file: header, sync. Nothing can be written from then on. SH_ERR_IO. */
enum sh_status sh_audio_writer_finish(struct sh_audio_writer *writer, struct sh_error *err);

/*
 * Gives the file, and its messages, another name in the same folder, over a file that may be
 * there, and syncs the folder. SH_ERR_IO and what else rename gives, SH_ERR_ARGUMENT (path too
 * long).
 */
enum sh_status
sh_audio_writer_rename(struct sh_audio_writer *writer, const char *path, struct sh_error *err);

/* Frames written so far. */
uint64_t sh_audio_writer_n_frames(const struct sh_audio_writer *writer);

#endif
