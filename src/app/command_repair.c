/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <inttypes.h>
#include <limits.h>
#include <stdio.h>

#include "app/commands.h"
#include "app/say.h"
#include "recording/atomic_file.h"
#include "recording/file_text.h"
#include "recording/folder_lock.h"
#include "recording/recording_reader.h"
#include "recording/session_json.h"
#include "recording/wave_repair.h"

#define NEW_ENDING     ".new"     /* of sh_atomic_file_write */
#define DAMAGED_ENDING ".damaged" /* what could not be read is kept under this name */

/* A repair on its way: what was done goes into text. */
struct job {
    const char *folder;
    struct sh_session session;
    struct sh_text text;
};

static enum sh_status make_path(const struct job *job,
                                const char *name,
                                const char *ending,
                                char path[PATH_MAX],
                                struct sh_error *err)
{
    int n = snprintf(path, PATH_MAX, "%s/%s%s", job->folder, name, ending);
    if (n < 0 || n >= PATH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, job->folder, NULL, "the path is too long");
    }
    return SH_OK;
}

/* The session that a rewrite was cut off from putting in its place. */
static enum sh_status read_new(struct job *job, const char *path)
{
    struct sh_text text;
    sh_text_init(&text, SH_SESSION_JSON_BYTES_MAX);
    enum sh_status status = sh_file_text_read(path, NULL, &text, NULL);
    if (status == SH_OK) {
        status = sh_session_json_parse(text.data != NULL ? text.data : "", text.n_bytes, path,
                                       &job->session, NULL, NULL);
    }
    sh_text_close(&text);
    return status;
}

/* Puts the new text in the place of one that cannot be read, which is kept. */
static enum sh_status replace_json(struct job *job, const char *from, struct sh_error *err)
{
    char path[PATH_MAX];
    char damaged[PATH_MAX];
    enum sh_status status = make_path(job, SH_SESSION_JSON_FILE, "", path, err);
    if (status == SH_OK) {
        status = make_path(job, SH_SESSION_JSON_FILE, DAMAGED_ENDING, damaged, err);
    }
    if (status != SH_OK) {
        return status;
    }
    if ((rename(path, damaged) != 0 && errno != ENOENT) || rename(from, path) != 0) {
        return sh_error_set_os(err, errno, path, NULL, "the file cannot be replaced");
    }
    sh_text_puts(
        &job->text, SH_SESSION_JSON_FILE
        ": could not be read; taken from the rewrite that was cut off (" SH_SESSION_JSON_FILE
            NEW_ENDING ")\n");
    return sh_atomic_file_sync_folder(path, err);
}

/* recording.json, or what stands ready to take its place. */
static enum sh_status repair_json(struct job *job, struct sh_error *err)
{
    char path[PATH_MAX];
    struct sh_error first = {0};
    enum sh_status status = make_path(job, SH_SESSION_JSON_FILE, NEW_ENDING, path, err);
    if (status != SH_OK) {
        return status;
    }
    status = sh_session_json_read(job->folder, &job->session, NULL, &first);
    if (status != SH_OK && read_new(job, path) == SH_OK) {
        return replace_json(job, path, err);
    }
    if (status != SH_OK) {
        *err = first;
    }
    return status;
}

static void say_stream(struct job *job, const char *file, const struct sh_wave_repair *repair)
{
    if (repair->answer != SH_WAVE_REPAIR_DONE) {
        return;
    }
    sh_text_printf(&job->text,
                   "%s: %" PRIu64 " frames are there, the header counted %" PRIu64
                   "; it counts them all now\n",
                   file, repair->now_frames, repair->before_frames);
}

static enum sh_status repair_streams(struct job *job, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < job->session.n_streams && status == SH_OK; i++) {
        char path[PATH_MAX];
        struct sh_wave_repair repair;
        const char *file = job->session.streams[i].file;
        status = make_path(job, file, "", path, err);
        if (status == SH_OK) {
            status = sh_wave_repair_run(path, &repair, err);
        }
        if (status == SH_OK) {
            say_stream(job, file, &repair);
        }
    }
    return status;
}

/* What was repaired must be readable now. */
static enum sh_status check(const struct job *job, struct sh_error *err)
{
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    struct sh_recording_reader *reader = NULL;
    enum sh_status status = sh_recording_reader_open(job->folder, &config, &reader, err);
    sh_recording_reader_close(&reader);
    return status;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct job job = {.folder = line->operands[0]};
    struct sh_error err = {0};
    int lock = SH_FOLDER_LOCK_NONE;
    (void)command;
    sh_text_init(&job.text, 0);
    enum sh_status status = sh_folder_lock_take(job.folder, &lock, &err);
    if (status == SH_OK) {
        status = repair_json(&job, &err);
    }
    if (status == SH_OK) {
        status = repair_streams(&job, &err);
    }
    if (status == SH_OK) {
        status = check(&job, &err);
    }
    sh_folder_lock_drop(&lock);
    sh_session_close(&job.session);
    if (status == SH_OK && job.text.n_bytes == 0) {
        sh_text_puts(&job.text, "nothing to repair\n");
    }
    enum sh_exit answer = sh_say_text(&job.text);
    return status == SH_OK ? answer : sh_say_error(&err, SH_EXIT_INPUT);
}

const struct sh_command sh_command_repair = {
    .name = "repair",
    .operands = "RECORDING",
    .summary = "Mend what a kill or a cut copy left of a recording; no sample is changed.",
    .details =
        "Audio files whose header does not count the samples that are there are set right\n"
        "(WAV, RF64, W64). A recording.json that cannot be read is replaced by the rewrite\n"
        "that was cut off, where that is whole; what was there is kept as\n"
        "recording.json.damaged. Samples behind the last second that was made safe may lack\n"
        "an entry in gaps.",
    .n_operands_min = 1,
    .n_operands_max = 1,
    .run = run,
};
