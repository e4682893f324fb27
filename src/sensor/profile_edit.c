/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_edit.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sensor/profile_format.h"

#define BLANKS " \t\r"

enum section { SECTION_OTHER, SECTION_COLUMN, SECTION_CROSSTALK };

struct editor {
    const struct sh_profile *profile;
    const struct sh_profile *before;
    struct sh_text *text;
    size_t n_streams_seen;
    enum section section;
    size_t column;              /* from 0, of the section */
    bool is_changed;            /* the section's lines are to be replaced */
    bool has_new;               /* its new lines stand */
    bool has_crosstalk_section; /* of the stream */
};

static const struct sh_profile_stream *get_stream(const struct editor *editor,
                                                  const struct sh_profile *profile)
{
    return &profile->streams[editor->n_streams_seen - 1];
}

static const struct sh_channel *find_channel(const struct editor *editor,
                                             const struct sh_profile *profile)
{
    const struct sh_profile_stream *stream = get_stream(editor, profile);
    for (size_t i = 0; i < stream->stream.n_channels; i++) {
        if (stream->column[i] == editor->column) {
            return &stream->stream.channel[i];
        }
    }
    return NULL;
}

/* Both written down, and the same? */
static bool is_same(const struct sh_text *a, const struct sh_text *b)
{
    return a->status == SH_OK && b->status == SH_OK && a->n_bytes == b->n_bytes &&
           (a->n_bytes == 0 || memcmp(a->data, b->data, a->n_bytes) == 0);
}

static void
put_new(const struct editor *editor, const struct sh_profile *profile, struct sh_text *text)
{
    if (editor->section == SECTION_CROSSTALK) {
        if (get_stream(editor, profile)->stream.has_crosstalk) {
            sh_profile_format_crosstalk(&get_stream(editor, profile)->stream, text);
        }
        return;
    }
    const struct sh_channel *channel = find_channel(editor, profile);
    if (channel != NULL) {
        sh_profile_format_calibration(channel, text);
    }
}

/* True where the section's lines differ between what was and what is to be. */
static bool find_changed(const struct editor *editor)
{
    struct sh_text was;
    struct sh_text wanted;
    sh_text_init(&was, 0);
    sh_text_init(&wanted, 0);
    put_new(editor, editor->before, &was);
    put_new(editor, editor->profile, &wanted);
    const bool is_changed = !is_same(&was, &wanted);
    sh_text_close(&was);
    sh_text_close(&wanted);
    return is_changed;
}

/* A stream that had no crosstalk gets its section where it ends. */
static void end_stream(struct editor *editor)
{
    if (editor->n_streams_seen == 0 || editor->has_crosstalk_section ||
        !get_stream(editor, editor->profile)->stream.has_crosstalk) {
        return;
    }
    const struct sh_text *text = editor->text;
    const bool is_line_open = text->n_bytes > 0 && text->data[text->n_bytes - 1] != '\n';
    sh_text_puts(editor->text, is_line_open ? "\n\n[crosstalk]\n" : "\n[crosstalk]\n");
    sh_profile_format_crosstalk(&get_stream(editor, editor->profile)->stream, editor->text);
    sh_text_puts(editor->text, "\n");
}

/* New lines of a section in which no old one stood. */
static void end_section(struct editor *editor)
{
    if (editor->section != SECTION_OTHER && editor->is_changed && !editor->has_new) {
        put_new(editor, editor->profile, editor->text);
    }
}

static void begin_section(struct editor *editor, const char *line)
{
    end_section(editor);
    editor->section = SECTION_OTHER;
    editor->is_changed = false;
    editor->has_new = false;
    if (strncmp(line, "[stream ", 8) == 0) {
        end_stream(editor);
        editor->n_streams_seen++;
        editor->has_crosstalk_section = false;
    } else if (strncmp(line, "[column ", 8) == 0) {
        editor->section = SECTION_COLUMN;
        editor->column = (size_t)strtoul(line + 8, NULL, 10) - 1;
        editor->is_changed = find_changed(editor);
    } else if (strncmp(line, "[crosstalk]", 11) == 0) {
        editor->section = SECTION_CROSSTALK;
        editor->has_crosstalk_section = true;
        editor->is_changed = find_changed(editor);
    }
}

/* A key that the section's new lines may hold. */
static bool is_settled(enum section section, const char *line)
{
    static const char *const keys[] = {
        "scale",       "scale_u", "zero",  "zero_u",           "quadratic",
        "quadratic_u", "point",   "noise", "load_drift_ratio", "load_drift_time_s",
        "calibrated"};
    const size_t n_key = strcspn(line, BLANKS "=:");
    if (section == SECTION_CROSSTALK) {
        return n_key == 3 && strncmp(line, "row", 3) == 0;
    }
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        if (strlen(keys[i]) == n_key && strncmp(line, keys[i], n_key) == 0) {
            return true;
        }
    }
    return false;
}

/* What stands behind " ;" of a line that goes. */
static void keep_comment(struct editor *editor, const char *line, size_t n_line)
{
    size_t i = 1;
    while (i < n_line && (line[i] != ';' || strchr(BLANKS, line[i - 1]) == NULL)) {
        i++;
    }
    if (i < n_line) {
        sh_text_write(editor->text, line + i, n_line - i);
        sh_text_puts(editor->text, line[n_line - 1] != '\n' ? "\n" : "");
    }
}

/* One line with its end; line is followed by more text or a NUL. */
static void take_line(struct editor *editor, const char *line, size_t n_line)
{
    const char *word = line + strspn(line, BLANKS);
    if (*word == '[') {
        begin_section(editor, word);
    }
    if (!editor->is_changed || !is_settled(editor->section, word)) {
        sh_text_write(editor->text, line, n_line);
        return;
    }
    keep_comment(editor, line, n_line);
    if (!editor->has_new) {
        put_new(editor, editor->profile, editor->text);
        editor->has_new = true;
    }
}

/* The result has to read as profile. */
static enum sh_status check(const struct editor *editor, const char *name, struct sh_error *err)
{
    struct sh_text wanted;
    struct sh_text got;
    sh_text_init(&wanted, 0);
    sh_text_init(&got, 0);
    enum sh_status status = SH_ERR_MEMORY;
    struct sh_profile *read = malloc(sizeof *read);
    if (read == NULL || editor->text->status != SH_OK) {
        (void)sh_error_set(err, status, name, NULL, "out of memory");
        goto out;
    }
    status = sh_profile_parse(editor->text->data, editor->text->n_bytes, name, read, err);
    if (status != SH_OK) {
        goto out;
    }
    sh_profile_format(editor->profile, &wanted);
    sh_profile_format(read, &got);
    if (wanted.status != SH_OK || got.status != SH_OK) {
        status = sh_error_set(err, SH_ERR_MEMORY, name, NULL, "out of memory");
    } else if (!is_same(&wanted, &got)) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, name, "calibrate again with this profile",
                              "the profile has changed in more than its calibration");
    }
out:
    sh_text_close(&got);
    sh_text_close(&wanted);
    free(read);
    return status;
}

enum sh_status sh_profile_edit_format(const char *old,
                                      size_t n_bytes,
                                      const char *name,
                                      const struct sh_profile *profile,
                                      struct sh_text *text,
                                      struct sh_error *err)
{
    struct sh_profile *before = malloc(sizeof *before);
    char *copy = malloc(n_bytes + 1); /* ends in NUL */
    enum sh_status status = SH_ERR_MEMORY;
    if (before == NULL || copy == NULL) {
        (void)sh_error_set(err, status, name, NULL, "out of memory");
        goto out;
    }
    memcpy(copy, old, n_bytes);
    copy[n_bytes] = '\0';
    status = sh_profile_parse(old, n_bytes, name, before, err);
    if (status != SH_OK) {
        goto out;
    }
    if (before->n_streams != profile->n_streams) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, name, "calibrate again with this profile",
                              "the profile has other streams now");
        goto out;
    }
    struct editor editor = {.profile = profile, .before = before, .text = text};
    for (size_t at = 0; at < n_bytes;) {
        const char *end = memchr(copy + at, '\n', n_bytes - at);
        const size_t n_line = end != NULL ? (size_t)(end - copy) + 1 - at : n_bytes - at;
        take_line(&editor, copy + at, n_line);
        at += n_line;
    }
    if (n_bytes > 0 && copy[n_bytes - 1] != '\n') {
        sh_text_puts(text, "\n");
    }
    end_section(&editor);
    end_stream(&editor);
    status = check(&editor, name, err);
out:
    free(copy);
    free(before);
    return status;
}

static enum sh_status read_file(const char *path, struct sh_text *text, struct sh_error *err)
{
    char bytes[4096];
    size_t n = 0;
    FILE *file = fopen(path, "rbe");
    if (file == NULL) {
        return sh_error_set_os(err, errno, path, "check the name", "cannot open the profile");
    }
    while ((n = fread(bytes, 1, sizeof bytes, file)) > 0) {
        sh_text_write(text, bytes, n);
    }
    const bool has_failed = ferror(file) != 0;
    (void)fclose(file);
    if (has_failed) {
        return sh_error_set(err, SH_ERR_IO, path, "give a file", "cannot read the profile");
    }
    return text->status == SH_OK ? SH_OK
                                 : sh_error_set(err, text->status, path, "give a profile",
                                                "the file is too long");
}

/* The first of path.1, path.2, ... that is not there. */
static enum sh_status
find_backup(const char *path, struct sh_text *backup, struct sh_error *err)
{
    const size_t n_before = backup->n_bytes;
    for (unsigned i = 1; i <= SH_PROFILE_EDIT_BACKUPS_MAX && backup->status == SH_OK; i++) {
        backup->n_bytes = n_before;
        sh_text_printf(backup, "%s.%u", path, i);
        if (backup->status == SH_OK && access(backup->data + n_before, F_OK) != 0) {
            return SH_OK;
        }
    }
    if (backup->status != SH_OK) {
        return sh_error_set(err, backup->status, path, NULL, "out of memory");
    }
    return sh_error_set(err, SH_ERR_FULL, path, "remove some of its old copies",
                        "there are %u old copies beside the profile already",
                        SH_PROFILE_EDIT_BACKUPS_MAX);
}

enum sh_status sh_profile_edit_write(const struct sh_profile *profile,
                                     const char *path,
                                     struct sh_text *backup,
                                     struct sh_error *err)
{
    struct sh_text old;
    struct sh_text text;
    const size_t n_before = backup->n_bytes;
    sh_text_init(&old, SH_PROFILE_FILE_BYTES);
    sh_text_init(&text, 0);
    enum sh_status status = read_file(path, &old, err);
    if (status == SH_OK) {
        status = sh_profile_edit_format(old.data != NULL ? old.data : "", old.n_bytes, path,
                                        profile, &text, err);
    }
    if (status == SH_OK) {
        status = find_backup(path, backup, err);
    }
    if (status == SH_OK) {
        status = sh_profile_format_replace(backup->data + n_before, &old, err);
    }
    if (status == SH_OK) {
        status = sh_profile_format_replace(path, &text, err);
    }
    sh_text_close(&text);
    sh_text_close(&old);
    return status;
}
