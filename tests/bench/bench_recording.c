/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/bench_recording.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "app/simulation.h"
#include "recording/recording_writer.h"
#include "sim/sampler.h"

#define N_CHANNELS    4u
#define BLOCK_FRAMES  4000u
#define DRAW_S        26.0 /* of a session, at most, a draw takes with its share of the pauses */
#define SPARE_DRAWS   12u
#define ANCHOR_FRAMES 10000u
#define ANCHOR_U_S    2e-4
#define PATH_BYTES    4096

/* One piece of samples, and how far it has been filled. */
struct piece {
    double *raw; /* [n_frames_max][N_CHANNELS] */
    size_t n_frames_max;
    size_t n_frames;
};

/* The channels of another sensor behind the string's, all sampled by one clock without error.
 */
static enum sh_status join_channels(enum sh_bench_recording_set set,
                                    struct sh_simulation *simulation,
                                    struct sh_error *err)
{
    struct sh_stream_source_config other[SH_CHANNEL_SET_STREAMS_MAX];
    struct sh_stream_source_config *source = &simulation->source[0];
    size_t n_streams = 0;
    const bool has_bow = set == SH_BENCH_RECORDING_STRING_BOW;
    const enum sh_status status =
        sh_channel_set_find(has_bow ? "bow" : "fingers_bow", other, &n_streams, err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i + 1u < N_CHANNELS; i++) {
        source->stream.channel[source->stream.n_channels++] = other[0].stream.channel[i];
    }
    source->clock_ppm = 0.0;
    source->anchor_period_s = 0.0;
    simulation->session->streams[0].stream = source->stream;
    return SH_OK;
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct piece *piece = context;
    for (size_t i = 0; i < block->n_frames && piece->n_frames < piece->n_frames_max; i++) {
        for (size_t c = 0; c < N_CHANNELS; c++) {
            piece->raw[piece->n_frames * N_CHANNELS + c] = block->raw[i * N_CHANNELS + c];
        }
        piece->n_frames++;
    }
    return SH_OK;
}

static enum sh_status
fill_piece(const struct sh_simulation *simulation, struct piece *piece, struct sh_error *err)
{
    struct sh_sampler *sampler = NULL;
    const struct sh_sampler_config config = {.plan = simulation->plan,
                                             .seed = simulation->seed,
                                             .stream = simulation->source,
                                             .n_streams = 1,
                                             .block_frames = BLOCK_FRAMES};
    const struct sh_block_sink sink = {.block = take_block, .context = piece};
    enum sh_status status = sh_sampler_open(&config, &sink, &sampler, err);
    if (status == SH_OK) {
        const double rate_hz = simulation->source[0].stream.rate_hz;
        status = sh_sampler_advance(sampler, (double)piece->n_frames_max / rate_hz, err);
    }
    sh_sampler_close(&sampler);
    if (status == SH_OK && piece->n_frames < piece->n_frames_max - 1u) {
        status = sh_error_set(err, SH_ERR_SHORT, "bench", NULL, "the session is %zu frames",
                              piece->n_frames);
    }
    return status;
}

static enum sh_status write_frames(const struct piece *piece,
                                   uint64_t n_frames,
                                   const struct sh_block_sink *sink,
                                   struct sh_error *err)
{
    enum sh_status status = SH_OK;
    struct sh_block block = {.n_channels = N_CHANNELS};
    for (uint64_t at = 0; at < n_frames && status == SH_OK; at += block.n_frames) {
        const size_t in_piece = (size_t)(at % piece->n_frames);
        const uint64_t left = n_frames - at;
        const uint64_t before_anchor = ANCHOR_FRAMES - at % ANCHOR_FRAMES;
        size_t n = piece->n_frames - in_piece;
        n = n < BLOCK_FRAMES ? n : BLOCK_FRAMES;
        n = n < left ? n : (size_t)left;
        n = n < before_anchor ? n : (size_t)before_anchor;
        if (at % ANCHOR_FRAMES == 0) {
            const double error_s = ANCHOR_U_S * (double)(at / ANCHOR_FRAMES % 3u) - ANCHOR_U_S;
            const struct sh_anchor anchor = {at, (double)at / 1000.0 + error_s, ANCHOR_U_S};
            status = sink->anchor(sink->context, 0, &anchor, err);
        }
        block.first_frame = at;
        block.n_frames = n;
        block.raw = piece->raw + in_piece * N_CHANNELS;
        if (status == SH_OK) {
            status = sink->block(sink->context, &block, err);
        }
    }
    return status;
}

static enum sh_status write_folder(const char *folder,
                                   const struct sh_bench_recording_config *config,
                                   const struct sh_session *session,
                                   const struct piece *piece,
                                   struct sh_error *err)
{
    struct sh_recording_writer *writer = NULL;
    struct sh_recording_writer_config writing = sh_recording_writer_config_default();
    writing.is_synced = false;
    enum sh_status status = sh_recording_writer_open(folder, session, &writing, &writer, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_block_sink sink = sh_recording_writer_sink(writer);
    const double rate_hz = session->streams[0].stream.rate_hz;
    status = write_frames(piece, (uint64_t)(config->duration_s * rate_hz), &sink, err);
    if (status == SH_OK) {
        status = sh_recording_writer_finish(writer, config->to_flac, err);
    }
    sh_recording_writer_close(&writer);
    return status;
}

enum sh_status sh_bench_recording_make(const char *folder,
                                       const struct sh_bench_recording_config *config,
                                       struct sh_error *err)
{
    struct sh_simulation simulation = {0};
    struct piece piece = {0};
    struct sh_simulation_config evening = sh_simulation_config_default();
    evening.set = "force1000";
    evening.n_draws = (size_t)(config->piece_s / DRAW_S) + SPARE_DRAWS;
    enum sh_status status = sh_simulation_open(&evening, &simulation, err);
    if (status == SH_OK) {
        status = join_channels(config->set, &simulation, err);
    }
    if (status != SH_OK) {
        goto out;
    }
    piece.n_frames_max =
        (size_t)(config->piece_s * simulation.session->streams[0].stream.rate_hz);
    piece.raw = malloc(piece.n_frames_max * N_CHANNELS * sizeof *piece.raw);
    if (piece.raw == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "no memory for a piece");
        goto out;
    }
    status = fill_piece(&simulation, &piece, err);
    if (status == SH_OK) {
        status = write_folder(folder, config, simulation.session, &piece, err);
    }
out:
    free(piece.raw);
    sh_simulation_close(&simulation);
    return status;
}

void sh_bench_recording_remove(const char *folder)
{
    char path[PATH_BYTES];
    DIR *entries = opendir(folder);
    if (entries == NULL) {
        return;
    }
    for (struct dirent *entry = readdir(entries); entry != NULL; entry = readdir(entries)) {
        const int n = snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (n > 0 && (size_t)n < sizeof path && entry->d_name[0] != '.') {
            (void)unlink(path);
        }
    }
    (void)closedir(entries);
    (void)rmdir(folder);
}
