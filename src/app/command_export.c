/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "app/commands.h"
#include "app/sample_csv.h"
#include "app/say.h"

static const struct sh_command_option options[] = {
    {"out", "FOLDER", "a file NAME.csv for each stream, in this folder", 'o'},
    {"stream", "NAME", "this stream alone; to standard output without --out", 0},
};

/* Where the streams go. */
struct target {
    const char *folder; /* NULL: standard output */
    const char *wanted; /* NULL: all streams */
    const struct sh_session *session;
    FILE *files[SH_STREAMS_MAX];
    char paths[SH_STREAMS_MAX][PATH_MAX];
};

static bool is_wanted(const struct target *target, size_t i)
{
    return target->wanted == NULL ||
           strcmp(target->session->streams[i].stream.name, target->wanted) == 0;
}

static size_t count_wanted(const struct target *target)
{
    size_t n = 0;
    for (size_t i = 0; i < target->session->n_streams; i++) {
        n += is_wanted(target, i) ? 1 : 0;
    }
    return n;
}

static enum sh_status
check_wanted(const struct target *target, const char *recording, struct sh_error *err)
{
    size_t n = count_wanted(target);
    if (n == 0) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, recording,
                            "take a stream's name of recording.json", "there is no stream '%s'",
                            target->wanted);
    }
    if (n > 1 && target->folder == NULL) {
        return sh_error_set(err, SH_ERR_ARGUMENT, recording,
                            "give --out FOLDER, or one of them with --stream",
                            "there are %zu streams, and one standard output", n);
    }
    return SH_OK;
}

/* The audio file's name with another ending: it is known to be one of a file. */
static enum sh_status open_file(struct target *target, size_t i, struct sh_error *err)
{
    const char *name = target->session->streams[i].file;
    const char *dot = strrchr(name, '.');
    int n_stem = (int)(dot != NULL && dot != name ? (size_t)(dot - name) : strlen(name));
    int n = snprintf(target->paths[i], PATH_MAX, "%s/%.*s.csv", target->folder, n_stem, name);
    if (n < 0 || n >= PATH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, target->folder, NULL, "the path is too long");
    }
    target->files[i] = fopen(target->paths[i], "wxe");
    return target->files[i] != NULL
               ? SH_OK
               : sh_error_set_os(err, errno, target->paths[i], "export into a new folder",
                                 "the file cannot be made");
}

static enum sh_status open_files(struct target *target, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (target->folder != NULL && mkdir(target->folder, 0777) != 0 && errno != EEXIST) {
        return sh_error_set_os(err, errno, target->folder, NULL, "the folder cannot be made");
    }
    for (size_t i = 0; i < target->session->n_streams && status == SH_OK; i++) {
        if (is_wanted(target, i) && target->folder == NULL) {
            target->files[i] = stdout;
        } else if (is_wanted(target, i)) {
            status = open_file(target, i, err);
        }
    }
    return status;
}

/* Completes the files; after a failure those that were made are removed. */
static enum sh_status
close_files(struct target *target, enum sh_status status, struct sh_error *err)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        bool is_own = target->files[i] != NULL && target->files[i] != stdout;
        int failed = 0;
        if (target->files[i] != NULL) {
            failed = is_own ? fclose(target->files[i]) : fflush(stdout);
        }
        if (failed != 0 && status == SH_OK) {
            status = sh_error_set_os(err, errno, is_own ? target->paths[i] : "standard output",
                                     NULL, "cannot write");
        }
    }
    for (size_t i = 0; i < SH_STREAMS_MAX && status != SH_OK; i++) {
        if (target->files[i] != NULL && target->folder != NULL) {
            (void)unlink(target->paths[i]);
        }
    }
    return status;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    static struct target target;
    const char *recording = line->operands[0];
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    struct sh_recording_reader *reader = NULL;
    struct sh_error err = {0};
    target = (struct target){.folder = sh_command_get(command, line, "out", NULL),
                             .wanted = sh_command_get(command, line, "stream", NULL)};
    enum sh_status status = sh_recording_reader_open(recording, &config, &reader, &err);
    if (status != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    target.session = sh_recording_reader_session(reader);
    status = check_wanted(&target, recording, &err);
    if (status == SH_OK) {
        status = open_files(&target, &err);
    }
    if (status == SH_OK) {
        status = sh_sample_csv_write(reader, target.files, &err);
    }
    status = close_files(&target, status, &err);
    sh_recording_reader_close(&reader);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

const struct sh_command sh_command_export = {
    .name = "export",
    .operands = "RECORDING",
    .summary = "Write a recording's samples as CSV, in physical units, with their time.",
    .details = "Columns: time_s on the recording's clock, then each channel in its unit, then\n"
               "lost: 1 where samples were lost and the last value stands in for them. A file\n"
               "that is there already is never overwritten.",
    .n_operands_min = 1,
    .n_operands_max = 1,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
