/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_STREAM_FORMAT_H
#define SH_RECORDING_STREAM_FORMAT_H

#include <stdbool.h>
#include <stddef.h>

#include "recording/audio_writer.h"
#include "recording/session.h"

/*
 * Which audio file a stream is recorded into. Test: tests/recording/test_stream_format.c.
 */

/*
 * Chooses bits, channels, rate and container for a stream: 16 bits where the ranges of all
 * channels fit, else 24, else 32 (also where a range is unknown); 0 (floats) for physical
 * values. False where physical channels stand beside others.
 */
bool sh_stream_format_choose(const struct sh_stream *stream,
                             double longest_s,
                             struct sh_audio_writer_config *config);

/* RF64 where longest_s of samples could pass 4 GiB, else WAV. */
enum sh_audio_container sh_stream_format_container(const struct sh_audio_writer_config *config,
                                                   double longest_s);

/*
 * Sets the file of streams[index] to the stream's name with ".wav" behind it. What is no
 * letter, digit, '-' or '_' of ASCII becomes '_', an empty name "stream"; where an earlier
 * stream has the file, capitals or not, "-2", "-3" ... is put behind.
 */
void sh_stream_format_name(struct sh_session *session, size_t index);

#endif
