/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/stream_json.h"

#include <math.h>
#include <string.h>

#include "recording/channel_json.h"
#include "recording/json_field.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))
#define ANCHOR_ROW  3u
#define FRAME_MAX   9007199254740992.0 /* 2^53: exact in a double */

#define MEMBER(name)                                                                           \
    offsetof(struct sh_session_stream, name), sizeof(((struct sh_session_stream *)0)->name)
#define COUNTED(name)                                                                          \
    {                                                                                          \
#name, offsetof(struct sh_frame_counts, name), sizeof(uint64_t), SH_JSON_FIELD_COUNT,  \
            SH_JSON_FIELD_ANY, false, NULL                                                     \
    }

static const struct sh_json_field fields[] = {
    {"name", MEMBER(stream.name), SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, true, NULL},
    {"file", MEMBER(file), SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, true, NULL},
    {"rate_hz", MEMBER(stream.rate_hz), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ABOVE_0, true,
     "give the frames a second"},
    {"offset_s", MEMBER(stream.offset_s), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ANY, false, NULL},
    {"offset_u_s", MEMBER(stream.offset_u_s), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_FROM_0, false,
     NULL},
};

static const struct sh_json_field count_fields[] = {
    COUNTED(good), COUNTED(damaged), COUNTED(repeated),
    COUNTED(late), COUNTED(lost),    COUNTED(skipped_bytes),
};

static const struct sh_json_field gap_fields[] = {
    {"frame", offsetof(struct sh_gap, frame), sizeof(uint64_t), SH_JSON_FIELD_COUNT,
     SH_JSON_FIELD_ANY, true, NULL},
    {"frames", offsetof(struct sh_gap, n_frames), sizeof(uint64_t), SH_JSON_FIELD_COUNT,
     SH_JSON_FIELD_ANY, true, NULL},
};

static void check_file(struct sh_json_cursor *cursor, const char *file)
{
    if (strchr(file, '/') != NULL || strcmp(file, ".") == 0 || strcmp(file, "..") == 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "file", "is not a name inside the folder",
                            "keep the audio file beside recording.json");
    }
}

static void
parse_channels(struct sh_json_cursor *cursor, const json_t *object, struct sh_stream *stream)
{
    const json_t *list = NULL;
    bool was_found = sh_json_cursor_array(cursor, object, "channels", &list);
    sh_json_cursor_need(cursor, was_found, "channels");
    size_t n = json_array_size(list);
    if (n < 1 || n > SH_STREAM_CHANNELS_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "channels", "has not 1 to 16 channels",
                            NULL);
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, "channels");
    for (size_t i = 0; i < n; i++) {
        size_t before = sh_json_cursor_enter_index(cursor, i);
        sh_channel_json_parse(cursor, json_array_get(list, i), &stream->channel[i]);
        sh_json_cursor_leave(cursor, before);
    }
    stream->n_channels = n;
    sh_json_cursor_leave(cursor, outside);
}

static void
parse_crosstalk(struct sh_json_cursor *cursor, const json_t *object, struct sh_stream *stream)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, object, "crosstalk", &list)) {
        return;
    }
    if (json_array_size(list) != stream->n_channels) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "crosstalk",
                            "has not a row for each channel", NULL);
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, "crosstalk");
    for (size_t i = 0; i < stream->n_channels; i++) {
        size_t before = sh_json_cursor_enter_index(cursor, i);
        (void)sh_json_cursor_tuple(cursor, json_array_get(list, i), stream->crosstalk[i],
                                   stream->n_channels);
        sh_json_cursor_leave(cursor, before);
    }
    stream->has_crosstalk = true;
    sh_json_cursor_leave(cursor, outside);
}

static void
parse_anchor(struct sh_json_cursor *cursor, const json_t *row, struct sh_timebase *timebase)
{
    double values[ANCHOR_ROW];
    if (!sh_json_cursor_tuple(cursor, row, values, ANCHOR_ROW)) {
        return;
    }
    if (!(values[0] >= 0.0 && values[0] <= FRAME_MAX) ||
        fabs(values[0] - trunc(values[0])) > 0.0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "does not begin with a frame number",
                            "write [frame, time, uncertainty]");
        return;
    }
    const struct sh_anchor anchor = {(uint64_t)values[0], values[1], values[2]};
    enum sh_status status = sh_timebase_append(timebase, &anchor);
    if (status == SH_ERR_ARGUMENT) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL,
                            "does not come after the anchor before it, or is below 0 in its "
                            "uncertainty",
                            "list anchors by rising frame and time");
    } else if (status != SH_OK) {
        sh_json_cursor_fail(cursor, status, NULL, sh_status_text(status), NULL);
    }
}

static void parse_clock(struct sh_json_cursor *cursor,
                        const json_t *object,
                        struct sh_session_stream *stream)
{
    const json_t *list = NULL;
    const struct sh_stream *timed = &stream->stream;
    if (cursor->status == SH_OK &&
        sh_timebase_init(&stream->timebase, timed->rate_hz, timed->offset_s,
                         timed->offset_u_s) != SH_OK) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "rate_hz", "is no sample rate", NULL);
    }
    if (!sh_json_cursor_array(cursor, object, "clock", &list)) {
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, "clock");
    size_t n = json_array_size(list);
    for (size_t i = 0; i < n && cursor->status == SH_OK; i++) {
        size_t before = sh_json_cursor_enter_index(cursor, i);
        parse_anchor(cursor, json_array_get(list, i), &stream->timebase);
        sh_json_cursor_leave(cursor, before);
    }
    sh_json_cursor_leave(cursor, outside);
}

static void parse_gap(struct sh_json_cursor *cursor,
                      const json_t *object,
                      struct sh_session *session,
                      size_t index)
{
    struct sh_gap gap = {0};
    if (!json_is_object(object)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "is not an object", NULL);
        return;
    }
    sh_json_field_parse(cursor, object, gap_fields, COUNT(gap_fields), &gap);
    if (cursor->status != SH_OK) {
        return;
    }
    enum sh_status status = sh_session_add_gap(session, index, &gap);
    if (status == SH_ERR_ARGUMENT) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL,
                            "has no frames, or begins before the gap before it ends",
                            "list gaps by rising frame");
    } else if (status != SH_OK) {
        sh_json_cursor_fail(cursor, status, NULL, sh_status_text(status), NULL);
    }
}

static void parse_gaps(struct sh_json_cursor *cursor,
                       const json_t *object,
                       struct sh_session *session,
                       size_t index)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, object, "gaps", &list)) {
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, "gaps");
    size_t n = json_array_size(list);
    for (size_t i = 0; i < n && cursor->status == SH_OK; i++) {
        size_t before = sh_json_cursor_enter_index(cursor, i);
        parse_gap(cursor, json_array_get(list, i), session, index);
        sh_json_cursor_leave(cursor, before);
    }
    sh_json_cursor_leave(cursor, outside);
}

void sh_stream_json_parse(struct sh_json_cursor *cursor,
                          const json_t *object,
                          struct sh_session *session,
                          size_t index)
{
    struct sh_session_stream *stream = &session->streams[index];
    const json_t *counts = NULL;
    if (!json_is_object(object)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "is not an object", NULL);
        return;
    }
    sh_json_field_parse(cursor, object, fields, COUNT(fields), stream);
    check_file(cursor, stream->file);
    parse_channels(cursor, object, &stream->stream);
    parse_crosstalk(cursor, object, &stream->stream);
    parse_clock(cursor, object, stream);
    parse_gaps(cursor, object, session, index);
    if (sh_json_cursor_object(cursor, object, "frames", &counts)) {
        size_t before = sh_json_cursor_enter(cursor, "frames");
        sh_json_field_parse(cursor, counts, count_fields, COUNT(count_fields), &stream->frames);
        sh_json_cursor_leave(cursor, before);
    }
}

static void
format_channels(struct sh_json_put *put, json_t *object, const struct sh_stream *stream)
{
    json_t *list = sh_json_put_list(put, object, "channels");
    for (size_t i = 0; i < stream->n_channels; i++) {
        sh_channel_json_format(put, sh_json_put_object_at(put, list, i), &stream->channel[i]);
    }
    sh_json_put_trim(put, list, stream->n_channels);
    if (!stream->has_crosstalk) {
        sh_json_put_nothing(put, object, "crosstalk");
        return;
    }
    json_t *rows = sh_json_put_list(put, object, "crosstalk");
    for (size_t i = 0; i < stream->n_channels; i++) {
        sh_json_put_numbers_at(put, rows, i, stream->crosstalk[i], stream->n_channels);
    }
    sh_json_put_trim(put, rows, stream->n_channels);
}

static void
format_clock(struct sh_json_put *put, json_t *object, const struct sh_timebase *timebase)
{
    if (timebase->n_anchors == 0) {
        sh_json_put_nothing(put, object, "clock");
        return;
    }
    json_t *list = sh_json_put_list(put, object, "clock");
    for (size_t i = 0; i < timebase->n_anchors; i++) {
        const struct sh_anchor *anchor = &timebase->anchors[i];
        const double row[ANCHOR_ROW] = {(double)anchor->frame, anchor->time_s, anchor->u_s};
        sh_json_put_numbers_at(put, list, i, row, ANCHOR_ROW);
    }
    sh_json_put_trim(put, list, timebase->n_anchors);
}

/*
 * The entry of the old list (by frame ascending) that begins at frame, or a new one; given.
 * *place: where to look from, moved on.
 */
static json_t *take_gap(const json_t *old, size_t *place, uint64_t frame)
{
    for (; *place < json_array_size(old); (*place)++) {
        json_t *entry = json_array_get(old, *place);
        json_int_t begin = json_integer_value(json_object_get(entry, "frame"));
        if ((uint64_t)begin >= frame) {
            return (uint64_t)begin == frame ? json_deep_copy(entry) : json_object();
        }
    }
    return json_object();
}

static void
format_gaps(struct sh_json_put *put, json_t *object, const struct sh_session_stream *stream)
{
    const json_t *old = json_object_get(object, "gaps");
    if (stream->n_gaps == 0 && json_array_size(old) == 0) {
        return;
    }
    json_t *list = json_array();
    size_t place = 0;
    for (size_t i = 0; i < stream->n_gaps && put->status == SH_OK; i++) {
        json_t *entry = take_gap(old, &place, stream->gaps[i].frame);
        sh_json_field_format(put, entry, gap_fields, COUNT(gap_fields), &stream->gaps[i]);
        if (json_array_append_new(list, entry) != 0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, "gaps");
        }
    }
    sh_json_put_value(put, object, "gaps", list);
}

static bool has_counts(const struct sh_frame_counts *counts)
{
    return (counts->good | counts->damaged | counts->repeated | counts->late | counts->lost |
            counts->skipped_bytes) != 0;
}

void sh_stream_json_format(struct sh_json_put *put,
                           json_t *object,
                           const struct sh_session_stream *stream)
{
    sh_json_field_format(put, object, fields, COUNT(fields), stream);
    format_clock(put, object, &stream->timebase);
    format_channels(put, object, &stream->stream);
    format_gaps(put, object, stream);
    if (has_counts(&stream->frames) || json_object_get(object, "frames") != NULL) {
        json_t *counts = sh_json_put_object(put, object, "frames");
        sh_json_field_format(put, counts, count_fields, COUNT(count_fields), &stream->frames);
    }
}
