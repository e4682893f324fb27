/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/events/practice.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/recording_writer.h"
#include "sim/chance.h"
#include "sim/channel_set.h"
#include "sim/sampler.h"

#define PART_EVENING  5000u /* of the seed */
#define PART_DISTURB  5001u
#define PART_SATURATE 5002u
#define WEAK_SET      "weak1000" /* force1000 with a sensor that is too weak for the bow */
#define SATURATE_LOW  0.6        /* of the bow's force: where such a sensor's range ends */
#define SATURATE_HIGH 1.02
#define BLOCK_FRAMES  4000u
#define TRAVEL_RATIO  2.4 /* a light bow is drawn less far: travel, of force over stiffness */
#define SLOW_BOW_HZ   1600.0
#define CLIPPED_COUNT 1024.0 /* 39 m/s2: a sensor of 4 g */

static const char *const sets[] = {"force80", "force1000", "force_bow", "fingers_bow", "bow",
                                   "bow1600", "contact",   "sound",     WEAK_SET};

const char *practice_get_set(size_t index)
{
    return index < sizeof sets / sizeof sets[0] ? sets[index] : NULL;
}

static enum sh_status
find_sources(struct practice *practice, const char *set, struct sh_error *err)
{
    const bool is_slow = strcmp(set, "bow1600") == 0;
    const char *name = strcmp(set, WEAK_SET) == 0 ? "force1000" : set;
    const enum sh_status status = sh_channel_set_find(is_slow ? "bow" : name, practice->source,
                                                      &practice->n_sources, err);
    if (status == SH_OK && is_slow) {
        practice->source[0].stream.rate_hz = SLOW_BOW_HZ;
    }
    return status;
}

static enum sh_status
open_plan(struct practice *practice, struct sh_random *random, struct sh_error *err)
{
    struct sh_session_plan_config plan = sh_session_plan_config_default();
    plan.seed = practice->seed;
    plan.n_draws = PRACTICE_DRAWS;
    plan.end_rest_s = 10.0;
    plan.set_up_low_s = 7.0;
    plan.clock_s = 0.0;
    plan.has_clicker = !sh_chance_is(random, 0.1);
    const double ratio = sh_chance_between(random, 40.0, 300.0) / plan.bow.full_force_n;
    plan.bow.full_force_n *= ratio;
    plan.bow.stiffness_n_per_m = fmin(fmax(plan.bow.stiffness_n_per_m * ratio, 280.0), 600.0);
    plan.bow.full_travel_m = fmin(plan.bow.full_travel_m, TRAVEL_RATIO * plan.bow.full_force_n /
                                                              plan.bow.stiffness_n_per_m);
    for (size_t i = 0; i < SH_ARCHER_FAULTS; i++) {
        plan.fault_ratio[i] = 0.08;
    }
    plan.half_draw_ratio = 0.08;
    plan.double_draw_ratio = 0.08;
    plan.drop_bend = 0.35;
    plan.drift_n_per_h = sh_chance_between(random, -10.0, 10.0);
    return sh_session_plan_open(&plan, &practice->plan, err);
}

static void spoil_sources(struct practice *practice, struct sh_random *random)
{
    const bool has_losses = sh_chance_is(random, 0.15);
    const bool is_clipped = sh_chance_is(random, 0.2);
    for (size_t i = 0; i < practice->n_sources; i++) {
        struct sh_stream_source_config *source = &practice->source[i];
        source->clock_ppm = sh_chance_between(random, -100.0, 100.0);
        source->lost_per_h = has_losses ? 120.0 : 0.0;
        source->lost_frames_max = (uint64_t)(0.05 * source->stream.rate_hz);
        for (size_t c = 0; c < source->stream.n_channels && is_clipped; c++) {
            struct sh_channel *channel = &source->stream.channel[c];
            if (channel->role == SH_ROLE_BOW_ACCELERATION) {
                channel->range_low = -CLIPPED_COUNT;
                channel->range_high = CLIPPED_COUNT;
            }
        }
    }
    practice->is_clean = !has_losses && !is_clipped;
}

/* A force sensor that is too weak for the bow. */
static void saturate_force(struct practice *practice)
{
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(practice->seed, PART_SATURATE));
    const double most_n = sh_chance_between(&random, SATURATE_LOW, SATURATE_HIGH) *
                          practice->plan->config.bow.full_force_n;
    for (size_t i = 0; i < practice->n_sources; i++) {
        struct sh_stream *stream = &practice->source[i].stream;
        for (size_t c = 0; c < stream->n_channels; c++) {
            struct sh_channel *channel = &stream->channel[c];
            if (channel->role == SH_ROLE_STRING_FORCE) {
                channel->has_range = true;
                channel->range_high = floor(channel->zero + most_n / channel->scale);
            }
        }
    }
    practice->is_clean = false;
    /* disturbances come behind the range in here, where they would move its end */
    practice->disturbance.hum_n = 0.0;
    practice->disturbance.step_ratio = 0.0;
    practice->disturbance.spikes_per_h = 0.0;
    practice->disturbance.bump_ratio = 0.0;
}

static void draw_disturbance(struct practice *practice, struct sh_random *random)
{
    struct sh_disturbance_config *config = &practice->disturbance;
    *config =
        (struct sh_disturbance_config){.plan = practice->plan,
                                       .n_streams = practice->n_sources,
                                       .seed = sh_chance_seed(practice->seed, PART_DISTURB),
                                       .hum_hz = 50.0,
                                       .bump_ratio = 0.5,
                                       .bump_n = 15.0};
    for (size_t i = 0; i < practice->n_sources; i++) {
        config->stream[i] = &practice->source[i].stream;
    }
    if (sh_chance_is(random, 0.15)) {
        config->hum_n = sh_chance_between(random, 0.1, 0.5);
    }
    if (sh_chance_is(random, 0.2)) {
        config->step_ratio = 0.5;
        config->step_n = 5.0;
    }
    if (sh_chance_is(random, 0.15)) {
        config->spikes_per_h = 120.0;
        config->spike_n = 200.0;
    }
    practice->is_clean = practice->is_clean && config->hum_n <= 0.0 && config->step_n <= 0.0 &&
                         config->spike_n <= 0.0;
}

static void fill_session(struct practice *practice, struct sh_random *random)
{
    struct sh_session *session = practice->session;
    (void)snprintf(session->started, sizeof session->started, "2026-05-14T09:30:00.000Z");
    (void)snprintf(session->athlete, sizeof session->athlete, "plover");
    (void)snprintf(session->bow.name, sizeof session->bow.name, "kiln");
    session->bow.draw_weight_n = sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    session->bow.stiffness_n_per_m = sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    if (sh_chance_is(random, 0.5)) {
        session->bow.draw_weight_n =
            sh_quantity_known(practice->plan->config.bow.full_force_n, 0.0);
    }
    if (sh_chance_is(random, 0.5)) {
        session->bow.clicker =
            practice->plan->config.has_clicker ? SH_ANSWER_YES : SH_ANSWER_NO;
    }
    session->n_streams = practice->n_sources;
    for (size_t i = 0; i < practice->n_sources; i++) {
        session->streams[i].stream = practice->source[i].stream;
    }
}

enum sh_status
practice_open(struct practice *practice, const char *set, uint64_t seed, struct sh_error *err)
{
    *practice = (struct practice){.seed = seed};
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(seed, PART_EVENING));
    practice->session = calloc(1, sizeof *practice->session);
    if (practice->session == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "bench", NULL, "out of memory");
    }
    enum sh_status status = find_sources(practice, set, err);
    if (status == SH_OK) {
        status = open_plan(practice, &random, err);
    }
    if (status == SH_OK) {
        spoil_sources(practice, &random);
        draw_disturbance(practice, &random);
        if (strcmp(set, WEAK_SET) == 0) {
            saturate_force(practice);
        }
        fill_session(practice, &random);
    }
    return status;
}

void practice_close(struct practice *practice)
{
    sh_session_plan_close(&practice->plan);
    if (practice->session != NULL) {
        sh_session_close(practice->session);
    }
    free(practice->session);
    *practice = (struct practice){0};
}

enum sh_status
practice_write(const struct practice *practice, const char *folder, struct sh_error *err)
{
    struct sh_recording_writer_config writing = sh_recording_writer_config_default();
    writing.is_synced = false;
    struct sh_recording_writer *writer = NULL;
    struct sh_disturbance *disturbance = NULL;
    struct sh_sampler *sampler = NULL;
    enum sh_status status =
        sh_recording_writer_open(folder, practice->session, &writing, &writer, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_block_sink end = sh_recording_writer_sink(writer);
    status = sh_disturbance_open(&practice->disturbance, &end, &disturbance, err);
    if (status == SH_OK) {
        const struct sh_sampler_config sampling = {.plan = practice->plan,
                                                   .seed = practice->seed,
                                                   .stream = practice->source,
                                                   .n_streams = practice->n_sources,
                                                   .block_frames = BLOCK_FRAMES,
                                                   .has_errors = true};
        const struct sh_block_sink sink = sh_disturbance_get_sink(disturbance);
        status = sh_sampler_open(&sampling, &sink, &sampler, err);
    }
    if (status == SH_OK) {
        status = sh_sampler_advance(sampler, practice->plan->duration_s + 1.0, err);
    }
    if (status == SH_OK) {
        status = sh_recording_writer_finish(writer, false, err);
    }
    sh_sampler_close(&sampler);
    sh_disturbance_close(&disturbance);
    sh_recording_writer_close(&writer);
    return status;
}
