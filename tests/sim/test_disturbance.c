/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/disturbance.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ  1000.0
#define SCALE    0.01
#define N_FRAMES 40000u

/* Two channels: a force and an acceleration, which is never touched. */
struct heard {
    double force[N_FRAMES];
    double bow[N_FRAMES];
    size_t n_filled;
    size_t n_anchors;
    bool is_refusing;
};

static enum sh_status
hear_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct heard *heard = context;
    for (size_t i = 0; i < block->n_frames; i++) {
        heard->force[block->first_frame + i] = block->raw[2 * i];
        heard->bow[block->first_frame + i] = block->raw[2 * i + 1];
    }
    heard->n_filled += block->is_filled ? block->n_frames : 0;
    return heard->is_refusing ? sh_error_set(err, SH_ERR_IO, NULL, NULL, "full") : SH_OK;
}

static enum sh_status
hear_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct heard *heard = context;
    heard->n_anchors++;
    return SH_OK;
}

struct scene {
    struct sh_session_plan *plan;
    struct sh_stream stream;
    struct sh_disturbance_config config;
    struct heard *heard;
};

static int set_up(void **state)
{
    static struct heard heard;
    static struct scene scene;
    struct sh_session_plan_config plan = sh_session_plan_config_default();
    plan.n_draws = 2;
    scene = (struct scene){.heard = &heard};
    memset(&heard, 0, sizeof heard);
    assert_int_equal(sh_session_plan_open(&plan, &scene.plan, NULL), SH_OK);
    assert_true(scene.plan->duration_s * RATE_HZ < N_FRAMES);
    scene.stream = (struct sh_stream){.rate_hz = RATE_HZ, .n_channels = 2};
    scene.stream.channel[0] = (struct sh_channel){.role = SH_ROLE_STRING_FORCE,
                                                  .scale = SCALE,
                                                  .has_range = true,
                                                  .range_low = -2000.0,
                                                  .range_high = 2000.0};
    scene.stream.channel[1] =
        (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION, .scale = SCALE};
    scene.config = (struct sh_disturbance_config){
        .plan = scene.plan, .stream = {&scene.stream}, .n_streams = 1, .seed = 3};
    *state = &scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    sh_session_plan_close(&scene->plan);
    return 0;
}

/* Sends zeros in blocks of n_block frames; the last 10 frames as filled ones. */
static enum sh_status send(struct scene *scene, size_t n_block)
{
    static const double zeros[2 * N_FRAMES];
    struct sh_disturbance *disturbance = NULL;
    const struct sh_block_sink sink = {hear_block, hear_anchor, scene->heard};
    assert_int_equal(sh_disturbance_open(&scene->config, &sink, &disturbance, NULL), SH_OK);
    const struct sh_block_sink in = sh_disturbance_get_sink(disturbance);
    const struct sh_anchor anchor = {0, 0.0, 0.0};
    enum sh_status status = in.anchor(in.context, 0, &anchor, NULL);
    for (size_t at = 0; at < N_FRAMES && status == SH_OK; at += n_block) {
        const struct sh_block block = {.first_frame = at,
                                       .n_frames = n_block,
                                       .n_channels = 2,
                                       .raw = zeros,
                                       .is_filled = at + n_block > N_FRAMES - 10};
        status = in.block(in.context, &block, NULL);
    }
    sh_disturbance_close(&disturbance);
    return status;
}

static void test_hum(void **state)
{
    struct scene *scene = *state;
    scene->config.hum_n = 2.0;
    scene->config.hum_hz = 50.0;
    assert_int_equal(send(scene, 10), SH_OK);
    for (size_t i = 0; i < N_FRAMES - 10; i++) {
        const double expected = 200.0 * sin(2.0 * SH_PI * 50.0 * (double)i / RATE_HZ);
        assert_near(scene->heard->force[i], expected, 0.5, 1e-9);
        assert_near(scene->heard->bow[i], 0.0, 0.0, 0.0);
    }
    assert_near(scene->heard->force[N_FRAMES - 5], 0.0, 0.0, 0.0);
    assert_int_equal(scene->heard->n_filled, 10);
    assert_int_equal(scene->heard->n_anchors, 1);
}

/* Bumps lie before the hand takes up the string, and are gone by then. */
static void test_bumps(void **state)
{
    struct scene *scene = *state;
    scene->config.bump_ratio = 1.0;
    scene->config.bump_n = 10.0;
    assert_int_equal(send(scene, 100), SH_OK);
    size_t n_bumps = 0;
    for (size_t i = 1; i < N_FRAMES; i++) {
        const double force = scene->heard->force[i];
        assert_true(force >= 0.0 && force <= 1000.0);
        n_bumps += force > 0.0 && scene->heard->force[i - 1] <= 0.0 ? 1 : 0;
        const struct sh_session_draw *draw =
            &scene->plan->draw[(double)i / RATE_HZ > scene->plan->truth[0].release_s ? 1 : 0];
        const double before_s = draw->hand_s - (double)i / RATE_HZ;
        assert_true(force <= 0.0 || (before_s > 0.8 && before_s <= 2.5));
    }
    assert_int_equal(n_bumps, 2);
}

/* A step stays, to the end. */
static void test_steps(void **state)
{
    struct scene *scene = *state;
    scene->config.step_ratio = 1.0;
    scene->config.step_n = 5.0;
    assert_int_equal(send(scene, 100), SH_OK);
    size_t n_steps = 0;
    for (size_t i = 1; i < N_FRAMES - 100; i++) {
        n_steps += fabs(scene->heard->force[i] - scene->heard->force[i - 1]) > 0.5 ? 1 : 0;
    }
    assert_int_equal(n_steps, 2);
    assert_true(fabs(scene->heard->force[N_FRAMES - 101]) <= 1000.0);
}

/* Single frames, and no further than the channel reaches. */
static void test_spikes(void **state)
{
    struct scene *scene = *state;
    scene->config.spikes_per_h = 3600.0;
    scene->config.spike_n = 200.0;
    assert_int_equal(send(scene, 100), SH_OK);
    size_t n_spikes = 0;
    for (size_t i = 0; i < N_FRAMES - 100; i++) {
        const bool is_spike = fabs(scene->heard->force[i]) > 0.5;
        assert_true(!is_spike || fabs(fabs(scene->heard->force[i]) - 2000.0) < 0.5);
        n_spikes += is_spike ? 1 : 0;
    }
    assert_true(fabs((double)n_spikes - scene->plan->duration_s) <= 2.0);
}

static void test_cut_changes_nothing(void **state)
{
    struct scene *scene = *state;
    static double whole[N_FRAMES];
    scene->config.hum_n = 1.0;
    scene->config.hum_hz = 50.0;
    scene->config.bump_ratio = scene->config.step_ratio = 0.5;
    scene->config.bump_n = scene->config.step_n = 5.0;
    scene->config.spikes_per_h = 3600.0;
    scene->config.spike_n = 5.0;
    assert_int_equal(send(scene, 10), SH_OK);
    memcpy(whole, scene->heard->force, sizeof whole);
    assert_int_equal(send(scene, 1), SH_OK);
    assert_memory_equal(whole, scene->heard->force, sizeof whole);
}

static void test_refusals(void **state)
{
    struct scene *scene = *state;
    struct sh_disturbance *disturbance = NULL;
    const struct sh_block_sink sink = {hear_block, hear_anchor, scene->heard};
    double *figure[] = {&scene->config.hum_n,        &scene->config.bump_ratio,
                        &scene->config.bump_n,       &scene->config.step_ratio,
                        &scene->config.step_n,       &scene->config.hum_hz,
                        &scene->config.spikes_per_h, &scene->config.spike_n};
    for (size_t i = 0; i < sizeof figure / sizeof figure[0]; i++) {
        *figure[i] = -1.0;
        assert_int_equal(sh_disturbance_open(&scene->config, &sink, &disturbance, NULL),
                         SH_ERR_ARGUMENT);
        *figure[i] = 0.0;
    }
    assert_null(disturbance);
    assert_int_equal(sh_disturbance_open(&scene->config, &sink, &disturbance, NULL), SH_OK);
    const struct sh_block_sink in = sh_disturbance_get_sink(disturbance);
    const double raw[3] = {0.0};
    struct sh_block block = {.n_frames = 1, .n_channels = 3, .raw = raw};
    assert_int_equal(in.block(in.context, &block, NULL), SH_ERR_ARGUMENT);
    block = (struct sh_block){.stream = 1, .n_frames = 1, .n_channels = 2, .raw = raw};
    assert_int_equal(in.block(in.context, &block, NULL), SH_ERR_ARGUMENT);
    sh_disturbance_close(&disturbance);
    sh_disturbance_close(&disturbance);
    sh_disturbance_close(NULL);
    scene->heard->is_refusing = true;
    assert_int_equal(send(scene, 100), SH_ERR_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_hum, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_bumps, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_steps, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_spikes, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_cut_changes_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_refusals, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
