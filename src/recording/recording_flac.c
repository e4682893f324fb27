/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_flac.h"

#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "recording/audio_copy.h"

#define FLAC_ENDING ".flac"
#define BITS_LEAST  16u

static enum sh_status
make_path(const char *folder, const char *file, char path[PATH_MAX], struct sh_error *err)
{
    int n = snprintf(path, PATH_MAX, "%s/%s", folder, file);
    if (n < 0 || n >= PATH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "the path is too long");
    }
    return SH_OK;
}

/* The name of a file with another ending; false where it does not fit. */
static bool make_flac_name(const char *file, char name[SH_SESSION_FILE_BYTES])
{
    const char *dot = strrchr(file, '.');
    size_t n_stem = dot != NULL && dot != file ? (size_t)(dot - file) : strlen(file);
    int n = snprintf(name, SH_SESSION_FILE_BYTES, "%.*s%s", (int)n_stem, file, FLAC_ENDING);
    return n > 0 && (size_t)n < SH_SESSION_FILE_BYTES;
}

/* Copies the file at path into a FLAC file and compares; nothing is left after a failure. */
static enum sh_status copy_stream(const struct sh_stream *stream,
                                  struct sh_audio_reader *reader,
                                  const char *path,
                                  const char *flac_path,
                                  struct sh_error *err)
{
    unsigned bits = sh_audio_reader_bits(reader);
    const struct sh_audio_writer_config config = {SH_AUDIO_FLAC,
                                                  bits < BITS_LEAST ? BITS_LEAST : bits,
                                                  stream->n_channels, stream->rate_hz};
    struct sh_audio_writer *writer = NULL;
    enum sh_status status = sh_audio_writer_open(flac_path, &config, &writer, err);
    if (status != SH_OK) {
        return status;
    }
    status = sh_audio_copy_append(reader, stream->n_channels, writer, err);
    if (status == SH_OK) {
        status = sh_audio_writer_finish(writer, err);
    }
    sh_audio_writer_close(&writer);
    if (status == SH_OK) {
        status =
            sh_audio_copy_compare(path, flac_path, stream->n_channels, stream->rate_hz, err);
    }
    if (status != SH_OK) {
        (void)unlink(flac_path);
    }
    return status;
}

/*
 * Turns one stream; *was_turned: whether there is a FLAC file now, named in stream->file.
 * A stream that FLAC cannot hold, or without frames, is no failure.
 */
static enum sh_status convert_stream(const char *folder,
                                     struct sh_session_stream *stream,
                                     bool *was_turned,
                                     struct sh_error *err)
{
    char path[PATH_MAX];
    char flac_path[PATH_MAX];
    char name[SH_SESSION_FILE_BYTES];
    struct sh_audio_reader *reader = NULL;
    struct sh_error problem = {0};
    enum sh_status status = make_path(folder, stream->file, path, &problem);
    if (status == SH_OK) {
        status = sh_audio_reader_open(path, stream->stream.n_channels, stream->stream.rate_hz,
                                      &reader, &problem);
    }
    bool is_able = status == SH_OK && !sh_audio_reader_is_flac(reader) &&
                   !sh_audio_reader_is_physical(reader) && make_flac_name(stream->file, name);
    if (is_able) {
        status = make_path(folder, name, flac_path, &problem);
    }
    if (is_able && status == SH_OK) {
        status = copy_stream(&stream->stream, reader, path, flac_path, &problem);
        *was_turned = status == SH_OK;
    }
    sh_audio_reader_close(&reader);
    if (*was_turned) {
        memcpy(stream->file, name, sizeof name);
    }
    if (status == SH_ERR_SHORT || status == SH_ERR_UNSUPPORTED) {
        status = SH_OK;
    }
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = problem;
    }
    return status;
}

/* Removes the files named, of the streams that were turned. What cannot be removed lies idle.
 */
static void
remove_files(const char *folder, char (*files)[SH_SESSION_FILE_BYTES], const bool *was_turned)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        char path[PATH_MAX];
        if (was_turned[i] && make_path(folder, files[i], path, NULL) == SH_OK) {
            (void)unlink(path);
        }
    }
}

enum sh_status sh_recording_flac_convert(const char *folder,
                                         struct sh_session *session,
                                         const struct sh_session_json *kept,
                                         struct sh_error *err)
{
    char old_files[SH_STREAMS_MAX][SH_SESSION_FILE_BYTES] = {{0}};
    char new_files[SH_STREAMS_MAX][SH_SESSION_FILE_BYTES] = {{0}};
    bool was_turned[SH_STREAMS_MAX] = {false};
    bool is_complete = false;
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < session->n_streams && status == SH_OK; i++) {
        struct sh_session_stream *stream = &session->streams[i];
        memcpy(old_files[i], stream->file, sizeof old_files[i]);
        status = convert_stream(folder, stream, &was_turned[i], err);
        memcpy(new_files[i], stream->file, sizeof new_files[i]);
    }
    if (status == SH_OK) {
        is_complete = true;
        status = sh_session_json_write(folder, session, kept, err);
    }
    if (status == SH_OK) {
        remove_files(folder, old_files, was_turned);
        return SH_OK;
    }
    for (size_t i = 0; i < session->n_streams; i++) {
        if (was_turned[i]) {
            memcpy(session->streams[i].file, old_files[i], sizeof old_files[i]);
        }
    }
    /* A recording.json that could not be synced may name either: then both sets stay. */
    if (!is_complete) {
        remove_files(folder, new_files, was_turned);
    }
    return status;
}
