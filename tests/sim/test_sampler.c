/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sampler.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_STREAMS 3u

/* What came of one stream: a running sum over all bits of frames, flags and anchors. */
struct heard {
    uint64_t hash;
    uint64_t n_frames;
    uint64_t n_filled;
    uint64_t n_losses;
    uint64_t n_anchors;
    uint64_t last_filled; /* frame behind the last filled one */
    double last_raw[SH_STREAM_CHANNELS_MAX];
    double begin_s; /* of the last block */
};

struct listener {
    struct heard heard[SH_STREAMS_MAX];
    double rate_hz[SH_STREAMS_MAX];
    double latest_s;
    uint64_t stop_after; /* blocks until the sink refuses; 0: never */
    uint64_t n_blocks;
};

static void add_bits(uint64_t *hash, const void *bytes, size_t n_bytes)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < n_bytes; i++) {
        *hash = (*hash ^ byte[i]) * UINT64_C(0x100000001b3);
    }
}

static enum sh_status
hear_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct listener *listener = context;
    struct heard *heard = &listener->heard[block->stream];
    const size_t n_bytes = block->n_channels * sizeof(double);
    if (listener->stop_after > 0 && ++listener->n_blocks > listener->stop_after) {
        return sh_error_set(err, SH_ERR_IO, NULL, NULL, "enough");
    }
    assert_true(block->n_frames > 0);
    assert_true(block->first_frame == heard->n_frames);
    for (size_t i = 0; i < block->n_frames; i++) {
        const double *raw = &block->raw[i * block->n_channels];
        add_bits(&heard->hash, raw, n_bytes);
        add_bits(&heard->hash, &block->is_filled, sizeof block->is_filled);
        if (block->is_filled) {
            assert_memory_equal(raw, heard->last_raw, n_bytes);
            heard->n_losses += heard->last_filled == block->first_frame + i ? 0 : 1;
            heard->last_filled = block->first_frame + i + 1;
            heard->n_filled++;
        }
        memcpy(heard->last_raw, raw, n_bytes);
    }
    heard->begin_s = (double)block->first_frame / listener->rate_hz[block->stream];
    assert_true(heard->begin_s > listener->latest_s - SH_SAMPLER_SLICE_S - 0.02);
    listener->latest_s = fmax(listener->latest_s, heard->begin_s);
    heard->n_frames += block->n_frames;
    return SH_OK;
}

static enum sh_status
hear_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct listener *listener = context;
    struct heard *heard = &listener->heard[stream];
    assert_true(anchor->frame == heard->n_frames);
    add_bits(&heard->hash, &anchor->time_s, sizeof anchor->time_s);
    heard->n_anchors++;
    return SH_OK;
}

static struct sh_session_plan *open_plan(size_t n_draws)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = n_draws;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    return plan;
}

/* 80 Hz of force, 10 kHz of sound, 1000 Hz of acceleration and contact; all with faults. */
static struct sh_stream_source_config *make_streams(void)
{
    struct sh_stream_source_config *stream = calloc(N_STREAMS, sizeof *stream);
    assert_non_null(stream);
    const double rate_hz[N_STREAMS] = {80.0, 10000.0, 1000.0};
    for (size_t i = 0; i < N_STREAMS; i++) {
        stream[i].stream.rate_hz = rate_hz[i];
        stream[i].stream.n_channels = i == 2 ? 2 : 1;
        stream[i].stream.channel[0] =
            (struct sh_channel){.scale = 0.01, .noise = 0.05, .axis = SH_AXIS_X};
        stream[i].clock_ppm = 100.0 * (double)i - 70.0;
        stream[i].stream.offset_s = 0.01 * (double)i;
        stream[i].anchor_period_s = 10.0;
        stream[i].anchor_u_s = 2e-4;
        stream[i].lost_per_h = 600.0;
        stream[i].lost_frames_max = 20;
    }
    stream[0].boxcar_s = 0.0125;
    stream[0].stream.channel[0].role = SH_ROLE_STRING_FORCE;
    stream[1].stream.channel[0].role = SH_ROLE_SOUND;
    stream[2].stream.channel[0].role = SH_ROLE_BOW_ACCELERATION;
    stream[2].stream.channel[1] =
        (struct sh_channel){.role = SH_ROLE_CLICKER_CONTACT, .scale = 1.0};
    return stream;
}

/* Runs a session in steps of step_s with blocks of block_frames. */
static void listen(struct listener *listener,
                   const struct sh_session_plan *plan,
                   const struct sh_stream_source_config *stream,
                   size_t block_frames,
                   double step_s)
{
    const struct sh_sampler_config config = {.plan = plan,
                                             .seed = 7,
                                             .stream = stream,
                                             .n_streams = N_STREAMS,
                                             .block_frames = block_frames};
    const struct sh_block_sink sink = {hear_block, hear_anchor, listener};
    struct sh_sampler *sampler = NULL;
    *listener = (struct listener){0};
    for (size_t i = 0; i < N_STREAMS; i++) {
        listener->rate_hz[i] = stream[i].stream.rate_hz;
    }
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    for (int i = 1; !sh_sampler_is_done(sampler); i++) {
        assert_int_equal(sh_sampler_advance(sampler, i * step_s, NULL), SH_OK);
    }
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK); /* adds nothing */
    sh_sampler_close(&sampler);
    assert_null(sampler);
}

static void check_same(const struct listener *a, const struct listener *b)
{
    for (size_t i = 0; i < N_STREAMS; i++) {
        assert_true(a->heard[i].n_frames == b->heard[i].n_frames);
        assert_true(a->heard[i].n_filled == b->heard[i].n_filled);
        assert_true(a->heard[i].n_anchors == b->heard[i].n_anchors);
        assert_true(a->heard[i].hash == b->heard[i].hash);
    }
}

/* However the session is cut, not one bit changes; all frames of the session come. */
static void test_cuts(void **state)
{
    struct sh_session_plan *plan = open_plan(2);
    struct sh_stream_source_config *stream = make_streams();
    struct listener whole;
    struct listener cut;
    listen(&whole, plan, stream, 4096, 1e9);
    for (size_t i = 0; i < N_STREAMS; i++) {
        const double n = plan->duration_s * stream[i].stream.rate_hz;
        assert_near((double)whole.heard[i].n_frames, n, 0.011 * stream[i].stream.rate_hz + 2.0,
                    2e-4);
    }
    const size_t block_frames[] = {1, 7, 64, 1000};
    const double step_s[] = {0.37, 0.05, 11.0, 0.001};
    for (size_t i = 0; i < 4; i++) {
        listen(&cut, plan, stream, block_frames[i], step_s[i]);
        check_same(&whole, &cut);
    }
    free(stream);
    sh_session_plan_close(&plan);
}

/* After reset the same comes again; another seed brings something else. */
static void test_reset(void **state)
{
    struct sh_session_plan *plan = open_plan(1);
    struct sh_stream_source_config *stream = make_streams();
    struct listener first;
    struct listener again = {.rate_hz = {80.0, 10000.0, 1000.0}};
    struct sh_sampler_config config = {plan, 7, stream, N_STREAMS, 512, false};
    const struct sh_block_sink sink = {hear_block, hear_anchor, &again};
    struct sh_sampler *sampler = NULL;
    listen(&first, plan, stream, 512, 1e9);
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 5.05, NULL), SH_OK);
    assert_false(sh_sampler_is_done(sampler));
    memset(again.heard, 0, sizeof again.heard);
    again.latest_s = 0.0;
    sh_sampler_reset(sampler);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK);
    assert_true(sh_sampler_is_done(sampler));
    check_same(&first, &again);
    sh_sampler_close(&sampler);

    config.seed = 8;
    memset(again.heard, 0, sizeof again.heard);
    again.latest_s = 0.0;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK);
    for (size_t i = 0; i < N_STREAMS; i++) {
        assert_true(first.heard[i].hash != again.heard[i].hash);
    }
    sh_sampler_close(&sampler);
    free(stream);
    sh_session_plan_close(&plan);
}

/* Losses come as often as asked for, one anchor every ten seconds, and none where not asked. */
static void test_losses(void **state)
{
    struct sh_session_plan *plan = open_plan(8);
    struct sh_stream_source_config *stream = make_streams();
    struct listener listener;
    stream[1].stream.rate_hz = 1.0; /* only the other two matter here */
    stream[1].lost_per_h = 0.0;
    listen(&listener, plan, stream, 4096, 1e9);
    const double expected = plan->duration_s * 600.0 / 3600.0;
    for (size_t i = 0; i < N_STREAMS; i += 2) {
        const struct heard *heard = &listener.heard[i];
        assert_near((double)heard->n_losses, expected, 4.0 * sqrt(expected), 0.0);
        const double mean = (double)heard->n_filled / (double)heard->n_losses;
        assert_near(mean, 10.5, 4.0 * 5.8 / sqrt(expected), 0.0);
        assert_near((double)heard->n_anchors, 1.0 + floor(plan->duration_s / 10.0), 1.0, 0.0);
    }
    assert_true(listener.heard[1].n_losses == 0);
    free(stream);
    sh_session_plan_close(&plan);
}

/* An anchor's time is the frame's, to its uncertainty. */
struct anchors {
    double error_s[64];
    size_t n;
    double ppm;
};

static enum sh_status
keep_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct anchors *anchors = context;
    const double true_s = 0.5 + (double)anchor->frame / (80.0 * (1.0 + 1e-6 * anchors->ppm));
    assert_true(stream == 0 && anchors->n < 64);
    assert_near(anchor->u_s, 1e-3, 0.0, 0.0);
    anchors->error_s[anchors->n++] = anchor->time_s - true_s;
    return SH_OK;
}

static enum sh_status
drop_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    return SH_OK;
}

static void test_anchors(void **state)
{
    struct sh_session_plan *plan = open_plan(3);
    struct sh_stream_source_config *stream = make_streams();
    struct anchors anchors = {.ppm = 250.0};
    const struct sh_block_sink sink = {drop_block, keep_anchor, &anchors};
    const struct sh_sampler_config config = {plan, 3, stream, 1, 512, false};
    struct sh_sampler *sampler = NULL;
    stream[0].clock_ppm = anchors.ppm;
    stream[0].stream.offset_s = 0.5;
    stream[0].anchor_u_s = 1e-3;
    stream[0].anchor_period_s = 1.0;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK);
    sh_sampler_close(&sampler);
    double square_sum = 0.0;
    for (size_t i = 0; i < anchors.n; i++) {
        square_sum += anchors.error_s[i] * anchors.error_s[i];
    }
    assert_true(anchors.n > 40);
    assert_near(sqrt(square_sum / (double)anchors.n), 1e-3, 0.0,
                4.0 / sqrt(2.0 * (double)anchors.n));
    free(stream);
    sh_session_plan_close(&plan);
}

/* A sink's refusal stops the sampler and comes back with its words. */
static void test_sink_error(void **state)
{
    struct sh_session_plan *plan = open_plan(1);
    struct sh_stream_source_config *stream = make_streams();
    struct listener listener = {.rate_hz = {80.0, 10000.0, 1000.0}, .stop_after = 5};
    const struct sh_block_sink sink = {hear_block, hear_anchor, &listener};
    const struct sh_sampler_config config = {plan, 7, stream, N_STREAMS, 64, false};
    struct sh_sampler *sampler = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, &err), SH_ERR_IO);
    assert_string_equal(err.what, "enough");
    assert_true(listener.n_blocks == 6);
    assert_false(sh_sampler_is_done(sampler));
    sh_sampler_close(&sampler);
    sh_sampler_close(&sampler);
    free(stream);
    sh_session_plan_close(&plan);
}

static void test_refusals(void **state)
{
    struct sh_session_plan *plan = open_plan(1);
    struct sh_stream_source_config *stream = make_streams();
    struct sh_block_sink sink = {drop_block, NULL, NULL};
    struct sh_sampler_config config = {plan, 1, stream, 0, 64, false};
    struct sh_sampler *sampler = NULL;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    config.n_streams = SH_STREAMS_MAX + 1;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    config.n_streams = 1;
    config.block_frames = 0;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    config.block_frames = 65537;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    config.block_frames = 65536;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    stream[0].anchor_period_s = 0.0; /* now no place for anchors is needed */
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    sh_sampler_close(&sampler);
    stream[0].stream.n_channels = SH_STREAM_CHANNELS_MAX + 1;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    stream[0].stream.n_channels = 1;
    stream[0].stream.has_crosstalk = true;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_ERR_ARGUMENT);
    assert_null(sampler);
    free(stream);
    sh_session_plan_close(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cuts),       cmocka_unit_test(test_reset),
        cmocka_unit_test(test_losses),     cmocka_unit_test(test_anchors),
        cmocka_unit_test(test_sink_error), cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
