/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/shot_window.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "metrology/scale.h"
#include "shot/force_choice.h"
#include "shot/frame_flags.h"
#include "shot/rest.h"

#define CHUNK_VALUES     16384u
#define DRIFT_TIMES      5.0   /* time constants of a load drift that are read before */
#define DRIFT_WARM_S_MAX 900.0 /* but no longer */
#define REST_DEFAULT_S   1.0

/* Frames of one stream that are wanted, and those read before them for the load drift. */
struct extent {
    uint64_t warm;  /* first frame read */
    uint64_t first; /* first frame kept */
    size_t n_most;
};

static bool is_force(const struct sh_channel *channel)
{
    return channel->role == SH_ROLE_STRING_FORCE || channel->role == SH_ROLE_FINGER_FORCE;
}

static bool has_force(const struct sh_stream *stream)
{
    bool has = false;
    for (size_t k = 0; k < stream->n_channels; k++) {
        has = has || is_force(&stream->channel[k]);
    }
    return has;
}

/* Seconds before the window that a load drift reaches into it from. */
static double find_warm_s(const struct sh_stream *stream)
{
    double warm_s = 0.0;
    for (size_t k = 0; k < stream->n_channels; k++) {
        warm_s = fmax(warm_s, DRIFT_TIMES * stream->channel[k].load_drift_time_s);
    }
    return fmin(warm_s, DRIFT_WARM_S_MAX);
}

static struct extent find_extent(const struct sh_session_stream *stream,
                                 const struct sh_shot_window_config *config)
{
    const struct sh_timebase *timebase = &stream->timebase;
    bool is_led = has_force(&stream->stream);
    double from_s = config->from_s - (is_led ? config->lead_s : 0.0);
    double first = fmax(ceil(sh_timebase_frame(timebase, config->reading, from_s)), 0.0);
    double end = ceil(sh_timebase_frame(timebase, config->reading, config->until_s));
    double warm =
        fmax(first - ceil(find_warm_s(&stream->stream) * stream->stream.rate_hz), 0.0);
    double n_most = is_led || !config->is_force_only ? fmax(end - first, 0.0) : 0.0;
    /* a clock that stands still must not make a window of it all */
    n_most = fmin(n_most, 2.0 * SH_SHOT_WINDOW_S_MAX * stream->stream.rate_hz);
    return (struct extent){(uint64_t)warm, (uint64_t)first, (size_t)n_most};
}

/* One stream being read. */
struct reading {
    struct sh_recording_reader *reader;
    const struct sh_session_stream *stream;
    size_t index;
    struct extent extent;
    struct sh_load_drift_state drift[SH_STREAM_CHANNELS_MAX];
    double *raw;                           /* [CHUNK_VALUES] */
    double *value[SH_STREAM_CHANNELS_MAX]; /* [n_most] */
    unsigned char *flags;
    size_t n_frames; /* kept so far */
};

static void keep_frames(struct reading *reading, uint64_t first, const double *raw, size_t n)
{
    const struct sh_stream *stream = &reading->stream->stream;
    double value[SH_STREAM_CHANNELS_MAX];
    for (size_t i = 0; i < n; i++) {
        const double *frame = raw + i * stream->n_channels;
        sh_scale_frame_steadily(stream, frame, 1.0 / stream->rate_hz, reading->drift, value);
        if (first + i < reading->extent.first || reading->n_frames >= reading->extent.n_most) {
            continue;
        }
        for (size_t k = 0; k < stream->n_channels; k++) {
            reading->value[k][reading->n_frames] = value[k];
        }
        reading->flags[reading->n_frames++] = sh_frame_flags_get(stream, frame, false);
    }
}

static void mark_gaps(const struct reading *reading)
{
    uint64_t first = reading->extent.first;
    uint64_t end = first + reading->n_frames;
    for (size_t i = 0; i < reading->stream->n_gaps; i++) {
        const struct sh_gap *gap = &reading->stream->gaps[i];
        uint64_t from = gap->frame > first ? gap->frame : first;
        uint64_t gap_end = gap->frame + gap->n_frames;
        for (uint64_t k = from; k < gap_end && k < end; k++) {
            reading->flags[k - first] |= SH_SHOT_FLAG_FILLED;
        }
    }
}

static enum sh_status read_frames(struct reading *reading, struct sh_error *err)
{
    size_t most = CHUNK_VALUES / reading->stream->stream.n_channels;
    uint64_t frame = reading->extent.warm;
    uint64_t end = reading->extent.first + reading->extent.n_most;
    enum sh_status status = SH_OK;
    size_t n = 1;
    while (status == SH_OK && n > 0 && frame < end) {
        size_t n_wanted = end - frame < most ? (size_t)(end - frame) : most;
        status = sh_recording_reader_read(reading->reader, reading->index, frame, reading->raw,
                                          n_wanted, &n, err);
        if (status == SH_OK) {
            keep_frames(reading, frame, reading->raw, n);
            frame += n;
        }
    }
    mark_gaps(reading);
    return status;
}

/* Level of a channel before the draw; unknown where the window does not tell. */
static struct sh_quantity
find_rest(const struct sh_shot_stream *stream, size_t channel, double until_s)
{
    struct sh_rest rest;
    struct sh_rest_level level;
    size_t n = sh_shot_window_find(stream, 0.0, -(double)INFINITY, until_s).n;
    const double *value = stream->value[channel];
    sh_rest_init(&rest, stream->stream->rate_hz, 0.0, 0);
    for (size_t i = 0; value != NULL && i < n; i++) {
        sh_rest_push(&rest, value[i], (stream->flags[i] & SH_SHOT_FLAG_FILLED) != 0);
    }
    sh_rest_choose(&rest, n, NULL, &level);
    return level.level_n;
}

static void set_stream(const struct sh_shot_window_config *config,
                       const struct reading *reading,
                       struct sh_owned_view *window)
{
    struct sh_shot_stream *stream = &window->view.stream[reading->index];
    double *time_s = window->memory[reading->index];
    double rest_s = isfinite(config->draw_start_s)
                        ? config->draw_start_s
                        : config->from_s - config->lead_s + REST_DEFAULT_S;
    *stream = (struct sh_shot_stream){.stream = &reading->stream->stream,
                                      .first_frame = reading->extent.first,
                                      .n_frames = reading->n_frames,
                                      .time_s = time_s,
                                      .timebase = &reading->stream->timebase,
                                      .reading = config->reading,
                                      .flags = reading->flags};
    sh_timebase_fill(stream->timebase, config->reading, stream->first_frame, stream->n_frames,
                     time_s, &stream->time_u_s);
    for (size_t k = 0; k < stream->stream->n_channels; k++) {
        stream->value[k] = reading->value[k];
    }
    for (size_t k = 0; k < stream->stream->n_channels; k++) {
        if (is_force(&stream->stream->channel[k]) && stream->n_frames > 0) {
            stream->rest_n[k] = find_rest(stream, k, rest_s);
        }
    }
}

static enum sh_status read_stream(struct reading *reading,
                                  const struct sh_shot_window_config *config,
                                  struct sh_owned_view *window,
                                  struct sh_error *err)
{
    enum sh_status status =
        sh_owned_view_allocate(window, reading->index, reading->stream->stream.n_channels,
                               reading->extent.n_most, reading->value);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    reading->flags = window->flags[reading->index];
    status = read_frames(reading, err);
    if (status == SH_OK) {
        set_stream(config, reading, window);
    }
    return status;
}

static enum sh_status set_force(struct sh_owned_view *window, struct sh_error *err)
{
    const struct sh_stream *streams[SH_STREAMS_MAX];
    struct sh_shot_force *force = &window->view.force;
    for (size_t i = 0; i < window->view.n_streams; i++) {
        streams[i] = window->view.stream[i].stream;
    }
    sh_force_choice_make(streams, window->view.n_streams, force);
    if (!force->is_present) {
        return SH_OK;
    }
    const struct sh_shot_stream *stream = &window->view.stream[force->stream];
    window->net_n = calloc(stream->n_frames + 1, sizeof *window->net_n);
    if (window->net_n == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t k = 0; k < force->n_channels; k++) {
        size_t channel = force->channel[k];
        const struct sh_quantity *rest = &stream->rest_n[channel];
        double rest_n = sh_quantity_is_known(rest) ? rest->value : 0.0;
        for (size_t i = 0; i < stream->n_frames; i++) {
            window->net_n[i] += stream->value[channel][i] - rest_n;
        }
    }
    force->n_frames = stream->n_frames;
    force->net_n = window->net_n;
    force->time_u_s = stream->time_u_s;
    return SH_OK;
}

enum sh_status sh_shot_window_open(struct sh_recording_reader *reader,
                                   const struct sh_shot_window_config *config,
                                   struct sh_owned_view *out,
                                   struct sh_error *err)
{
    const struct sh_session *session = sh_recording_reader_session(reader);
    *out = (struct sh_owned_view){.view = {.n_streams = session->n_streams}};
    if (!(config->from_s < config->until_s) || !(config->lead_s >= 0.0) ||
        !(config->until_s - config->from_s + config->lead_s <= SH_SHOT_WINDOW_S_MAX)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, NULL,
                            "no window from %g s to %g s, %g s before it", config->from_s,
                            config->until_s, config->lead_s);
    }
    enum sh_status status = SH_OK;
    struct reading reading = {.reader = reader, .raw = malloc(CHUNK_VALUES * sizeof(double))};
    if (reading.raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t i = 0; i < session->n_streams && status == SH_OK; i++) {
        reading.stream = &session->streams[i];
        reading.index = i;
        reading.n_frames = 0;
        reading.extent = find_extent(reading.stream, config);
        memset(reading.drift, 0, sizeof reading.drift);
        status = read_stream(&reading, config, out, err);
    }
    if (status == SH_OK) {
        status = set_force(out, err);
    }
    free(reading.raw);
    if (status != SH_OK) {
        sh_owned_view_close(out);
    }
    return status;
}

/* Index of the first frame at or after a time. */
static size_t find_frame(const struct sh_shot_stream *stream, double delay_s, double time_s)
{
    if (stream->n_frames == 0 || !(time_s > stream->time_s[0] - delay_s)) {
        return 0;
    }
    if (time_s > stream->time_s[stream->n_frames - 1] - delay_s) {
        return stream->n_frames;
    }
    return (size_t)fmax(ceil(sh_shot_stream_index(stream, delay_s, time_s) - 1e-6), 0.0);
}

struct sh_shot_window_span sh_shot_window_find(const struct sh_shot_stream *stream,
                                               double delay_s,
                                               double from_s,
                                               double until_s)
{
    size_t first = find_frame(stream, delay_s, from_s);
    size_t end = find_frame(stream, delay_s, until_s);
    return (struct sh_shot_window_span){first, end > first ? end - first : 0};
}

struct sh_shot_window_span
sh_shot_window_find_force(const struct sh_shot_view *view, double from_s, double until_s)
{
    const struct sh_shot_force *force = &view->force;
    if (!force->is_present) {
        return (struct sh_shot_window_span){0, 0};
    }
    return sh_shot_window_find(&view->stream[force->stream], force->delay_s, from_s, until_s);
}
