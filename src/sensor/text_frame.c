/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/text_frame.h"

enum line_kind { LINE_FRAME, LINE_PASSED_OVER, LINE_DAMAGED };

/* What is left of a line to be read. */
struct cursor {
    const char *at;
    const char *end;
};

static bool is_blank(char byte)
{
    return byte == ' ' || byte == '\t';
}

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

static bool is_letter(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z');
}

static void skip_blanks(struct cursor *cursor)
{
    while (cursor->at < cursor->end && is_blank(*cursor->at)) {
        cursor->at++;
    }
}

/* Blanks, and at most one comma or semicolon among them; false where there was neither. */
static bool parse_separator(struct cursor *cursor)
{
    const char *start = cursor->at;
    skip_blanks(cursor);
    if (cursor->at < cursor->end && (*cursor->at == ',' || *cursor->at == ';')) {
        cursor->at++;
        skip_blanks(cursor);
    }
    return cursor->at > start;
}

static bool parse_integer(struct cursor *cursor, int64_t low, int64_t high, int64_t *out)
{
    bool is_negative = cursor->at < cursor->end && *cursor->at == '-';
    if (is_negative) {
        cursor->at++;
    }
    if (cursor->at == cursor->end || !is_digit(*cursor->at)) {
        return false;
    }
    int64_t value = 0;
    for (; cursor->at < cursor->end && is_digit(*cursor->at); cursor->at++) {
        value = 10 * value + (*cursor->at - '0');
        if (value > UINT32_MAX) {
            return false;
        }
    }
    value = is_negative ? -value : value;
    *out = value;
    return value >= low && value <= high;
}

static bool parse_frame(struct cursor cursor, size_t n_channels, struct sh_frame *frame)
{
    int64_t value = 0;
    if (!parse_integer(&cursor, 0, UINT32_MAX, &value)) {
        return false;
    }
    frame->device_time_us = (uint32_t)value;
    frame->n_channels = n_channels;
    for (size_t i = 0; i < n_channels; i++) {
        if (!parse_separator(&cursor) ||
            !parse_integer(&cursor, INT32_MIN, INT32_MAX, &value)) {
            return false;
        }
        frame->counts[i] = (int32_t)value;
    }
    skip_blanks(&cursor);
    return cursor.at == cursor.end;
}

/* Reads the line without its line end. */
static enum line_kind parse_line(const struct sh_text_frame *decoder, struct sh_frame *frame)
{
    if (decoder->n_line_bytes > SH_TEXT_FRAME_LINE_BYTES) {
        return LINE_DAMAGED;
    }
    struct cursor cursor = {decoder->line, decoder->line + decoder->n_line_bytes};
    if (cursor.end > cursor.at && cursor.end[-1] == '\r') {
        cursor.end--;
    }
    skip_blanks(&cursor);
    if (cursor.at == cursor.end || *cursor.at == '#') {
        return LINE_PASSED_OVER;
    }
    if (is_letter(*cursor.at) && decoder->counts.good == 0) {
        return LINE_PASSED_OVER;
    }
    return parse_frame(cursor, decoder->n_channels, frame) ? LINE_FRAME : LINE_DAMAGED;
}

static enum sh_status end_line(struct sh_text_frame *decoder)
{
    struct sh_frame frame = {0};
    enum line_kind kind = parse_line(decoder, &frame);
    size_t n_bytes = decoder->n_line_bytes + 1;
    decoder->n_line_bytes = 0;
    if (kind == LINE_DAMAGED) {
        decoder->counts.damaged++;
        decoder->counts.skipped_bytes += n_bytes;
    }
    if (kind != LINE_FRAME) {
        return SH_OK;
    }
    decoder->counts.good++;
    return decoder->sink.frame(decoder->sink.context, &frame);
}

enum sh_status sh_text_frame_init(struct sh_text_frame *decoder,
                                  size_t n_channels,
                                  const struct sh_frame_sink *sink)
{
    if (n_channels < 1 || n_channels > SH_STREAM_CHANNELS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    *decoder = (struct sh_text_frame){.sink = *sink, .n_channels = n_channels};
    return SH_OK;
}

enum sh_status
sh_text_frame_push(struct sh_text_frame *decoder, const uint8_t *bytes, size_t n_bytes)
{
    for (size_t i = 0; i < n_bytes; i++) {
        if (bytes[i] == '\n') {
            enum sh_status status = end_line(decoder);
            if (status != SH_OK) {
                return status;
            }
            continue;
        }
        if (decoder->n_line_bytes < SH_TEXT_FRAME_LINE_BYTES) {
            decoder->line[decoder->n_line_bytes] = (char)bytes[i];
        }
        decoder->n_line_bytes++;
    }
    return SH_OK;
}

void sh_text_frame_flush(struct sh_text_frame *decoder)
{
    if (decoder->n_line_bytes > 0) {
        decoder->counts.damaged++;
        decoder->counts.skipped_bytes += decoder->n_line_bytes;
        decoder->n_line_bytes = 0;
    }
}

void sh_text_frame_reset(struct sh_text_frame *decoder)
{
    struct sh_frame_sink sink = decoder->sink;
    *decoder = (struct sh_text_frame){.sink = sink, .n_channels = decoder->n_channels};
}
