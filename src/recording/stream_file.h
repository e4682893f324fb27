/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_STREAM_FILE_H
#define SH_RECORDING_STREAM_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "recording/audio_writer.h"

/*
 * The audio file of one stream while it is being recorded: an audio writer that makes its file
 * anew with wider counts when one comes that does not fit, and that knows when to sync. After a
 * failure of the disk the file cannot go on: each later call gives the same again.
 * One thread. Test: tests/recording/test_stream_file.c.
 */
struct sh_stream_file;

/*
 * Makes a file that must not exist. Copies path and config; longest_s as for
 * sh_stream_format_container. The statuses of sh_audio_writer_open.
 */
enum sh_status sh_stream_file_open(const char *path,
                                   const struct sh_audio_writer_config *config,
                                   double longest_s,
                                   struct sh_stream_file **out,
                                   struct sh_error *err);

/* Closes the file as it stands and sets *file to NULL. Takes NULL inside. */
void sh_stream_file_close(struct sh_stream_file **file);

/*
 * Whether raw[n_frames][n_channels] can be written at all: SH_ERR_ARGUMENT where a sample is no
 * 32-bit count (or, of physical values, not finite); what stopped the file, if it has stopped.
 */
enum sh_status sh_stream_file_check(const struct sh_stream_file *file,
                                    const double *raw,
                                    size_t n_frames,
                                    struct sh_error *err);

/*
 * Appends raw[n_frames][n_channels] that passed the check. Where a count is too wide for the
 * file, all of it is first copied into one of 32 bits that takes its place whole (once; as long
 * as copying takes). SH_ERR_IO and its like, SH_ERR_FULL, SH_ERR_MEMORY: the file has stopped.
 */
enum sh_status sh_stream_file_write(struct sh_stream_file *file,
                                    const double *raw,
                                    size_t n_frames,
                                    struct sh_error *err);

/* True where a second of frames, or more, has come since the last sync. */
bool sh_stream_file_is_due(const struct sh_stream_file *file);

/* Makes what was written safe (sh_audio_writer_sync). SH_ERR_IO: the file has stopped. */
enum sh_status sh_stream_file_sync(struct sh_stream_file *file, struct sh_error *err);

/* Ends the file; also tells what stopped it before. Nothing can be written from then on. */
enum sh_status sh_stream_file_finish(struct sh_stream_file *file, struct sh_error *err);

/* Frames written so far. */
uint64_t sh_stream_file_n_frames(const struct sh_stream_file *file);

#endif
