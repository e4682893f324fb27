/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/mark_json.h"
#include "recording/recording_writer_inside.h"

/* Whether recording.json can hold the mark: tried on its own. */
static enum sh_status check_mark(const struct sh_recording_writer *writer,
                                 const struct sh_mark *mark,
                                 struct sh_error *err)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *object = json_object();
    sh_mark_json_format(&put, object, mark);
    json_decref(object);
    if (put.status != SH_OK) {
        return sh_error_set(err, put.status, writer->folder, NULL, "a mark has no such %s: %s",
                            put.key, sh_status_text(put.status));
    }
    return SH_OK;
}

/* The session has changed. */
static enum sh_status rewrite(struct sh_recording_writer *writer, struct sh_error *err)
{
    writer->is_dirty = true;
    return writer->config.is_synced ? sh_recording_writer_rewrite(writer, err) : SH_OK;
}

enum sh_status sh_recording_writer_add_mark(struct sh_recording_writer *writer,
                                            const struct sh_mark *mark,
                                            struct sh_error *err)
{
    struct sh_mark fresh = *mark;
    fresh.kept = 0;
    enum sh_status status = sh_recording_writer_check_runs(writer, err);
    status = status == SH_OK ? check_mark(writer, &fresh, err) : status;
    if (status != SH_OK) {
        return status;
    }
    status = sh_session_add_mark(&writer->session, &fresh);
    if (status != SH_OK) {
        return sh_error_set(err, status, writer->folder, NULL, "a mark cannot be listed: %s",
                            sh_status_text(status));
    }
    return rewrite(writer, err);
}

enum sh_status sh_recording_writer_remove_mark(struct sh_recording_writer *writer,
                                               size_t index,
                                               struct sh_error *err)
{
    enum sh_status status = sh_recording_writer_check_runs(writer, err);
    if (status != SH_OK) {
        return status;
    }
    status = sh_session_remove_mark(&writer->session, index);
    return status == SH_OK ? rewrite(writer, err)
                           : sh_error_set(err, status, writer->folder, NULL,
                                          "there is no mark %zu to remove", index);
}

/* Whether recording.json can hold the tag: tried on its own. */
static enum sh_status check_tag(const struct sh_recording_writer *writer,
                                const struct sh_tag *tag,
                                struct sh_error *err)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *object = json_object();
    sh_json_put_text(&put, object, "key", tag->key);
    sh_json_put_text(&put, object, "value", tag->value);
    json_decref(object);
    return put.status == SH_OK
               ? SH_OK
               : sh_error_set(err, put.status, writer->folder, NULL, "a tag has no such %s: %s",
                              put.key, sh_status_text(put.status));
}

enum sh_status sh_recording_writer_set_tag(struct sh_recording_writer *writer,
                                           const struct sh_tag *tag,
                                           struct sh_error *err)
{
    enum sh_status status = sh_recording_writer_check_runs(writer, err);
    status = status == SH_OK ? check_tag(writer, tag, err) : status;
    if (status != SH_OK) {
        return status;
    }
    status = sh_session_set_tag(&writer->session, tag);
    return status == SH_OK ? rewrite(writer, err)
                           : sh_error_set(err, status, writer->folder, NULL,
                                          "the tag cannot be set: %s", sh_status_text(status));
}

enum sh_status sh_recording_writer_set_counts(struct sh_recording_writer *writer,
                                              size_t stream,
                                              const struct sh_frame_counts *counts)
{
    if (stream >= writer->session.n_streams || writer->is_finished) {
        return SH_ERR_ARGUMENT;
    }
    writer->session.streams[stream].frames = *counts;
    writer->is_dirty = true;
    return SH_OK;
}
