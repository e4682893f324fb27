/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile.h"

#include <errno.h>
#include <ini.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sensor/profile_builder.h"

struct reader {
    const char *name;
    const char *text;
    size_t n_bytes;
    size_t at;
    unsigned line;
    char where[SH_ERROR_WHERE_BYTES]; /* of that line */
    enum sh_status status;
    struct sh_error failure;
    struct sh_profile_builder builder;
};

static enum sh_status fail(struct reader *reader, const char *todo, const char *what)
{
    return sh_error_set(&reader->failure, SH_ERR_FORMAT, reader->where, todo, "%s", what);
}

/* Gives inih the next line, without its indentation (to inih that would go on with a value). */
static char *give_line(char *to, int n_room, void *context)
{
    struct reader *reader = context;
    if (reader->at >= reader->n_bytes || reader->status != SH_OK) {
        return NULL;
    }
    const char *line = reader->text + reader->at;
    const char *end = memchr(line, '\n', reader->n_bytes - reader->at);
    size_t n_line = end != NULL ? (size_t)(end - line) : reader->n_bytes - reader->at;
    reader->at += n_line + (end != NULL ? 1 : 0);
    reader->line++;
    (void)snprintf(reader->where, sizeof reader->where, "%s:%u", reader->name, reader->line);
    while (n_line > 0 && (*line == ' ' || *line == '\t')) {
        line++;
        n_line--;
    }
    if (n_line >= (size_t)n_room) {
        reader->status = fail(reader, "shorten it", "this line is too long");
        return NULL;
    }
    memcpy(to, line, n_line);
    to[n_line] = '\0';
    return to;
}

/* Called by inih for each key. After a failure give_line has no more lines. */
static int take_line(void *context, const char *section, const char *key, const char *value)
{
    struct reader *reader = context;
    const struct sh_profile_line line = {reader->where, key, value, &reader->failure};
    reader->status = sh_profile_builder_push(&reader->builder, section, &line);
    return reader->status == SH_OK;
}

/* A line that inih could not read, unless another line before it was refused. */
static void note_syntax(struct reader *reader, int answer)
{
    if (answer < 0) {
        reader->status =
            sh_error_set(&reader->failure, SH_ERR_MEMORY, reader->name, NULL, "out of memory");
    } else if (answer > 0 && (reader->status == SH_OK || (unsigned)answer < reader->line)) {
        reader->failure = (struct sh_error){.status = SH_OK};
        (void)snprintf(reader->where, sizeof reader->where, "%s:%d", reader->name, answer);
        reader->status =
            fail(reader, "write [section] or key = value", "this line cannot be read");
    }
}

enum sh_status sh_profile_parse(const char *text,
                                size_t n_bytes,
                                const char *name,
                                struct sh_profile *out,
                                struct sh_error *err)
{
    if (memchr(text, '\0', n_bytes) != NULL) {
        return sh_error_set(err, SH_ERR_FORMAT, name, "give a profile", "this is no text");
    }
    struct reader *reader = calloc(1, sizeof *reader);
    if (reader == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, name, NULL, "out of memory");
    }
    reader->name = name;
    reader->text = text;
    reader->n_bytes = n_bytes;
    sh_profile_builder_init(&reader->builder, out, &reader->failure);
    note_syntax(reader, ini_parse_stream(give_line, reader, take_line, reader));
    if (reader->status == SH_OK) {
        reader->status = sh_profile_builder_finish(&reader->builder, name);
    }
    enum sh_status status = reader->status;
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = reader->failure;
    }
    free(reader);
    return status;
}

static enum sh_status
read_text(FILE *file, const char *path, char *text, size_t *n_bytes, struct sh_error *err)
{
    *n_bytes = fread(text, 1, SH_PROFILE_FILE_BYTES + 1, file);
    if (ferror(file) != 0) {
        return sh_error_set_os(err, errno, path, "give a file", "cannot read the profile");
    }
    if (*n_bytes > SH_PROFILE_FILE_BYTES) {
        return sh_error_set(err, SH_ERR_FULL, path, "give a profile", "the file is too long");
    }
    return SH_OK;
}

enum sh_status sh_profile_read(const char *path, struct sh_profile *out, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    size_t n_bytes = 0;
    char *text = NULL;
    FILE *file = fopen(path, "rbe");
    if (file == NULL) {
        return sh_error_set_os(err, errno, path, "check the name", "cannot open the profile");
    }
    text = malloc(SH_PROFILE_FILE_BYTES + 1);
    if (text == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
        goto out;
    }
    status = read_text(file, path, text, &n_bytes, err);
    if (status == SH_OK) {
        status = sh_profile_parse(text, n_bytes, path, out, err);
    }
out:
    free(text);
    (void)fclose(file);
    return status;
}

bool sh_profile_pick_frame(const struct sh_profile *profile,
                           const struct sh_frame *from,
                           struct sh_frame *to)
{
    size_t index = 0;
    while (index < profile->n_streams && profile->streams[index].number != from->stream) {
        index++;
    }
    if (index == profile->n_streams || profile->streams[index].n_columns != from->n_channels) {
        return false;
    }
    const struct sh_profile_stream *stream = &profile->streams[index];
    struct sh_frame picked = {.device_time_us = from->device_time_us,
                              .n_channels = stream->stream.n_channels,
                              .stream = index};
    for (size_t i = 0; i < picked.n_channels; i++) {
        picked.counts[i] = from->counts[stream->column[i]];
    }
    *to = picked;
    return true;
}
