/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/recall.h"

#include <stdlib.h>
#include <string.h>

#include "metrology/scale.h"
#include "shot/frame_flags.h"
#include "shot/spike.h"

#define CHUNK_VALUES 16384u
#define WARM_FRAMES  64u /* before the first, for nonsense among single readings */

void sh_recall_keep(const struct sh_shot *shot,
                    const struct sh_shot_view *view,
                    struct sh_recall *out)
{
    *out = (struct sh_recall){.n_streams = view->n_streams,
                              .reading = view->stream[0].reading,
                              .force = view->force,
                              .rest_n = shot->rest_n.value};
    out->force.net_n = NULL;
    for (size_t s = 0; s < view->n_streams; s++) {
        const struct sh_shot_stream *stream = &view->stream[s];
        struct sh_recall_stream *kept = &out->stream[s];
        kept->first_frame = stream->first_frame;
        kept->n_frames = stream->n_frames;
        kept->time_u_s = stream->time_u_s;
        memcpy(kept->rest_n, stream->rest_n, sizeof kept->rest_n);
    }
}

/* One stream on its way back. */
struct reading {
    struct sh_recording_reader *reader;
    const struct sh_session_stream *stream;
    const struct sh_recall_stream *kept;
    size_t index;
    struct sh_load_drift_state drift[SH_STREAM_CHANNELS_MAX];
    struct sh_spike spike;
    size_t next_gap;
    double *raw;                           /* [CHUNK_VALUES] */
    double *value[SH_STREAM_CHANNELS_MAX]; /* [n_frames] */
    unsigned char *flags;
    uint64_t next_frame;
};

/* The first frame on which the view's values hang. */
static uint64_t find_first(const struct reading *reading)
{
    const struct sh_stream *stream = &reading->stream->stream;
    const uint64_t first = reading->kept->first_frame;
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (stream->channel[c].load_drift_time_s > 0.0) {
            return 0;
        }
    }
    return first > WARM_FRAMES ? first - WARM_FRAMES : 0;
}

static bool is_lost(struct reading *reading, uint64_t frame)
{
    const struct sh_session_stream *stream = reading->stream;
    while (reading->next_gap < stream->n_gaps &&
           stream->gaps[reading->next_gap].frame + stream->gaps[reading->next_gap].n_frames <=
               frame) {
        reading->next_gap++;
    }
    return reading->next_gap < stream->n_gaps && stream->gaps[reading->next_gap].frame <= frame;
}

/* Values of a frame, where it is one of the view's. */
static void put_values(struct reading *reading, uint64_t frame, const double *value)
{
    const struct sh_recall_stream *kept = reading->kept;
    if (frame < kept->first_frame || frame - kept->first_frame >= kept->n_frames) {
        return;
    }
    for (size_t c = 0; c < reading->stream->stream.n_channels; c++) {
        reading->value[c][frame - kept->first_frame] = value[c];
    }
}

static void take_frame(struct reading *reading, const double *raw)
{
    const struct sh_stream *stream = &reading->stream->stream;
    const struct sh_recall_stream *kept = reading->kept;
    const uint64_t frame = reading->next_frame++;
    const bool is_filled = is_lost(reading, frame);
    double value[SH_STREAM_CHANNELS_MAX];
    sh_scale_frame_steadily(stream, raw, 1.0 / stream->rate_hz, reading->drift, value);
    put_values(reading, frame, value);
    if (frame >= kept->first_frame && frame - kept->first_frame < kept->n_frames) {
        reading->flags[frame - kept->first_frame] = sh_frame_flags_get(stream, raw, is_filled);
    }
    const struct sh_spike_frame before = sh_spike_push(&reading->spike, value, is_filled);
    if (before.is_mended) {
        put_values(reading, frame - 1, before.value);
    }
}

/* The frames of the view, those before that they hang on, and one behind, by which the last is
 * known for no nonsense. */
static enum sh_status read_frames(struct reading *reading, struct sh_error *err)
{
    const size_t n_channels = reading->stream->stream.n_channels;
    const size_t most = CHUNK_VALUES / n_channels;
    const uint64_t last = reading->kept->first_frame + reading->kept->n_frames;
    enum sh_status status = SH_OK;
    size_t n = 1;
    reading->next_frame = find_first(reading);
    sh_spike_init(&reading->spike, &reading->stream->stream);
    while (status == SH_OK && n > 0 && reading->next_frame <= last) {
        const uint64_t n_left = last - reading->next_frame + 1;
        status = sh_recording_reader_read(reading->reader, reading->index, reading->next_frame,
                                          reading->raw, n_left < most ? (size_t)n_left : most,
                                          &n, err);
        for (size_t i = 0; status == SH_OK && i < n; i++) {
            take_frame(reading, reading->raw + i * n_channels);
        }
    }
    if (status == SH_OK && reading->next_frame < last) {
        status = sh_error_set(err, SH_ERR_SHORT, reading->stream->file, "try again",
                              "not all samples of the draw are there");
    }
    return status;
}

static void set_stream(const struct reading *reading,
                       enum sh_timebase_reading clock,
                       struct sh_owned_view *out)
{
    struct sh_shot_stream *stream = &out->view.stream[reading->index];
    double *time_s = out->memory[reading->index];
    double time_u_s = 0.0;
    *stream = (struct sh_shot_stream){.stream = &reading->stream->stream,
                                      .first_frame = reading->kept->first_frame,
                                      .n_frames = reading->kept->n_frames,
                                      .time_s = time_s,
                                      .time_u_s = reading->kept->time_u_s,
                                      .timebase = &reading->stream->timebase,
                                      .reading = clock,
                                      .flags = reading->flags};
    sh_timebase_fill(stream->timebase, clock, stream->first_frame, stream->n_frames, time_s,
                     &time_u_s);
    for (size_t c = 0; c < stream->stream->n_channels; c++) {
        stream->value[c] = reading->value[c];
    }
    memcpy(stream->rest_n, reading->kept->rest_n, sizeof stream->rest_n);
}

static enum sh_status read_stream(struct reading *reading,
                                  enum sh_timebase_reading clock,
                                  struct sh_owned_view *out,
                                  struct sh_error *err)
{
    const size_t n_channels = reading->stream->stream.n_channels;
    if (sh_owned_view_allocate(out, reading->index, n_channels, reading->kept->n_frames,
                               reading->value) != SH_OK) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    reading->flags = out->flags[reading->index];
    enum sh_status status = reading->kept->n_frames > 0 ? read_frames(reading, err) : SH_OK;
    if (status == SH_OK) {
        set_stream(reading, clock, out);
    }
    return status;
}

/* The channels' sum less the level that was taken off it. */
static enum sh_status
set_force(const struct sh_recall *recall, struct sh_owned_view *out, struct sh_error *err)
{
    struct sh_shot_force *force = &out->view.force;
    *force = recall->force;
    if (!force->is_present) {
        return SH_OK;
    }
    const struct sh_shot_stream *stream = &out->view.stream[force->stream];
    out->net_n = malloc((force->n_frames + 1) * sizeof *out->net_n);
    if (out->net_n == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t i = 0; i < force->n_frames; i++) {
        double sum_n = 0.0;
        for (size_t k = 0; k < force->n_channels; k++) {
            sum_n += stream->value[force->channel[k]][i];
        }
        out->net_n[i] = sum_n - recall->rest_n;
    }
    force->net_n = out->net_n;
    return SH_OK;
}

enum sh_status sh_recall_open(struct sh_recording_reader *reader,
                              const struct sh_recall *recall,
                              struct sh_owned_view *out,
                              struct sh_error *err)
{
    const struct sh_session *session = sh_recording_reader_session(reader);
    enum sh_status status = SH_OK;
    *out = (struct sh_owned_view){.view = {.n_streams = recall->n_streams}};
    if (session->n_streams != recall->n_streams) {
        return sh_error_set(err, SH_ERR_FORMAT, NULL, NULL, "it is another recording");
    }
    double *raw = malloc(CHUNK_VALUES * sizeof *raw);
    if (raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t i = 0; i < session->n_streams && status == SH_OK; i++) {
        struct reading reading = {.reader = reader,
                                  .stream = &session->streams[i],
                                  .kept = &recall->stream[i],
                                  .index = i,
                                  .raw = raw};
        status = read_stream(&reading, recall->reading, out, err);
    }
    if (status == SH_OK) {
        status = set_force(recall, out, err);
    }
    free(raw);
    if (status != SH_OK) {
        sh_owned_view_close(out);
    }
    return status;
}
