/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_format.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define DIGITS_MIN 15 /* each number of so many digits comes back; with 17, each double */
#define DIGITS_MAX 17
#define FILE_MODE  0644

static void put_number(struct sh_text *text, double value)
{
    char number[40];
    for (int digits = DIGITS_MIN; digits <= DIGITS_MAX; digits++) {
        (void)snprintf(number, sizeof number, "%.*g", digits, value);
        double back = strtod(number, NULL);
        if (back >= value && back <= value) {
            break;
        }
    }
    sh_text_puts(text, number);
}

/* "key = a b c" */
static void put_numbers(struct sh_text *text, const char *key, const double *values, size_t n)
{
    sh_text_printf(text, "%s =", key);
    for (size_t i = 0; i < n; i++) {
        sh_text_puts(text, " ");
        put_number(text, values[i]);
    }
    sh_text_puts(text, "\n");
}

static void put_unless_zero(struct sh_text *text, const char *key, double value)
{
    if (fabs(value) > 0.0) {
        put_numbers(text, key, &value, 1);
    }
}

static void put_string(struct sh_text *text, const char *key, const char *value)
{
    if (value[0] != '\0') {
        sh_text_printf(text, "%s = %s\n", key, value);
    }
}

void sh_profile_format_calibration(const struct sh_channel *channel, struct sh_text *text)
{
    for (size_t i = 0; i < channel->n_curve; i++) {
        const struct sh_curve_point *point = &channel->curve[i];
        const double numbers[] = {point->counts, point->value, point->u};
        put_numbers(text, "point", numbers, 3);
    }
    if (channel->n_curve == 0) {
        put_numbers(text, "scale", &channel->scale, 1);
        put_unless_zero(text, "scale_u", channel->scale_u);
        put_unless_zero(text, "quadratic", channel->quadratic);
        put_unless_zero(text, "quadratic_u", channel->quadratic_u);
    }
    put_unless_zero(text, "zero", channel->zero);
    put_unless_zero(text, "zero_u", channel->zero_u);
    put_unless_zero(text, "noise", channel->noise);
    if (fabs(channel->load_drift_ratio) > 0.0 || fabs(channel->load_drift_time_s) > 0.0) {
        put_numbers(text, "load_drift_ratio", &channel->load_drift_ratio, 1);
        put_numbers(text, "load_drift_time_s", &channel->load_drift_time_s, 1);
    }
    put_string(text, "calibrated", channel->calibrated);
}

void sh_profile_format_crosstalk(const struct sh_stream *stream, struct sh_text *text)
{
    for (size_t i = 0; i < stream->n_channels; i++) {
        put_numbers(text, "row", stream->crosstalk[i], stream->n_channels);
    }
}

static void put_channel(struct sh_text *text, const struct sh_channel *channel)
{
    put_string(text, "role", sh_channel_role_name(channel->role));
    put_string(text, "axis", sh_channel_axis_name(channel->axis));
    put_string(text, "finger", sh_channel_finger_name(channel->finger));
    put_string(text, "unit", channel->unit);
    sh_profile_format_calibration(channel, text);
    if (channel->has_range) {
        const double range[] = {channel->range_low, channel->range_high};
        put_numbers(text, "range", range, 2);
    }
    put_unless_zero(text, "delay_s", channel->delay_s);
    put_unless_zero(text, "delay_u_s", channel->delay_u_s);
}

static void put_columns(struct sh_text *text, const struct sh_profile_stream *stream)
{
    size_t channel = 0;
    for (size_t column = 0; column < stream->n_columns; column++) {
        sh_text_printf(text, "\n[column %zu]\n", column + 1);
        if (channel < stream->stream.n_channels && stream->column[channel] == column) {
            put_channel(text, &stream->stream.channel[channel++]);
        } else {
            sh_text_puts(text, "role = none\n");
        }
    }
}

static void put_stream(struct sh_text *text,
                       const struct sh_profile_stream *stream,
                       enum sh_framing framing)
{
    sh_text_printf(text, "\n[stream %s]\n", stream->stream.name);
    if (framing == SH_FRAMING_PACKETS) {
        sh_text_printf(text, "number = %zu\n", stream->number);
    }
    put_numbers(text, "rate_hz", &stream->stream.rate_hz, 1);
    put_columns(text, stream);
    if (stream->stream.has_crosstalk) {
        sh_text_puts(text, "\n[crosstalk]\n");
        sh_profile_format_crosstalk(&stream->stream, text);
    }
}

void sh_profile_format(const struct sh_profile *profile, struct sh_text *text)
{
    sh_text_puts(text, "[sensor]\n");
    put_string(text, "name", profile->name);
    put_string(text, "port", profile->port);
    sh_text_printf(text, "baud = %d\n", profile->baud);
    put_string(text, "framing", profile->framing == SH_FRAMING_TEXT ? "text" : "packets");
    put_numbers(text, "latency_s", &profile->clock.latency_s, 1);
    put_numbers(text, "latency_u_s", &profile->clock.latency_u_s, 1);
    for (size_t i = 0; i < profile->n_streams; i++) {
        put_stream(text, &profile->streams[i], profile->framing);
    }
}

/* Formats the profile, and makes sure that it reads as the same one. */
static enum sh_status format_checked(const struct sh_profile *profile,
                                     const char *path,
                                     struct sh_text *text,
                                     struct sh_error *err)
{
    struct sh_text again;
    enum sh_status status = SH_ERR_MEMORY;
    sh_text_init(&again, 0);
    struct sh_profile *read = malloc(sizeof *read);
    sh_profile_format(profile, text);
    if (read == NULL || text->status != SH_OK) {
        (void)sh_error_set(err, status, path, NULL, "out of memory");
        goto out;
    }
    status = sh_profile_parse(text->data, text->n_bytes, path, read, err);
    if (status != SH_OK) {
        goto out;
    }
    sh_profile_format(read, &again);
    if (again.status != SH_OK) {
        status = sh_error_set(err, again.status, path, NULL, "out of memory");
    } else if (strcmp(again.data, text->data) != 0) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, path,
                              "use names without semicolons, equals signs and outer blanks",
                              "the profile cannot be written so that it reads the same");
    }
out:
    sh_text_close(&again);
    free(read);
    return status;
}

static int write_all(int file, const struct sh_text *text)
{
    for (size_t n_done = 0; n_done < text->n_bytes;) {
        ssize_t n = write(file, text->data + n_done, text->n_bytes - n_done);
        if (n < 0 && errno != EINTR) {
            return errno;
        }
        n_done += n > 0 ? (size_t)n : 0;
    }
    return 0;
}

/* Writes and syncs; 0 or an errno. */
static int write_file(const char *path, const struct sh_text *text)
{
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, FILE_MODE);
    if (file < 0) {
        return errno;
    }
    int os_number = write_all(file, text);
    if (os_number == 0 && fsync(file) != 0) {
        os_number = errno;
    }
    if (close(file) != 0 && os_number == 0) {
        os_number = errno;
    }
    return os_number;
}

/* Writes beside the file and puts it in its place; 0 or an errno. */
static int replace_file(const char *beside, const char *path, const struct sh_text *text)
{
    int os_number = write_file(beside, text);
    if (os_number == 0 && rename(beside, path) != 0) {
        os_number = errno;
    }
    if (os_number != 0) {
        (void)unlink(beside);
    }
    return os_number;
}

enum sh_status
sh_profile_format_replace(const char *path, const struct sh_text *text, struct sh_error *err)
{
    struct sh_text beside;
    sh_text_init(&beside, 0);
    sh_text_printf(&beside, "%s.new", path);
    enum sh_status status = beside.status;
    if (status != SH_OK) {
        status = sh_error_set(err, status, path, NULL, "out of memory");
        goto out;
    }
    int os_number = replace_file(beside.data, path, text);
    if (os_number != 0) {
        status = sh_error_set_os(err, os_number, path, "check the folder and the disk",
                                 "cannot write the profile");
    }
out:
    sh_text_close(&beside);
    return status;
}

enum sh_status sh_profile_format_write(const struct sh_profile *profile,
                                       const char *path,
                                       struct sh_error *err)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    enum sh_status status = format_checked(profile, path, &text, err);
    if (status == SH_OK) {
        status = sh_profile_format_replace(path, &text, err);
    }
    sh_text_close(&text);
    return status;
}
