/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "app/shelf_inside.h"
#include "metrology/scale.h"
#include "recording/recording_reader.h"

#define CHUNK_VALUES 4096u

/* A recording on its way into a wave. */
struct filling {
    const struct sh_session *session;
    struct sh_wave *wave;
    size_t first_channel[SH_STREAMS_MAX];
    struct sh_load_drift_state drift[SH_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
    double value[CHUNK_VALUES];
};

/* Part of a block, small enough for the scratch array. */
static enum sh_status
push_part(struct filling *filling, const struct sh_block *block, size_t from, size_t n)
{
    const struct sh_session_stream *stream = &filling->session->streams[block->stream];
    double first = (double)block->first_frame + (double)from;
    double start_s = sh_timebase_time(&stream->timebase, SH_TIMEBASE_BETWEEN, first, NULL);
    double end_s =
        sh_timebase_time(&stream->timebase, SH_TIMEBASE_BETWEEN, first + (double)n, NULL);
    for (size_t i = 0; i < n; i++) {
        sh_scale_frame_steadily(&stream->stream, block->raw + (from + i) * block->n_channels,
                                1.0 / stream->stream.rate_hz, filling->drift[block->stream],
                                filling->value + i * block->n_channels);
    }
    const struct sh_wave_frames frames = {.first_channel =
                                              filling->first_channel[block->stream],
                                          .n_channels = block->n_channels,
                                          .n_frames = n,
                                          .value = filling->value,
                                          .start_s = start_s,
                                          .step_s = (end_s - start_s) / (double)n,
                                          .is_lost = block->is_filled};
    return sh_wave_push(filling->wave, &frames);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct filling *filling = context;
    size_t most = CHUNK_VALUES / block->n_channels;
    enum sh_status status = SH_OK;
    for (size_t from = 0; from < block->n_frames && status == SH_OK; from += most) {
        size_t n = block->n_frames - from < most ? block->n_frames - from : most;
        status = push_part(filling, block, from, n);
    }
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, "wave", NULL, "%s", sh_status_text(status));
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK;
}

static enum sh_status
fill(struct sh_recording_reader *reader, struct filling *filling, struct sh_error *err)
{
    const struct sh_block_sink sink = {take_block, take_anchor, filling};
    struct sh_wave_config config = sh_wave_config_default();
    filling->session = sh_recording_reader_session(reader);
    for (size_t i = 0; i < filling->session->n_streams; i++) {
        filling->first_channel[i] = config.n_channels;
        config.n_channels += filling->session->streams[i].stream.n_channels;
    }
    enum sh_status status = sh_wave_open(&config, &filling->wave, err);
    return status == SH_OK ? sh_recording_reader_push(reader, &sink, err) : status;
}

/* Takes wave, also where it fails. */
static enum sh_status
share(struct sh_wave *wave, struct sh_shelf_wave **out, struct sh_error *err)
{
    struct sh_shelf_wave *shared = malloc(sizeof *shared);
    if (shared == NULL) {
        sh_wave_close(&wave);
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    *shared = (struct sh_shelf_wave){.wave = wave, .n_holders = 1};
    *out = shared;
    return SH_OK;
}

enum sh_status
sh_shelf_read_wave(const char *folder, struct sh_shelf_wave **out, struct sh_error *err)
{
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    struct filling filling;
    memset(&filling, 0, sizeof filling);
    enum sh_status status = sh_recording_reader_open(folder, &config, &reader, err);
    if (status == SH_OK) {
        status = fill(reader, &filling, err);
    }
    sh_recording_reader_close(&reader);
    if (status != SH_OK) {
        sh_wave_close(&filling.wave);
        return status;
    }
    return share(filling.wave, out, err);
}

void sh_shelf_drop_wave(struct sh_shelf_wave **wave)
{
    if (*wave != NULL && --(*wave)->n_holders == 0) {
        sh_wave_close(&(*wave)->wave);
        free(*wave);
    }
    *wave = NULL;
}
