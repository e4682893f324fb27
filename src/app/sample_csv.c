/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/sample_csv.h"

#include <errno.h>
#include <stdlib.h>

#include "base/text.h"
#include "metrology/scale.h"

/* All streams on their way. */
struct writing {
    const struct sh_session *session;
    FILE *const *files;
    struct sh_text rows; /* of one block */
    struct sh_load_drift_state drift[SH_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
};

static const char *get_unit(enum sh_role role)
{
    switch (role) {
    case SH_ROLE_STRING_FORCE:
    case SH_ROLE_FINGER_FORCE:
        return "_n";
    case SH_ROLE_BOW_ACCELERATION:
        return "_m_s2";
    case SH_ROLE_CLICKER_CONTACT:
    case SH_ROLE_SOUND:
        break;
    }
    return "";
}

static bool is_alike(const struct sh_channel *a, const struct sh_channel *b)
{
    return a->role == b->role && a->axis == b->axis && a->finger == b->finger;
}

void sh_sample_csv_format_name(const struct sh_stream *stream,
                               size_t channel,
                               char name[SH_SAMPLE_CSV_NAME_BYTES])
{
    const struct sh_channel *at = &stream->channel[channel];
    const char *part = at->axis != SH_AXIS_NONE       ? sh_channel_axis_name(at->axis)
                       : at->finger != SH_FINGER_NONE ? sh_channel_finger_name(at->finger)
                                                      : "";
    char number[16] = "";
    size_t n_before = 0;
    for (size_t c = 0; c < channel; c++) {
        n_before += is_alike(&stream->channel[c], at) ? 1 : 0;
    }
    if (n_before > 0) {
        (void)snprintf(number, sizeof number, "_%zu", n_before + 1);
    }
    (void)snprintf(name, SH_SAMPLE_CSV_NAME_BYTES, "%s%s%s%s%s", sh_channel_role_name(at->role),
                   part[0] != '\0' ? "_" : "", part, get_unit(at->role), number);
}

static enum sh_status put_rows(struct writing *writing, size_t stream, struct sh_error *err)
{
    struct sh_text *rows = &writing->rows;
    if (rows->status != SH_OK) {
        return sh_error_set(err, rows->status, NULL, NULL, "%s", sh_status_text(rows->status));
    }
    if (fwrite(rows->data, 1, rows->n_bytes, writing->files[stream]) != rows->n_bytes) {
        return sh_error_set_os(err, errno, writing->session->streams[stream].stream.name, NULL,
                               "cannot write the samples");
    }
    return SH_OK;
}

static enum sh_status put_head(struct writing *writing, size_t index, struct sh_error *err)
{
    const struct sh_stream *stream = &writing->session->streams[index].stream;
    sh_text_reset(&writing->rows);
    sh_text_puts(&writing->rows, "time_s");
    for (size_t c = 0; c < stream->n_channels; c++) {
        char name[SH_SAMPLE_CSV_NAME_BYTES];
        sh_sample_csv_format_name(stream, c, name);
        sh_text_printf(&writing->rows, ",%s", name);
    }
    sh_text_puts(&writing->rows, ",lost\r\n");
    return put_rows(writing, index, err);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct writing *writing = context;
    const struct sh_session_stream *from = &writing->session->streams[block->stream];
    const struct sh_stream *stream = &from->stream;
    if (writing->files[block->stream] == NULL) {
        return SH_OK;
    }
    sh_text_reset(&writing->rows);
    for (size_t i = 0; i < block->n_frames; i++) {
        double value[SH_STREAM_CHANNELS_MAX];
        double time_s = sh_timebase_time(&from->timebase, SH_TIMEBASE_BETWEEN,
                                         (double)(block->first_frame + i), NULL);
        sh_scale_frame_steadily(stream, block->raw + i * block->n_channels,
                                1.0 / stream->rate_hz, writing->drift[block->stream], value);
        sh_text_printf(&writing->rows, "%.6f", time_s);
        for (size_t c = 0; c < stream->n_channels; c++) {
            sh_text_printf(&writing->rows, ",%.10g", value[c]);
        }
        sh_text_puts(&writing->rows, block->is_filled ? ",1\r\n" : ",0\r\n");
    }
    return put_rows(writing, block->stream, err);
}

static enum sh_status
pass_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK; /* the session knows them all */
}

enum sh_status sh_sample_csv_write(struct sh_recording_reader *reader,
                                   FILE *const *files,
                                   struct sh_error *err)
{
    struct writing *writing = calloc(1, sizeof *writing);
    if (writing == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    enum sh_status status = SH_OK;
    writing->session = sh_recording_reader_session(reader);
    writing->files = files;
    sh_text_init(&writing->rows, 0);
    for (size_t i = 0; i < writing->session->n_streams && status == SH_OK; i++) {
        status = files[i] != NULL ? put_head(writing, i, err) : SH_OK;
    }
    const struct sh_block_sink sink = {
        .block = take_block, .anchor = pass_anchor, .context = writing};
    if (status == SH_OK) {
        status = sh_recording_reader_push(reader, &sink, err);
    }
    sh_text_close(&writing->rows);
    free(writing);
    return status;
}
