/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_builder.h"

#include <stdio.h>
#include <string.h>

#include "sensor/port.h"

#define STREAM_PREFIX       "stream "
#define COLUMN_PREFIX       "column "
#define STREAM_NAME_LETTERS "abcdefghijklmnopqrstuvwxyz0123456789_-"
#define BAUD_MAX            12000000
#define LATENCY_MAX_S       1.0
#define TODO_KEYS           "see the keys in docs/sensor-profile.md"
#define TODO_SECTIONS       "give [sensor], then [stream NAME] with its [column 1], [column 2], ..."

enum sensor_key {
    SENSOR_NAME,
    SENSOR_PORT,
    SENSOR_BAUD,
    SENSOR_FRAMING,
    SENSOR_LATENCY_S,
    SENSOR_LATENCY_U_S,
    N_SENSOR_KEYS
};
enum stream_key { STREAM_RATE_HZ, STREAM_NUMBER, N_STREAM_KEYS };

static const char *const sensor_keys[N_SENSOR_KEYS] = {
    [SENSOR_NAME] = "name",           [SENSOR_PORT] = "port",
    [SENSOR_BAUD] = "baud",           [SENSOR_FRAMING] = "framing",
    [SENSOR_LATENCY_S] = "latency_s", [SENSOR_LATENCY_U_S] = "latency_u_s"};
static const char *const stream_keys[N_STREAM_KEYS] = {"rate_hz", "number"};

static enum sh_status
fail(struct sh_profile_builder *builder, const char *where, const char *todo, const char *what)
{
    return sh_error_set(builder->err, SH_ERR_FORMAT, where, todo, "%s", what);
}

static struct sh_profile_stream *last_stream(struct sh_profile_builder *builder)
{
    return &builder->profile->streams[builder->profile->n_streams - 1];
}

/* Finds the key and notes in *given that it was given, which may be once. */
static enum sh_status take_key(const struct sh_profile_line *line,
                               const char *const *keys,
                               size_t n_keys,
                               unsigned *given,
                               size_t *index)
{
    size_t i = 0;
    while (i < n_keys && strcmp(keys[i], line->key) != 0) {
        i++;
    }
    if (i == n_keys) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, TODO_KEYS,
                            "%s: no such key in this section", line->key);
    }
    if ((*given & (1u << i)) != 0) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "keep one of them",
                            "%s is given twice", line->key);
    }
    *given |= 1u << i;
    *index = i;
    return SH_OK;
}

static enum sh_status set_framing(struct sh_profile *profile,
                                  const struct sh_profile_line *line)
{
    bool is_text = strcmp(line->value, "text") == 0;
    if (!is_text && strcmp(line->value, "packets") != 0) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "give text or packets",
                            "framing = %s: no such framing", line->value);
    }
    profile->framing = is_text ? SH_FRAMING_TEXT : SH_FRAMING_PACKETS;
    return SH_OK;
}

static enum sh_status set_sensor(struct sh_profile_builder *builder,
                                 const struct sh_profile_line *line)
{
    struct sh_profile *profile = builder->profile;
    size_t key = 0;
    enum sh_status status =
        take_key(line, sensor_keys, N_SENSOR_KEYS, &builder->sensor_given, &key);
    if (status != SH_OK) {
        return status;
    }
    switch ((enum sensor_key)key) {
    case SENSOR_NAME:
        return sh_profile_value_text(line, profile->name, sizeof profile->name);
    case SENSOR_PORT:
        return sh_profile_value_text(line, profile->port, sizeof profile->port);
    case SENSOR_BAUD:
        return sh_profile_value_integer(line, 1, BAUD_MAX, &profile->baud);
    case SENSOR_FRAMING:
        return set_framing(profile, line);
    case SENSOR_LATENCY_S:
        return sh_profile_value_number(line, 0.0, LATENCY_MAX_S, &profile->clock.latency_s);
    case SENSOR_LATENCY_U_S:
        return sh_profile_value_number(line, 0.0, LATENCY_MAX_S, &profile->clock.latency_u_s);
    case N_SENSOR_KEYS:
        break;
    }
    return SH_OK;
}

static enum sh_status set_stream(struct sh_profile_builder *builder,
                                 const struct sh_profile_line *line)
{
    struct sh_profile_stream *stream = last_stream(builder);
    size_t key = 0;
    int number = 0;
    enum sh_status status =
        take_key(line, stream_keys, N_STREAM_KEYS, &builder->stream_given, &key);
    if (status != SH_OK) {
        return status;
    }
    if (key == STREAM_RATE_HZ) {
        return sh_profile_value_number(line, SH_PROFILE_RATE_MIN_HZ, SH_PROFILE_RATE_MAX_HZ,
                                       &stream->stream.rate_hz);
    }
    status = sh_profile_value_integer(line, 0, (int)SH_STREAMS_MAX - 1, &number);
    stream->number = (size_t)number;
    return status;
}

static enum sh_status add_crosstalk_row(struct sh_profile_builder *builder,
                                        const struct sh_profile_line *line)
{
    struct sh_stream *stream = &last_stream(builder)->stream;
    if (strcmp(line->key, "row") != 0) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "give row = ...",
                            "%s: no such key of the crosstalk", line->key);
    }
    if (builder->n_crosstalk_rows == stream->n_channels) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where,
                            "give one row for each column that is recorded",
                            "this row is too many");
    }
    stream->has_crosstalk = true;
    return sh_profile_value_numbers(line, stream->n_channels,
                                    stream->crosstalk[builder->n_crosstalk_rows++]);
}

/* Two channels that are told apart by nothing are most often a slip of the pen. */
static bool is_same_channel(const struct sh_channel *a, const struct sh_channel *b)
{
    return a->role == b->role && a->axis == b->axis && a->finger == b->finger;
}

static bool stream_has(const struct sh_stream *stream, const struct sh_channel *channel)
{
    for (size_t i = 0; i < stream->n_channels; i++) {
        if (is_same_channel(&stream->channel[i], channel)) {
            return true;
        }
    }
    return false;
}

static bool profile_has(const struct sh_profile *profile, const struct sh_channel *channel)
{
    for (size_t i = 0; i < profile->n_streams; i++) {
        if (stream_has(&profile->streams[i].stream, channel)) {
            return true;
        }
    }
    return false;
}

static enum sh_status end_column(struct sh_profile_builder *builder)
{
    struct sh_profile_stream *stream = last_stream(builder);
    enum sh_status status =
        sh_profile_column_finish(&builder->column, builder->section_where, builder->err);
    if (status != SH_OK || !builder->column.is_recorded) {
        return status;
    }
    if (profile_has(builder->profile, &builder->column.channel)) {
        return fail(builder, builder->section_where, "give it another role, axis or finger",
                    "two columns mean the same");
    }
    size_t channel = stream->stream.n_channels++;
    stream->stream.channel[channel] = builder->column.channel;
    stream->column[channel] = stream->n_columns - 1;
    return SH_OK;
}

/* Checks what can be checked once a section is complete. */
static enum sh_status end_section(struct sh_profile_builder *builder)
{
    const char *where = builder->section_where;
    switch (builder->section) {
    case SH_PROFILE_SECTION_SENSOR:
        return (builder->sensor_given & (1u << SENSOR_FRAMING)) != 0
                   ? SH_OK
                   : fail(builder, where, "add framing = text or packets",
                          "framing is missing");
    case SH_PROFILE_SECTION_STREAM:
        return (builder->stream_given & (1u << STREAM_RATE_HZ)) != 0
                   ? SH_OK
                   : fail(builder, where, "add rate_hz = 1000, say", "rate_hz is missing");
    case SH_PROFILE_SECTION_COLUMN:
        return end_column(builder);
    case SH_PROFILE_SECTION_CROSSTALK:
        return builder->n_crosstalk_rows == last_stream(builder)->stream.n_channels
                   ? SH_OK
                   : fail(builder, where, "give one row for each column that is recorded",
                          "rows are missing");
    case SH_PROFILE_SECTION_NONE:
        break;
    }
    return SH_OK;
}

static bool is_number_taken(const struct sh_profile *profile, size_t number)
{
    for (size_t i = 0; i + 1 < profile->n_streams; i++) {
        if (profile->streams[i].number == number) {
            return true;
        }
    }
    return false;
}

/* Checks a stream with all its columns. */
static enum sh_status end_stream(struct sh_profile_builder *builder)
{
    if (builder->profile->n_streams == 0) {
        return SH_OK;
    }
    const struct sh_profile_stream *stream = last_stream(builder);
    if (stream->stream.n_channels == 0) {
        return fail(builder, builder->stream_where,
                    "add a [column 1] with a role to this stream",
                    "a stream has no column that is recorded");
    }
    if (is_number_taken(builder->profile, stream->number)) {
        return fail(builder, builder->stream_where, "give each its own number",
                    "two streams have the same number");
    }
    return SH_OK;
}

static enum sh_status begin_stream(struct sh_profile_builder *builder, const char *name)
{
    struct sh_profile *profile = builder->profile;
    enum sh_status status = end_stream(builder);
    if (status != SH_OK) {
        return status;
    }
    if (builder->sensor_given == 0) {
        return fail(builder, builder->where, TODO_SECTIONS, "[sensor] has to come first");
    }
    size_t length = strlen(name);
    if (length == 0 || strspn(name, STREAM_NAME_LETTERS) != length) {
        return fail(builder, builder->where, "use a-z, 0-9, - and _",
                    "this name cannot become the name of a file");
    }
    if (profile->n_streams == SH_STREAMS_MAX ||
        (profile->n_streams == 1 && profile->framing == SH_FRAMING_TEXT)) {
        return fail(builder, builder->where, "leave it out; framing = packets takes up to 8",
                    "too many streams");
    }
    for (size_t i = 0; i < profile->n_streams; i++) {
        if (strcmp(profile->streams[i].stream.name, name) == 0) {
            return fail(builder, builder->where, "give it another name",
                        "this stream is there");
        }
    }
    struct sh_profile_stream *stream = &profile->streams[profile->n_streams];
    *stream = (struct sh_profile_stream){.number = profile->n_streams};
    memcpy(stream->stream.name, name, length + 1);
    profile->n_streams++;
    builder->stream_given = 0;
    builder->n_crosstalk_rows = 0;
    builder->section = SH_PROFILE_SECTION_STREAM;
    memcpy(builder->stream_where, builder->where, sizeof builder->where);
    return SH_OK;
}

static enum sh_status begin_column(struct sh_profile_builder *builder, const char *number)
{
    char expected[SH_PROFILE_SECTION_BYTES];
    if (builder->section != SH_PROFILE_SECTION_STREAM &&
        builder->section != SH_PROFILE_SECTION_COLUMN) {
        return fail(builder, builder->where, TODO_SECTIONS, "this column belongs to no stream");
    }
    struct sh_profile_stream *stream = last_stream(builder);
    (void)snprintf(expected, sizeof expected, "%zu", stream->n_columns + 1);
    if (stream->n_columns == SH_STREAM_CHANNELS_MAX || strcmp(number, expected) != 0) {
        return sh_error_set(builder->err, SH_ERR_FORMAT, builder->where,
                            "number the columns from 1, without a hole, up to 16",
                            "[column %s] stands where [column %s] should", number, expected);
    }
    stream->n_columns++;
    sh_profile_column_init(&builder->column);
    builder->section = SH_PROFILE_SECTION_COLUMN;
    return SH_OK;
}

static enum sh_status begin_section(struct sh_profile_builder *builder, const char *section)
{
    enum sh_status status = end_section(builder);
    if (status != SH_OK) {
        return status;
    }
    (void)snprintf(builder->section_name, sizeof builder->section_name, "%s", section);
    memcpy(builder->section_where, builder->where, sizeof builder->where);
    if (strcmp(section, "sensor") == 0 && builder->sensor_given == 0) {
        builder->section = SH_PROFILE_SECTION_SENSOR;
        return SH_OK;
    }
    if (strcmp(section, "crosstalk") == 0 && builder->section == SH_PROFILE_SECTION_COLUMN) {
        builder->section = SH_PROFILE_SECTION_CROSSTALK;
        return SH_OK;
    }
    if (strncmp(section, STREAM_PREFIX, strlen(STREAM_PREFIX)) == 0) {
        return begin_stream(builder, section + strlen(STREAM_PREFIX));
    }
    if (strncmp(section, COLUMN_PREFIX, strlen(COLUMN_PREFIX)) == 0) {
        return begin_column(builder, section + strlen(COLUMN_PREFIX));
    }
    return sh_error_set(builder->err, SH_ERR_FORMAT, builder->where, TODO_SECTIONS,
                        "[%s] does not belong here", section);
}

static enum sh_status set_key(struct sh_profile_builder *builder,
                              const struct sh_profile_line *line)
{
    switch (builder->section) {
    case SH_PROFILE_SECTION_SENSOR:
        return set_sensor(builder, line);
    case SH_PROFILE_SECTION_STREAM:
        return set_stream(builder, line);
    case SH_PROFILE_SECTION_COLUMN:
        return sh_profile_column_set(&builder->column, line);
    case SH_PROFILE_SECTION_CROSSTALK:
        return add_crosstalk_row(builder, line);
    case SH_PROFILE_SECTION_NONE:
        break;
    }
    return fail(builder, line->where, TODO_SECTIONS, "this line belongs to no section");
}

void sh_profile_builder_init(struct sh_profile_builder *builder,
                             struct sh_profile *profile,
                             struct sh_error *err)
{
    *profile = (struct sh_profile){.baud = SH_PORT_BAUD_DEFAULT,
                                   .clock = sh_device_clock_config_default()};
    *builder = (struct sh_profile_builder){.profile = profile, .err = err};
}

enum sh_status sh_profile_builder_push(struct sh_profile_builder *builder,
                                       const char *section,
                                       const struct sh_profile_line *line)
{
    enum sh_status status = SH_OK;
    (void)snprintf(builder->where, sizeof builder->where, "%s", line->where);
    if (strlen(section) >= sizeof builder->section_name - 1) {
        return fail(builder, line->where, "shorten it", "the section's name is too long");
    }
    if (strcmp(section, builder->section_name) != 0) {
        status = begin_section(builder, section);
    }
    return status == SH_OK ? set_key(builder, line) : status;
}

enum sh_status sh_profile_builder_finish(struct sh_profile_builder *builder, const char *name)
{
    enum sh_status status = end_section(builder);
    if (status == SH_OK) {
        status = end_stream(builder);
    }
    if (status == SH_OK && builder->profile->n_streams == 0) {
        status = fail(builder, name, TODO_SECTIONS, "there is no stream");
    }
    return status;
}
