/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "scene.h"
#include "support/cmocka_all.h"

#define SCALE_N  0.0125
#define ZERO     812.0
#define TAIL_S   4.0
#define SHOCK_HZ 90.0

static void open_stream(struct rig *rig, struct rig_stream *stream)
{
    stream->n_frames = (size_t)(rig->length_s * stream->described.rate_hz);
    stream->raw = calloc(stream->n_frames * stream->described.n_channels, sizeof *stream->raw);
    stream->is_filled = calloc(stream->n_frames, sizeof *stream->is_filled);
    assert_non_null(stream->raw);
    assert_non_null(stream->is_filled);
}

/* Places the draws one after the other and keeps their truth. */
static void place_draws(struct rig *rig, struct scene *scene)
{
    double now_s = 0.0;
    for (size_t k = 0; k < rig->n_draws; k++) {
        struct rig_draw *draw = &rig->draw[k];
        scene_make(&scene[k], draw->faults, 100 + k);
        const struct sh_archer_plan *plan = &scene[k].signal.plan;
        draw->begin_s = now_s + draw->gap_s;
        draw->draw_start_s = draw->begin_s + scene[k].truth.draw_start_s;
        draw->full_draw_s = draw->begin_s + scene[k].truth.full_draw_s;
        draw->release_s = draw->begin_s + scene[k].truth.release_s;
        draw->is_let_down = scene[k].truth.is_let_down;
        now_s = draw->begin_s + plan->loose_s + (draw->is_let_down ? plan->let_down_s : 0.1);
    }
    rig->length_s = now_s + TAIL_S;
}

void rig_open(struct rig *rig,
              const struct rig_draw *draw,
              size_t n_draws,
              double rate_hz,
              double noise_n)
{
    struct scene scene[RIG_DRAWS_MAX];
    struct sh_random random;
    sh_random_init(&random, 7);
    *rig = (struct rig){.n_draws = n_draws, .n_streams = 1};
    memcpy(rig->draw, draw, n_draws * sizeof *draw);
    place_draws(rig, scene);
    struct rig_stream *stream = &rig->stream[0];
    stream->described = (struct sh_stream){
        .name = "string", .rate_hz = rate_hz, .offset_u_s = 0.0002, .n_channels = 1};
    stream->described.channel[0] = (struct sh_channel){.role = SH_ROLE_STRING_FORCE,
                                                       .scale = SCALE_N,
                                                       .scale_u = 0.00004,
                                                       .zero = ZERO,
                                                       .delay_s = 0.0005,
                                                       .delay_u_s = 0.0002,
                                                       .has_range = true,
                                                       .range_low = -32768.0,
                                                       .range_high = 32767.0};
    open_stream(rig, stream);
    for (size_t i = 0; i < stream->n_frames; i++) {
        const double t_s = (double)i / rate_hz - 0.0005;
        double force_n = noise_n * sh_random_get_normal(&random);
        for (size_t k = 0; k < n_draws; k++) {
            force_n +=
                sh_string_signal_get_force_n(&scene[k].signal, t_s - rig->draw[k].begin_s);
        }
        stream->raw[i] = floor(ZERO + force_n / SCALE_N + 0.5);
    }
}

void rig_close(struct rig *rig)
{
    for (size_t s = 0; s < rig->n_streams; s++) {
        free(rig->stream[s].raw);
        free(rig->stream[s].is_filled);
    }
}

/* How the bow shakes from its releases. */
static double get_shake_m_s2(const struct rig *rig, double t_s)
{
    double shake_m_s2 = 0.0;
    for (size_t k = 0; k < rig->n_draws; k++) {
        const double after_s = t_s - rig->draw[k].release_s - 0.015;
        if (!rig->draw[k].is_let_down && after_s > 0.0 && after_s < 3.0) {
            shake_m_s2 += 150.0 * exp(-after_s / 0.08) * sin(2.0 * SH_PI * SHOCK_HZ * after_s);
        }
    }
    return shake_m_s2;
}

size_t rig_add_bow(struct rig *rig, double rate_hz)
{
    struct rig_stream *stream = &rig->stream[rig->n_streams];
    struct sh_random random;
    sh_random_init(&random, 8);
    stream->described = (struct sh_stream){
        .name = "bow", .rate_hz = rate_hz, .offset_s = 0.0031, .n_channels = 3};
    for (size_t c = 0; c < 3; c++) {
        stream->described.channel[c] =
            (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION,
                                .axis = (enum sh_axis)((int)SH_AXIS_X + (int)c),
                                .scale = 0.0383};
    }
    open_stream(rig, stream);
    for (size_t i = 0; i < stream->n_frames; i++) {
        const double shake_m_s2 = get_shake_m_s2(rig, 0.0031 + (double)i / rate_hz);
        for (size_t c = 0; c < 3; c++) {
            const double noise_m_s2 = 0.1 * sh_random_get_normal(&random);
            const double gravity_m_s2 = c == 2 ? 9.81 : 0.0;
            stream->raw[3 * i + c] =
                floor((shake_m_s2 / (double)(c + 1) + noise_m_s2 + gravity_m_s2) / 0.0383);
        }
    }
    return rig->n_streams++;
}

void rig_add_anchors(struct rig *rig, size_t stream, double drift_ratio)
{
    struct rig_stream *of = &rig->stream[stream];
    const double rate_hz = of->described.rate_hz;
    const size_t n = (size_t)ceil(rig->length_s / 10.0);
    for (size_t i = 0; i < n; i++) {
        const double t_s = 10.0 * (double)i;
        const double jump_s = 0.0002 * (double)((of->n_anchors * 7) % 5) - 0.0004;
        of->anchor[of->n_anchors++] = (struct sh_anchor){
            .frame = (uint64_t)(t_s * rate_hz),
            .time_s = of->described.offset_s + t_s * (1.0 + drift_ratio) + jump_s,
            .u_s = 0.0003};
    }
}

static void digest_bytes(uint64_t *digest, const void *bytes, size_t n)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < n; i++) {
        *digest = (*digest ^ byte[i]) * 1099511628211u; /* FNV-1a */
    }
}

static void digest_quantity(uint64_t *digest, const struct sh_quantity *quantity)
{
    digest_bytes(digest, &quantity->value, sizeof quantity->value);
    digest_bytes(digest, &quantity->u, sizeof quantity->u);
    digest_bytes(digest, &quantity->lo, sizeof quantity->lo);
    digest_bytes(digest, &quantity->hi, sizeof quantity->hi);
    digest_bytes(digest, &quantity->why, sizeof quantity->why);
}

static void digest_stream(uint64_t *digest, const struct sh_shot_stream *stream)
{
    digest_bytes(digest, &stream->first_frame, sizeof stream->first_frame);
    digest_bytes(digest, &stream->n_frames, sizeof stream->n_frames);
    digest_bytes(digest, stream->time_s, stream->n_frames * sizeof *stream->time_s);
    digest_bytes(digest, stream->flags, stream->n_frames);
    for (size_t c = 0; c < stream->stream->n_channels; c++) {
        digest_bytes(digest, stream->value[c], stream->n_frames * sizeof(double));
        digest_quantity(digest, &stream->rest_n[c]);
    }
}

static enum sh_status keep_shot(void *context,
                                const struct sh_shot *shot,
                                const struct sh_shot_view *view,
                                struct sh_error *err)
{
    struct rig_result *result = context;
    if (result->answer != SH_OK) {
        return sh_error_set(err, result->answer, "sink", NULL, "the sink says no");
    }
    assert_true(result->n_shots < RIG_SHOTS_MAX);
    result->shot[result->n_shots++] = *shot;
    uint64_t *digest = &result->digest;
    digest_bytes(digest, &shot->n, sizeof shot->n);
    digest_bytes(digest, &shot->kind, sizeof shot->kind);
    for (int e = 0; e < SH_EVENT_COUNT; e++) {
        digest_quantity(digest, &shot->event_s[e]);
    }
    digest_quantity(digest, &shot->rest_n);
    digest_quantity(digest, &shot->drop_n);
    digest_bytes(digest, &shot->rest_noise_n, sizeof shot->rest_noise_n);
    digest_bytes(digest, &shot->clicker_probability, sizeof shot->clicker_probability);
    for (size_t s = 0; s < view->n_streams; s++) {
        digest_stream(digest, &view->stream[s]);
    }
    if (view->force.is_present) {
        digest_bytes(digest, view->force.net_n, view->force.n_frames * sizeof(double));
        digest_bytes(digest, &view->force.scale_u_ratio, sizeof view->force.scale_u_ratio);
    }
    return SH_OK;
}

struct sh_shot_sink rig_sink(struct rig_result *result)
{
    *result = (struct rig_result){.digest = 14695981039346656037u};
    return (struct sh_shot_sink){keep_shot, result};
}

struct sh_segmenter *rig_open_segmenter(const struct rig *rig,
                                        const struct sh_segmenter_config *config,
                                        struct rig_result *result)
{
    struct sh_segmenter_config full = *config;
    struct sh_segmenter *segmenter = NULL;
    const struct sh_shot_sink sink = rig_sink(result);
    full.n_streams = rig->n_streams;
    for (size_t s = 0; s < rig->n_streams; s++) {
        full.stream[s] = &rig->stream[s].described;
    }
    assert_int_equal(sh_segmenter_open(&full, &sink, &segmenter, NULL), SH_OK);
    return segmenter;
}

/* Frames of the next block: up to the cut, an anchor or a change of filling. */
static size_t
next_block(const struct rig_stream *stream, size_t first, size_t wanted, size_t next_anchor)
{
    size_t n = stream->n_frames - first;
    n = wanted != 0 && wanted < n ? wanted : n;
    if (next_anchor < stream->n_anchors) {
        const size_t until = (size_t)stream->anchor[next_anchor].frame - first;
        n = until != 0 && until < n ? until : n;
    }
    size_t same = 1;
    while (same < n && stream->is_filled[first + same] == stream->is_filled[first]) {
        same++;
    }
    return same;
}

/* The stream whose next block ends first, its lead taken off; n_streams where all are done. */
static size_t choose_stream(const struct rig *rig,
                            const struct rig_cut *cut,
                            const size_t *done,
                            const size_t *anchors)
{
    size_t best = rig->n_streams;
    double best_s = 0.0;
    for (size_t s = 0; s < rig->n_streams; s++) {
        const struct rig_stream *stream = &rig->stream[s];
        if (done[s] == stream->n_frames) {
            continue;
        }
        const size_t n = next_block(stream, done[s], cut->block_frames[s], anchors[s]);
        const double end_s =
            (double)(done[s] + n) / stream->described.rate_hz - cut->ahead_s[s];
        if (best == rig->n_streams || end_s < best_s) {
            best = s;
            best_s = end_s;
        }
    }
    return best;
}

static void push_all_anchors(const struct rig *rig, struct sh_segmenter *segmenter, size_t *n)
{
    for (size_t s = 0; s < rig->n_streams; s++) {
        for (; n[s] < rig->stream[s].n_anchors; n[s]++) {
            assert_int_equal(
                sh_segmenter_push_anchor(segmenter, s, &rig->stream[s].anchor[n[s]], NULL),
                SH_OK);
        }
    }
}

void rig_push(const struct rig *rig, const struct rig_cut *cut, struct sh_segmenter *segmenter)
{
    size_t done[SH_STREAMS_MAX] = {0};
    size_t anchors[SH_STREAMS_MAX] = {0};
    if (cut->reading == SH_TIMEBASE_BETWEEN) {
        push_all_anchors(rig, segmenter, anchors);
    }
    for (;;) {
        const size_t s = choose_stream(rig, cut, done, anchors);
        if (s == rig->n_streams) {
            return;
        }
        const struct rig_stream *stream = &rig->stream[s];
        if (anchors[s] < stream->n_anchors && stream->anchor[anchors[s]].frame == done[s]) {
            assert_int_equal(
                sh_segmenter_push_anchor(segmenter, s, &stream->anchor[anchors[s]++], NULL),
                SH_OK);
        }
        const struct sh_block block = {
            .stream = s,
            .first_frame = done[s],
            .n_frames = next_block(stream, done[s], cut->block_frames[s], anchors[s]),
            .n_channels = stream->described.n_channels,
            .raw = stream->raw + done[s] * stream->described.n_channels,
            .is_filled = stream->is_filled[done[s]]};
        assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_OK);
        done[s] += block.n_frames;
    }
}

const struct rig_draw rig_some_draws[RIG_SOME_DRAWS] = {
    {.gap_s = 3.0},
    {.gap_s = 6.0, .faults = SH_ARCHER_LET_DOWN},
    {.gap_s = 0.8}, /* soon after the let-down */
    {.gap_s = 9.0, .faults = SH_ARCHER_COLLAPSE},
};

struct sh_segmenter_config rig_get_config(double weight_n)
{
    struct sh_segmenter_config config = sh_segmenter_config_default();
    if (weight_n > 0.0) {
        config.bow.draw_weight_n = sh_quantity_known(weight_n, 1.0);
    }
    return config;
}

struct rig_result rig_run(const struct rig *rig,
                          const struct sh_segmenter_config *config,
                          const struct rig_cut *cut)
{
    struct rig_result result;
    struct sh_segmenter *segmenter = rig_open_segmenter(rig, config, &result);
    struct rig_cut full = *cut;
    full.reading = config->reading;
    rig_push(rig, &full, segmenter);
    assert_int_equal(sh_segmenter_flush(segmenter, NULL), SH_OK);
    sh_segmenter_close(&segmenter);
    assert_null(segmenter);
    return result;
}
