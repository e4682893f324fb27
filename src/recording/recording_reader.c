/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_reader.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>

#include "recording/audio_reader.h"
#include "recording/session_json.h"

/* Half a millionth of a frame: keeps rounding from making every other block a frame shorter. */
#define FRAME_SLACK 5e-7

/* Where a stream's reading stands. */
struct playback {
    struct sh_audio_reader *audio; /* NULL: ended, or without frames */
    bool has_frames;
    uint64_t n_frames;  /* passed on so far */
    size_t next_anchor; /* first one not passed on */
    size_t next_gap;    /* first one that ends behind n_frames */
    double time_s;      /* of frame n_frames */
};

struct sh_recording_reader {
    struct sh_recording_reader_config config;
    char folder[PATH_MAX];
    struct sh_session session;
    struct playback playbacks[SH_STREAMS_MAX];
    double raw[SH_RECORDING_READER_BLOCK_VALUES];
};

struct sh_recording_reader_config sh_recording_reader_config_default(void)
{
    return (struct sh_recording_reader_config){.chunk_s = SH_RECORDING_READER_CHUNK_S_MAX};
}

void sh_recording_reader_close(struct sh_recording_reader **reader)
{
    if (reader == NULL || *reader == NULL) {
        return;
    }
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        sh_audio_reader_close(&(*reader)->playbacks[i].audio);
    }
    sh_session_close(&(*reader)->session);
    free(*reader);
    *reader = NULL;
}

const struct sh_session *sh_recording_reader_session(const struct sh_recording_reader *reader)
{
    return &reader->session;
}

uint64_t sh_recording_reader_n_frames(const struct sh_recording_reader *reader, size_t stream)
{
    return stream < SH_STREAMS_MAX ? reader->playbacks[stream].n_frames : 0;
}

static enum sh_status
open_audio(struct sh_recording_reader *reader, size_t i, struct sh_error *err)
{
    const struct sh_session_stream *stream = &reader->session.streams[i];
    char path[PATH_MAX];
    int n = snprintf(path, sizeof path, "%s/%s", reader->folder, stream->file);
    if (n < 0 || (size_t)n >= sizeof path) {
        return sh_error_set(err, SH_ERR_ARGUMENT, reader->folder, NULL, "the path is too long");
    }
    return sh_audio_reader_open(path, stream->stream.n_channels, stream->stream.rate_hz,
                                &reader->playbacks[i].audio, err);
}

/* Counts need a scale or a curve, unless they only say whether, or how loud. */
static enum sh_status
complete_channel(struct sh_recording_reader *reader, size_t i, size_t k, struct sh_error *err)
{
    struct sh_channel *channel = &reader->session.streams[i].stream.channel[k];
    bool has_scale = channel->scale < 0.0 || channel->scale > 0.0;
    channel->is_physical = sh_audio_reader_is_physical(reader->playbacks[i].audio);
    if (channel->is_physical || has_scale || channel->n_curve > 0) {
        return SH_OK;
    }
    if (channel->role == SH_ROLE_CLICKER_CONTACT || channel->role == SH_ROLE_SOUND) {
        channel->scale = 1.0;
        return SH_OK;
    }
    char where[SH_ERROR_WHERE_BYTES];
    (void)snprintf(where, sizeof where, "%.400s/%s: streams[%zu].channels[%zu].scale",
                   reader->folder, SH_SESSION_JSON_FILE, i, k);
    return sh_error_set(err, SH_ERR_FORMAT, where,
                        "give the unit's worth of one count, or a curve", "is missing");
}

static enum sh_status
open_stream(struct sh_recording_reader *reader, size_t i, struct sh_error *err)
{
    enum sh_status status = open_audio(reader, i, err);
    reader->playbacks[i].has_frames = status == SH_OK;
    for (size_t k = 0; k < reader->session.streams[i].stream.n_channels && status == SH_OK;
         k++) {
        status = complete_channel(reader, i, k, err);
    }
    return status;
}

static enum sh_status pass_on(struct sh_error *err, const struct sh_error *problem)
{
    if (err != NULL && err->status == SH_OK) {
        *err = *problem;
    }
    return problem->status;
}

static enum sh_status open_streams(struct sh_recording_reader *reader, struct sh_error *err)
{
    struct sh_error empty = {0};
    bool has_frames = false;
    for (size_t i = 0; i < reader->session.n_streams; i++) {
        struct sh_error problem = {0};
        enum sh_status status = open_stream(reader, i, &problem);
        if (status == SH_ERR_SHORT) {
            empty = empty.status == SH_OK ? problem : empty;
        } else if (status != SH_OK) {
            return pass_on(err, &problem);
        }
        has_frames = has_frames || status == SH_OK;
    }
    return has_frames ? SH_OK : pass_on(err, &empty);
}

enum sh_status sh_recording_reader_open(const char *folder,
                                        const struct sh_recording_reader_config *config,
                                        struct sh_recording_reader **out,
                                        struct sh_error *err)
{
    if (!(config->chunk_s > 0.0 && config->chunk_s <= SH_RECORDING_READER_CHUNK_S_MAX)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, "give more than 0 and at most 0.1 s",
                            "a chunk of %g s", config->chunk_s);
    }
    struct sh_recording_reader *reader = calloc(1, sizeof *reader);
    if (reader == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "out of memory");
    }
    enum sh_status status = SH_OK;
    reader->config = *config;
    int n = snprintf(reader->folder, sizeof reader->folder, "%s", folder);
    if (n < 0 || (size_t)n >= sizeof reader->folder) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "the path is too long");
    }
    if (status == SH_OK) {
        status = sh_session_json_read(folder, &reader->session, NULL, err);
    }
    if (status == SH_OK) {
        status = open_streams(reader, err);
    }
    if (status == SH_OK) {
        *out = reader;
    } else {
        sh_recording_reader_close(&reader);
    }
    return status;
}

static double find_time(const struct sh_recording_reader *reader, size_t i, double frame)
{
    return sh_timebase_time(&reader->session.streams[i].timebase, SH_TIMEBASE_FORWARD, frame,
                            NULL);
}

/* Every stream at its first frame, with a fresh file where the old one was read from. */
static enum sh_status start_pass(struct sh_recording_reader *reader, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < reader->session.n_streams && status == SH_OK; i++) {
        struct playback *playback = &reader->playbacks[i];
        bool is_fresh =
            playback->audio != NULL && sh_audio_reader_n_frames(playback->audio) == 0;
        if (playback->has_frames && !is_fresh) {
            sh_audio_reader_close(&playback->audio);
            status = open_audio(reader, i, err);
        }
        playback->n_frames = 0;
        playback->next_anchor = 0;
        playback->next_gap = 0;
        playback->time_s = find_time(reader, i, 0.0);
    }
    return status;
}

/* The stream that is furthest behind; n_streams when all have ended. */
static size_t find_earliest(const struct sh_recording_reader *reader)
{
    size_t earliest = reader->session.n_streams;
    for (size_t i = 0; i < reader->session.n_streams; i++) {
        const struct playback *playback = &reader->playbacks[i];
        if (playback->audio != NULL &&
            (earliest == reader->session.n_streams ||
             playback->time_s < reader->playbacks[earliest].time_s)) {
            earliest = i;
        }
    }
    return earliest;
}

static enum sh_status push_anchors(struct sh_recording_reader *reader,
                                   size_t i,
                                   const struct sh_block_sink *sink,
                                   struct sh_error *err)
{
    struct playback *playback = &reader->playbacks[i];
    const struct sh_timebase *timebase = &reader->session.streams[i].timebase;
    enum sh_status status = SH_OK;
    while (status == SH_OK && playback->next_anchor < timebase->n_anchors &&
           timebase->anchors[playback->next_anchor].frame <= playback->n_frames) {
        status = sink->anchor(sink->context, i, &timebase->anchors[playback->next_anchor], err);
        playback->next_anchor++;
    }
    return status;
}

/* Frames that last chunk_s from the stream's place on, at least one, at most most. */
static uint64_t
find_chunk_frames(const struct sh_recording_reader *reader, size_t i, size_t most)
{
    const struct playback *playback = &reader->playbacks[i];
    double frame = (double)playback->n_frames;
    /* Half a frame on, no new anchor can count yet. */
    double frame_s = 2.0 * (find_time(reader, i, frame + 0.5) - playback->time_s);
    double n = reader->config.chunk_s / frame_s + FRAME_SLACK;
    if (!(n < (double)most)) {
        return most;
    }
    return n < 1.0 ? 1 : (uint64_t)n;
}

static uint64_t get_least(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

/* Frames up to the next gap's start, or, within a gap, to its end. */
static uint64_t find_gap_frames(struct playback *playback,
                                const struct sh_session_stream *stream,
                                bool *is_filled)
{
    uint64_t frame = playback->n_frames;
    while (playback->next_gap < stream->n_gaps &&
           stream->gaps[playback->next_gap].frame + stream->gaps[playback->next_gap].n_frames <=
               frame) {
        playback->next_gap++;
    }
    *is_filled = false;
    if (playback->next_gap == stream->n_gaps) {
        return UINT64_MAX;
    }
    const struct sh_gap *gap = &stream->gaps[playback->next_gap];
    *is_filled = gap->frame <= frame;
    return *is_filled ? gap->frame + gap->n_frames - frame : gap->frame - frame;
}

/* Passes on the stream's next block, or ends it. */
static enum sh_status push_block(struct sh_recording_reader *reader,
                                 size_t i,
                                 const struct sh_block_sink *sink,
                                 struct sh_error *err)
{
    struct playback *playback = &reader->playbacks[i];
    const struct sh_session_stream *stream = &reader->session.streams[i];
    size_t n_channels = stream->stream.n_channels;
    struct sh_block block = {.stream = i,
                             .first_frame = playback->n_frames,
                             .n_channels = n_channels,
                             .raw = reader->raw};
    size_t most = SH_RECORDING_READER_BLOCK_VALUES / n_channels;
    uint64_t n = find_chunk_frames(reader, i, most);
    n = get_least(n, find_gap_frames(playback, stream, &block.is_filled));
    if (playback->next_anchor < stream->timebase.n_anchors) {
        const struct sh_anchor *anchor = &stream->timebase.anchors[playback->next_anchor];
        n = get_least(n, anchor->frame - playback->n_frames);
    }
    enum sh_status status =
        sh_audio_reader_read(playback->audio, reader->raw, (size_t)n, &block.n_frames, err);
    if (status != SH_OK) {
        return status;
    }
    if (block.n_frames == 0) {
        sh_audio_reader_close(&playback->audio);
        return SH_OK;
    }
    playback->n_frames += block.n_frames;
    playback->time_s = find_time(reader, i, (double)playback->n_frames);
    return sink->block(sink->context, &block, err);
}

enum sh_status sh_recording_reader_push(struct sh_recording_reader *reader,
                                        const struct sh_block_sink *sink,
                                        struct sh_error *err)
{
    enum sh_status status = start_pass(reader, err);
    size_t i = find_earliest(reader);
    while (status == SH_OK && i < reader->session.n_streams) {
        status = push_anchors(reader, i, sink, err);
        if (status == SH_OK) {
            status = push_block(reader, i, sink, err);
        }
        i = find_earliest(reader);
    }
    return status;
}

enum sh_status sh_recording_reader_read(struct sh_recording_reader *reader,
                                        size_t stream,
                                        uint64_t first_frame,
                                        double *raw,
                                        size_t n_frames_max,
                                        size_t *n_frames,
                                        struct sh_error *err)
{
    enum sh_status status = SH_OK;
    *n_frames = 0;
    if (stream >= reader->session.n_streams) {
        return sh_error_set(err, SH_ERR_ARGUMENT, reader->folder, NULL, "no stream %zu",
                            stream);
    }
    struct playback *playback = &reader->playbacks[stream];
    if (!playback->has_frames) {
        return SH_OK;
    }
    if (playback->audio == NULL) {
        status = open_audio(reader, stream, err);
    }
    if (status == SH_OK) {
        status = sh_audio_reader_seek(playback->audio, first_frame, err);
    }
    return status == SH_OK
               ? sh_audio_reader_read(playback->audio, raw, n_frames_max, n_frames, err)
               : status;
}
