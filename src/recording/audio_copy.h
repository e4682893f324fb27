/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_AUDIO_COPY_H
#define SH_RECORDING_AUDIO_COPY_H

#include "recording/audio_reader.h"
#include "recording/audio_writer.h"

/*
 * The same samples in another audio file. Memory is the same for every length.
 * Test: tests/recording/test_audio_copy.c.
 */

/*
 * Reads reader to its end and appends all frames to writer, which has as many channels
 * (n_channels). The statuses of sh_audio_reader_read and sh_audio_writer_write; SH_ERR_MEMORY.
 */
enum sh_status sh_audio_copy_append(struct sh_audio_reader *reader,
                                    size_t n_channels,
                                    struct sh_audio_writer *writer,
                                    struct sh_error *err);

/*
 * Reads both files to their ends: SH_OK where all samples are the same, SH_ERR_FORMAT where
 * they are not or where one is longer; else the statuses of sh_audio_reader_open and _read, and
 * SH_ERR_MEMORY.
 */
enum sh_status sh_audio_copy_compare(const char *path,
                                     const char *other_path,
                                     size_t n_channels,
                                     double rate_hz,
                                     struct sh_error *err);

#endif
