/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_writer.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/atomic_file.h"
#include "recording/folder_lock.h"
#include "recording/recording_flac.h"
#include "recording/recording_writer_inside.h"
#include "recording/stream_format.h"

#define DAY_S 86400.0

struct sh_recording_writer_config sh_recording_writer_config_default(void)
{
    return (struct sh_recording_writer_config){.is_synced = true, .longest_s = DAY_S};
}

const struct sh_session *sh_recording_writer_session(const struct sh_recording_writer *writer)
{
    return &writer->session;
}

void sh_recording_writer_close(struct sh_recording_writer **writer)
{
    if (writer == NULL || *writer == NULL) {
        return;
    }
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        sh_stream_file_close(&(*writer)->files[i]);
    }
    sh_session_close(&(*writer)->session);
    sh_folder_lock_drop(&(*writer)->lock);
    free(*writer);
    *writer = NULL;
}

static enum sh_status make_path(const struct sh_recording_writer *writer,
                                const char *file,
                                char path[PATH_MAX],
                                struct sh_error *err)
{
    int n = snprintf(path, PATH_MAX, "%s/%s", writer->folder, file);
    if (n < 0 || n >= PATH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, writer->folder, NULL, "the path is too long");
    }
    return SH_OK;
}

enum sh_status sh_recording_writer_check_runs(const struct sh_recording_writer *writer,
                                              struct sh_error *err)
{
    return writer->is_finished ? sh_error_set(err, SH_ERR_ARGUMENT, writer->folder, NULL,
                                              "the recording has ended")
                               : SH_OK;
}

enum sh_status sh_recording_writer_rewrite(struct sh_recording_writer *writer,
                                           struct sh_error *err)
{
    writer->is_dirty = true;
    enum sh_status status =
        sh_session_json_write(writer->folder, &writer->session, writer->config.kept, err);
    writer->is_dirty = status != SH_OK;
    return status;
}

static enum sh_status
check_session(const char *folder, const struct sh_session *session, struct sh_error *err)
{
    if (session->n_streams < 1 || session->n_streams > SH_STREAMS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "a recording of %zu streams",
                            session->n_streams);
    }
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_session_stream *stream = &session->streams[i];
        if (stream->timebase.n_anchors > 0 || stream->n_gaps > 0) {
            return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL,
                                "stream %zu has anchors or gaps before its first frame", i);
        }
    }
    return SH_OK;
}

static enum sh_status
open_file(struct sh_recording_writer *writer, size_t i, struct sh_error *err)
{
    struct sh_session_stream *stream = &writer->session.streams[i];
    struct sh_audio_writer_config config;
    char path[PATH_MAX];
    if (!sh_stream_format_choose(&stream->stream, writer->config.longest_s, &config)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, writer->folder, NULL,
                            "stream %zu has channels of counts beside channels of values", i);
    }
    sh_stream_format_name(&writer->session, i);
    enum sh_status status = make_path(writer, stream->file, path, err);
    if (status == SH_OK) {
        status = sh_stream_file_open(path, &config, writer->config.longest_s, &writer->files[i],
                                     err);
    }
    if (status == SH_OK &&
        sh_timebase_init(&stream->timebase, stream->stream.rate_hz, stream->stream.offset_s,
                         stream->stream.offset_u_s) != SH_OK) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, path, NULL, "the stream has no such clock");
    }
    return status;
}

/* Removes what open has made, the folder included. */
static void remove_all(struct sh_recording_writer *writer)
{
    char path[PATH_MAX];
    for (size_t i = 0; i < writer->session.n_streams; i++) {
        const char *file = writer->session.streams[i].file;
        if (writer->files[i] != NULL && make_path(writer, file, path, NULL) == SH_OK) {
            (void)unlink(path);
        }
    }
    if (make_path(writer, SH_SESSION_JSON_FILE, path, NULL) == SH_OK) {
        (void)unlink(path);
    }
    (void)rmdir(writer->folder);
}

/* Fills a folder that has just been made. */
static enum sh_status fill_folder(struct sh_recording_writer *writer, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < writer->session.n_streams && status == SH_OK; i++) {
        status = open_file(writer, i, err);
    }
    if (status == SH_OK) {
        status = sh_recording_writer_rewrite(writer, err);
    }
    if (status == SH_OK) {
        status = sh_atomic_file_sync_folder(writer->folder, err);
    }
    return status;
}

enum sh_status sh_recording_writer_open(const char *folder,
                                        const struct sh_session *session,
                                        const struct sh_recording_writer_config *config,
                                        struct sh_recording_writer **out,
                                        struct sh_error *err)
{
    enum sh_status status = check_session(folder, session, err);
    if (status != SH_OK) {
        return status;
    }
    if (!(config->longest_s > 0.0)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "a recording of %g s",
                            config->longest_s);
    }
    struct sh_recording_writer *writer = calloc(1, sizeof *writer);
    if (writer == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "out of memory");
    }
    writer->config = *config;
    writer->lock = SH_FOLDER_LOCK_NONE;
    int n = snprintf(writer->folder, sizeof writer->folder, "%s", folder);
    if (n < 0 || (size_t)n >= sizeof writer->folder) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "the path is too long");
        goto out;
    }
    status = sh_session_copy(session, &writer->session);
    if (status != SH_OK) {
        status = sh_error_set(err, status, folder, NULL, "%s", sh_status_text(status));
        goto out;
    }
    for (size_t i = 0; i < writer->session.n_marks && config->kept == NULL; i++) {
        writer->session.marks[i].kept = 0;
    }
    if (mkdir(folder, 0777) != 0) {
        status = sh_error_set_os(err, errno, folder, "give a name that is not taken",
                                 "the folder cannot be made");
        goto out;
    }
    status = sh_folder_lock_take(folder, &writer->lock, err);
    if (status == SH_OK) {
        status = fill_folder(writer, err);
    }
    if (status != SH_OK) {
        remove_all(writer);
    }
out:
    if (status == SH_OK) {
        *out = writer;
    } else {
        sh_recording_writer_close(&writer);
    }
    return status;
}

static enum sh_status check_block(const struct sh_recording_writer *writer,
                                  const struct sh_block *block,
                                  struct sh_error *err)
{
    if (writer->is_finished || block->stream >= writer->session.n_streams) {
        return sh_error_set(err, SH_ERR_ARGUMENT, writer->folder, NULL, "%s",
                            writer->is_finished ? "the recording has ended"
                                                : "a block of a stream that is not there");
    }
    size_t n_channels = writer->session.streams[block->stream].stream.n_channels;
    if (block->n_channels != n_channels ||
        block->first_frame != sh_stream_file_n_frames(writer->files[block->stream])) {
        return sh_error_set(err, SH_ERR_ARGUMENT, writer->folder, NULL,
                            "a block of stream %zu does not follow the one before it",
                            block->stream);
    }
    return SH_OK;
}

/* Lists a filled block, before its samples are written. */
static enum sh_status
add_gap(struct sh_recording_writer *writer, const struct sh_block *block, struct sh_error *err)
{
    const struct sh_gap gap = {block->first_frame, block->n_frames};
    enum sh_status status = sh_session_add_gap(&writer->session, block->stream, &gap);
    if (status != SH_OK) {
        return sh_error_set(err, status, writer->folder, NULL, "a gap cannot be listed: %s",
                            sh_status_text(status));
    }
    writer->is_dirty = true;
    return SH_OK;
}

/* recording.json first: a gap is known before its samples are. */
static enum sh_status
sync_stream(struct sh_recording_writer *writer, size_t i, struct sh_error *err)
{
    enum sh_status status = writer->is_dirty ? sh_recording_writer_rewrite(writer, err) : SH_OK;
    return status == SH_OK ? sh_stream_file_sync(writer->files[i], err) : status;
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_recording_writer *writer = context;
    enum sh_status status = check_block(writer, block, err);
    if (status != SH_OK || block->n_frames == 0) {
        return status;
    }
    struct sh_stream_file *file = writer->files[block->stream];
    status = sh_stream_file_check(file, block->raw, block->n_frames, err);
    if (status == SH_OK && block->is_filled) {
        status = add_gap(writer, block, err);
    }
    if (status == SH_OK) {
        status = sh_stream_file_write(file, block->raw, block->n_frames, err);
    }
    if (status == SH_OK && writer->config.is_synced && sh_stream_file_is_due(file)) {
        status = sync_stream(writer, block->stream, err);
    }
    return status;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct sh_recording_writer *writer = context;
    if (writer->is_finished || stream >= writer->session.n_streams ||
        anchor->frame < sh_stream_file_n_frames(writer->files[stream])) {
        return sh_error_set(err, SH_ERR_ARGUMENT, writer->folder, NULL,
                            "an anchor comes too late, or for a stream that is not there");
    }
    enum sh_status status =
        sh_timebase_append(&writer->session.streams[stream].timebase, anchor);
    if (status != SH_OK) {
        return sh_error_set(err, status, writer->folder, NULL,
                            "an anchor of stream %zu cannot be listed: %s", stream,
                            sh_status_text(status));
    }
    writer->is_dirty = true;
    return writer->config.is_synced ? sh_recording_writer_rewrite(writer, err) : SH_OK;
}

struct sh_block_sink sh_recording_writer_sink(struct sh_recording_writer *writer)
{
    return (struct sh_block_sink){take_block, take_anchor, writer};
}

enum sh_status sh_recording_writer_finish(struct sh_recording_writer *writer,
                                          bool to_flac,
                                          struct sh_error *err)
{
    enum sh_status first = sh_recording_writer_check_runs(writer, err);
    if (first != SH_OK) {
        return first;
    }
    writer->is_finished = true;
    for (size_t i = 0; i < writer->session.n_streams; i++) {
        enum sh_status status = sh_stream_file_finish(writer->files[i], err);
        first = first == SH_OK ? status : first;
    }
    enum sh_status status = sh_recording_writer_rewrite(writer, err);
    first = first == SH_OK ? status : first;
    if (first == SH_OK && to_flac) {
        first = sh_recording_flac_convert(writer->folder, &writer->session, writer->config.kept,
                                          err);
    }
    return first;
}
