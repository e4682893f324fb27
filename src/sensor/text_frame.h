/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_TEXT_FRAME_H
#define SH_SENSOR_TEXT_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "sensor/frame.h"

/*
 * Lines of separated numbers, as a microcontroller prints them:
 *
 *     # anything behind a number sign is a comment
 *     micros,count,count
 *     1000250,812,-3
 *
 * The first number is the device's time in microseconds, 0 to 2^32 - 1; the others are counts,
 * -2^31 to 2^31 - 1. Numbers are decimal integers, separated by one comma or semicolon with any
 * spaces and tabs around it, or by spaces and tabs alone. A line ends with LF or CR LF. Comment
 * lines and empty lines are passed over. Lines that begin with a letter before the first good
 * frame are a header and passed over too.
 *
 * Every other line is damaged: it is counted, and its bytes are skipped bytes. So are lines
 * over SH_TEXT_FRAME_LINE_BYTES and, after a start in mid-line, the first part of a line.
 */

#define SH_TEXT_FRAME_LINE_BYTES 512u

/* All state of a decoder; plain memory, nothing to close. */
struct sh_text_frame {
    struct sh_frame_sink sink;
    size_t n_channels;
    char line[SH_TEXT_FRAME_LINE_BYTES];
    size_t n_line_bytes;           /* bytes of the line so far, also those that found no room */
    struct sh_frame_counts counts; /* good, damaged and skipped_bytes; the others stay 0 */
};

/*
 * A decoder of lines with n_channels counts (1 to SH_STREAM_CHANNELS_MAX, else
 * SH_ERR_ARGUMENT). Copies sink; keeps its context.
 */
enum sh_status sh_text_frame_init(struct sh_text_frame *decoder,
                                  size_t n_channels,
                                  const struct sh_frame_sink *sink);

/*
 * Decodes bytes and passes each frame on as soon as its line has ended. However the bytes are
 * cut, frames and counts are the same. Returns the sink's status where that is not SH_OK; the
 * bytes behind that frame are not read. Constant memory. Test: tests/sensor/test_text_frame.c.
 */
enum sh_status
sh_text_frame_push(struct sh_text_frame *decoder, const uint8_t *bytes, size_t n_bytes);

/*
 * The end of the bytes: a line without a line end is incomplete (a number may go on) and counts
 * as damaged. Flushing twice adds nothing.
 */
void sh_text_frame_flush(struct sh_text_frame *decoder);

/* As after init. */
void sh_text_frame_reset(struct sh_text_frame *decoder);

#endif
