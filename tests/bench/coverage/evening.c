/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/coverage/evening.h"

#include <ftw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "app/passes.h"
#include "recording/recording_writer.h"
#include "sim/chance.h"
#include "sim/sampler.h"

#define BLOCK_FRAMES   4096u
#define MATCH_S        0.5
#define OPEN_FILES     8
#define WIDE_RATIO     8.0
#define PATH_BYTES     512u
#define SLOW_HZ        400.0 /* slower: shot/release.h allows for averaging */
#define FALL_BEND      0.5
#define PART_AVERAGING 3000u /* of the seed */

static int remove_entry(const char *path, const struct stat *status, int type, struct FTW *at)
{
    (void)status;
    (void)type;
    (void)at;
    return remove(path);
}

static enum sh_status
record(const struct sh_simulation *simulation, const char *folder, struct sh_error *err)
{
    struct sh_recording_writer_config writing = sh_recording_writer_config_default();
    struct sh_recording_writer *writer = NULL;
    struct sh_sampler *sampler = NULL;
    writing.is_synced = false;
    enum sh_status status =
        sh_recording_writer_open(folder, simulation->session, &writing, &writer, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_block_sink sink = sh_recording_writer_sink(writer);
    const struct sh_sampler_config sampling = {.plan = simulation->plan,
                                               .seed = simulation->seed,
                                               .stream = simulation->source,
                                               .n_streams = simulation->n_sources,
                                               .block_frames = BLOCK_FRAMES,
                                               .has_errors = true};
    status = sh_sampler_open(&sampling, &sink, &sampler, err);
    if (status == SH_OK) {
        status = sh_sampler_advance(sampler, simulation->plan->duration_s + 1.0, err);
    }
    if (status == SH_OK) {
        status = sh_recording_writer_finish(writer, false, err);
    }
    sh_sampler_close(&sampler);
    sh_recording_writer_close(&writer);
    return status;
}

static enum sh_status analyse(const struct evening_config *config,
                              const char *folder,
                              struct sh_analysis *out,
                              struct sh_error *err)
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config passes = {.thresholds = &thresholds,
                                            .is_first_only = config->is_first_pass};
    return sh_passes_run(folder, &passes, out, err);
}

static void widen_stream(struct sh_stream *stream)
{
    for (size_t c = 0; c < stream->n_channels; c++) {
        struct sh_channel *channel = &stream->channel[c];
        if (channel->role == SH_ROLE_BOW_ACCELERATION) {
            channel->range_low *= WIDE_RATIO;
            channel->range_high *= WIDE_RATIO;
        }
    }
}

static void widen(struct sh_simulation *simulation)
{
    for (size_t i = 0; i < simulation->n_sources; i++) {
        widen_stream(&simulation->source[i].stream);
        simulation->session->streams[i].stream = simulation->source[i].stream;
    }
}

/* Whether a slow force sensor averages over its sampling step is said nowhere: half of them do.
 */
static void draw_averaging(struct sh_simulation *simulation)
{
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(simulation->seed, PART_AVERAGING));
    for (size_t i = 0; i < simulation->n_sources; i++) {
        struct sh_stream_source_config *source = &simulation->source[i];
        const bool is_averaging = sh_chance_is(&random, 0.5);
        if (source->stream.rate_hz > SLOW_HZ || is_averaging) {
            continue;
        }
        source->boxcar_s = 0.0;
        for (size_t c = 0; c < source->stream.n_channels; c++) {
            source->stream.channel[c].delay_s = 0.0;
        }
        simulation->session->streams[i].stream = source->stream;
    }
}

/* Curves that repeat to ratio of the force. */
static void set_curves(struct sh_simulation *simulation, double ratio)
{
    for (size_t i = 0; i < simulation->n_sources; i++) {
        struct sh_stream *stream = &simulation->source[i].stream;
        for (size_t c = 0; c < stream->n_channels; c++) {
            struct sh_channel *channel = &stream->channel[c];
            for (size_t k = 0; k < channel->n_curve; k++) {
                channel->curve[k].u = ratio * fmax(channel->curve[k].value, 0.0);
            }
        }
        simulation->session->streams[i].stream = *stream;
    }
}

enum sh_status
evening_open(const struct evening_config *config, struct evening *out, struct sh_error *err)
{
    char home[PATH_BYTES];
    char folder[PATH_BYTES + 16u];
    const char *below = getenv("TMPDIR");
    *out = (struct evening){.analysis = {.n_shots = 0}};
    struct sh_simulation_config simulation = config->simulation;
    simulation.drop_bend = config->has_any_fall ? FALL_BEND : simulation.drop_bend;
    enum sh_status status = sh_simulation_open(&simulation, &out->simulation, err);
    if (status != SH_OK) {
        return status;
    }
    if (config->has_any_fall) {
        draw_averaging(&out->simulation);
    }
    if (config->is_wide) {
        widen(&out->simulation);
    }
    if (config->curve_u_ratio > 0.0) {
        set_curves(&out->simulation, config->curve_u_ratio);
    }
    (void)snprintf(home, sizeof home, "%s/evening_XXXXXX", below != NULL ? below : "/tmp");
    if (mkdtemp(home) == NULL) {
        return sh_error_set(err, SH_ERR_IO, home, "set TMPDIR", "no folder can be made");
    }
    (void)snprintf(folder, sizeof folder, "%s/recording", home);
    status = record(&out->simulation, folder, err);
    if (status == SH_OK) {
        status = analyse(config, folder, &out->analysis, err);
    }
    (void)nftw(home, remove_entry, OPEN_FILES, FTW_DEPTH | FTW_PHYS);
    return status;
}

void evening_close(struct evening *evening)
{
    sh_analysis_close(&evening->analysis);
    sh_simulation_close(&evening->simulation);
}

static double get_done_s(const struct sh_truth *truth)
{
    return truth->kind == SH_TRUTH_SHOT ? truth->release_s : truth->let_down_s;
}

bool evening_find_draw(const struct evening *evening,
                       const struct sh_shot_record *record,
                       size_t *draw)
{
    const struct sh_session_plan *plan = evening->simulation.plan;
    const double at_s = sh_analysis_get_time_s(record);
    for (size_t i = 0; i < plan->n_draws; i++) {
        if (fabs(get_done_s(&plan->truth[i]) - at_s) < MATCH_S) {
            *draw = i;
            return true;
        }
    }
    return false;
}

const struct sh_shot_record *evening_find_record(const struct evening *evening, size_t draw)
{
    for (size_t i = 0; i < evening->analysis.n_shots; i++) {
        size_t found = 0;
        if (evening_find_draw(evening, &evening->analysis.shots[i], &found) && found == draw) {
            return &evening->analysis.shots[i];
        }
    }
    return NULL;
}
