/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/stream_source.h"

#include <math.h>
#include <string.h>

#include "metrology/scale.h"
#include "sim/channel_set.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_session_plan *open_plan(void)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = 2;
    config.drift_n_per_h = 0.0;
    config.drift_swing_n = 0.0;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    return plan;
}

static void set_force(struct sh_stream_source_config *config, double rate_hz, double noise_n)
{
    memset(config, 0, sizeof *config);
    config->stream.rate_hz = rate_hz;
    config->stream.n_channels = 1;
    config->stream.channel[0] = (struct sh_channel){.role = SH_ROLE_STRING_FORCE,
                                                    .scale = 0.0125,
                                                    .zero = 812,
                                                    .noise = noise_n,
                                                    .has_range = true,
                                                    .range_low = -32768,
                                                    .range_high = 32767};
}

static double get_force_n(struct sh_stream_source *source, uint64_t frame)
{
    double raw[SH_STREAM_CHANNELS_MAX];
    sh_stream_source_make(source, frame, raw);
    assert_near(raw[0], nearbyint(raw[0]), 0.0, 0.0);
    return sh_scale_value(&source->config.stream.channel[0], raw[0]);
}

/* Without noise a count is the signal to half a step, at the frame's true time less the lag. */
static void test_signal(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config;
    struct sh_stream_source source;
    set_force(&config, 1000.0, 0.0);
    config.clock_ppm = 300.0;
    config.stream.offset_s = 0.4;
    config.offset_error_s = -0.001;
    config.stream.channel[0].delay_s = 0.002;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_OK);
    const struct sh_session_draw *draw = &plan->draw[0];
    double largest_n = 0.0;
    for (uint64_t frame = 0; frame < 30000; frame += 7) {
        const double t_s = 0.4 - 0.001 + (double)frame / (1000.0 * 1.0003);
        assert_near(sh_stream_source_get_time_s(&source, frame), t_s, 1e-9, 0.0);
        const double true_n =
            t_s - 0.002 < sh_session_draw_get_end_s(draw)
                ? sh_string_signal_get_force_n(&draw->string, t_s - 0.002 - draw->hand_s)
                : 0.0;
        if (t_s < sh_session_draw_get_begin_s(&plan->draw[1])) {
            assert_near(get_force_n(&source, frame), true_n, 0.00626, 0.0);
            largest_n = fmax(largest_n, true_n);
        }
    }
    assert_true(largest_n > 170.0);
    sh_session_plan_close(&plan);
}

/* The noise is what the channel says, with the rms of a step on top, and white. */
static void test_noise(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config;
    struct sh_stream_source source;
    set_force(&config, 20000.0, 0.1);
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 2, NULL), SH_OK);
    const uint64_t n = 40000; /* the first 2 s: nothing happens */
    double square_sum = 0.0;
    double product_sum = 0.0;
    double last_n = 0.0;
    for (uint64_t frame = 0; frame < n; frame++) {
        const double force_n = get_force_n(&source, frame);
        square_sum += force_n * force_n;
        product_sum += force_n * last_n;
        last_n = force_n;
    }
    const double rms_n = sqrt(square_sum / (double)n);
    assert_near(rms_n, sqrt(0.01 + 0.0125 * 0.0125 / 12.0), 0.0, 4.0 / sqrt(2.0 * 40000.0));
    assert_near(product_sum / square_sum, 0.0, 4.0 / sqrt(40000.0), 0.0);
    sh_session_plan_close(&plan);
}

/* A boxcar of 10 ms: the mean of the force over it, and so a softer release. */
static void test_boxcar(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config;
    struct sh_stream_source source;
    set_force(&config, 1000.0, 0.0);
    config.boxcar_s = 0.01;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 3, NULL), SH_OK);
    const struct sh_session_draw *draw = &plan->draw[0];
    const uint64_t release = (uint64_t)(plan->truth[0].release_s * 1000.0);
    for (uint64_t frame = release - 20; frame < release + 40; frame++) {
        double sum_n = 0.0;
        for (int i = 0; i < 2000; i++) {
            const double t_s = (double)frame / 1000.0 - 0.005 + 0.01 * (i + 0.5) / 2000.0;
            sum_n += sh_string_signal_get_force_n(&draw->string, t_s - draw->hand_s) / 2000.0;
        }
        assert_near(get_force_n(&source, frame), sum_n, 0.1, 0.0);
    }
    sh_session_plan_close(&plan);
}

/* Out of range: held at the range's ends. */
static void test_clipping(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config;
    struct sh_stream_source source;
    set_force(&config, 1000.0, 0.0);
    config.stream.channel[0].range_high = 8812; /* 100 N */
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 4, NULL), SH_OK);
    const uint64_t hold = (uint64_t)(1000.0 * (plan->truth[0].full_draw_s + 0.5));
    assert_near(get_force_n(&source, hold), 100.0, 1e-9, 0.0);
    config.stream.channel[0].range_low = 900;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 4, NULL), SH_OK);
    assert_near(get_force_n(&source, 0), 88 * 0.0125, 1e-9, 0.0);
    sh_session_plan_close(&plan);
}

/* Every role, with unlike lags, lands in its own channel. */
static void test_roles(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config = {.stream = {.rate_hz = 1000.0, .n_channels = 6}};
    struct sh_channel *channel = config.stream.channel;
    struct sh_stream_source source;
    double raw[6];
    channel[0] = (struct sh_channel){.role = SH_ROLE_FINGER_FORCE, .finger = SH_FINGER_RING};
    channel[1] = (struct sh_channel){.role = SH_ROLE_FINGER_FORCE, .finger = SH_FINGER_INDEX};
    channel[2] = (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_Z};
    channel[3] = (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_X};
    channel[4] = (struct sh_channel){.role = SH_ROLE_CLICKER_CONTACT};
    channel[5] = (struct sh_channel){.role = SH_ROLE_SOUND};
    for (size_t i = 0; i < 6; i++) {
        channel[i].is_physical = true;
        channel[i].delay_s = i < 3 ? 0.001 : 0.0;
    }
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 5, NULL), SH_OK);
    assert_int_equal(source.n_groups, 2);
    const struct sh_session_draw *draw = &plan->draw[0];
    const uint64_t frame =
        (uint64_t)(1000.0 * (draw->hand_s + draw->bow.blow_s + draw->bow.voice.sound_lag_s)) +
        1;
    const double t_s = (double)frame / 1000.0 - draw->hand_s;
    double finger_n[3];
    double early_m_s2[3];
    double now_m_s2[3];
    sh_stream_source_make(&source, frame, raw);
    sh_finger_signal_get_force_n(&draw->finger, &draw->string, t_s - 0.001, finger_n);
    sh_bow_signal_get_acceleration_m_s2(&draw->bow, t_s - 0.001, early_m_s2);
    sh_bow_signal_get_acceleration_m_s2(&draw->bow, t_s, now_m_s2);
    assert_near(raw[0], finger_n[2], 1e-9, 0.0);
    assert_near(raw[1], finger_n[0], 1e-9, 0.0);
    assert_near(raw[2], early_m_s2[2], 1e-9, 0.0);
    assert_near(raw[3], now_m_s2[0], 1e-9, 0.0);
    assert_near(raw[4], 0.0, 0.0, 0.0);
    assert_near(raw[5], sh_bow_signal_get_sound_pa(&draw->bow, t_s), 1e-9, 0.0);
    assert_true(fabs(raw[5]) > 1e-4);
    sh_session_plan_close(&plan);
}

/* The drifting zero reaches the string's sensor whole and a finger's in part. */
static void test_zero(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config;
    struct sh_stream_source source;
    plan->config.drift_n_per_h = 100.0 * 36.0;
    set_force(&config, 1000.0, 0.0);
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 6, NULL), SH_OK);
    assert_near(get_force_n(&source, 1000), 1.0, 1e-9, 0.0);
    config.stream.channel[0].role = SH_ROLE_FINGER_FORCE;
    config.stream.channel[0].finger = SH_FINGER_MIDDLE;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 6, NULL), SH_OK);
    assert_near(get_force_n(&source, 1000), 0.3, 1e-9, 0.0);
    sh_session_plan_close(&plan);
}

struct refusal {
    size_t offset;
    double bad;
    double good;
};

#define AT(member) offsetof(struct sh_stream_source_config, member)

/* Thin sensors without noise: what takes curve, load drift and crosstalk off gives the fingers'
 * own forces back, to what a count is worth. */
static void test_thin_fingers(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_stream_source_config config[SH_CHANNEL_SET_STREAMS_MAX];
    struct sh_stream_source source;
    struct sh_load_drift_state drift[SH_STREAM_CHANNELS_MAX] = {{0}};
    size_t n_streams = 0;
    double largest_n = 0.0;
    double plain_off_n = 0.0;
    assert_int_equal(sh_channel_set_find("thin_fingers", config, &n_streams, NULL), SH_OK);
    config[0].noise_counts = 0.0;
    config[0].boxcar_s = 0.0;
    assert_int_equal(sh_stream_source_init(&source, plan, &config[0], 1, NULL), SH_OK);
    const struct sh_session_draw *draw = &plan->draw[0];
    const uint64_t release = (uint64_t)(plan->truth[0].release_s * 1000.0);
    for (uint64_t frame = 0; frame < release; frame++) {
        double raw[SH_STREAM_CHANNELS_MAX];
        double value[SH_STREAM_CHANNELS_MAX];
        double plain[SH_STREAM_CHANNELS_MAX];
        double true_n[3];
        const double t_s = sh_stream_source_get_time_s(&source, frame) - 0.0005 - draw->hand_s;
        sh_stream_source_make(&source, frame, raw);
        sh_scale_frame_steadily(&config[0].stream, raw, 0.001, drift, value);
        sh_scale_frame(&config[0].stream, raw, plain);
        sh_finger_signal_get_force_n(&draw->finger, &draw->string, t_s, true_n);
        for (size_t k = 0; k < 3 && t_s > 0.0; k++) {
            assert_near(value[k], true_n[k], true_n[k] > 1.0 ? 0.12 : 0.4, 0.0);
            largest_n = fmax(largest_n, true_n[k]);
            plain_off_n = fmax(plain_off_n, plain[k] - true_n[k]);
        }
    }
    assert_true(largest_n > 50.0);
    assert_true(plain_off_n > 1.0); /* the load drift is there to be taken off */
    sh_session_plan_close(&plan);
}

static void test_refusals(void **state)
{
    struct sh_session_plan *plan = open_plan();
    const struct refusal refusal[] = {
        {AT(stream.rate_hz), 0.9, 1.0},
        {AT(stream.rate_hz), 20001.0, 20000.0},
        {AT(stream.offset_s), -3601.0, -3600.0},
        {AT(clock_ppm), 1001.0, 1000.0},
        {AT(clock_ppm), (double)NAN, -1000.0},
        {AT(offset_error_s), 1.1, 1.0},
        {AT(boxcar_s), 0.21, 0.2},
        {AT(boxcar_s), -0.01, 0.0},
        {AT(anchor_period_s), -1.0, 0.0},
        {AT(anchor_u_s), 0.011, 0.01},
        {AT(lost_per_h), 3601.0, 0.0},
        {AT(lost_per_h), 1.0, 0.0}, /* no length of a loss was given */
        {AT(stream.channel[0].noise), -0.1, 0.0},
        {AT(stream.channel[0].delay_s), 1.1, 1.0},
        {AT(stream.channel[0].scale), 0.0, 1.0},
    };
    struct sh_stream_source_config config;
    struct sh_stream_source source;
    for (size_t i = 0; i < sizeof refusal / sizeof refusal[0]; i++) {
        struct sh_error err = {0};
        set_force(&config, 1000.0, 0.0);
        memcpy((char *)&config + refusal[i].offset, &refusal[i].bad, sizeof(double));
        assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, &err),
                         SH_ERR_ARGUMENT);
        assert_true(err.where[0] != '\0');
        memcpy((char *)&config + refusal[i].offset, &refusal[i].good, sizeof(double));
        assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_OK);
    }
    set_force(&config, 1000.0, 0.0);
    config.stream.n_channels = 0;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_ERR_ARGUMENT);
    set_force(&config, 1000.0, 0.0);
    config.stream.has_crosstalk = true; /* of zeros: nothing can be told apart */
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_ERR_ARGUMENT);
    set_force(&config, 1000.0, 0.0);
    config.stream.channel[0].role = SH_ROLE_BOW_ACCELERATION;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_ERR_ARGUMENT);
    set_force(&config, 1000.0, 0.0);
    config.stream.channel[0].role = SH_ROLE_FINGER_FORCE;
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_ERR_ARGUMENT);
    set_force(&config, 1000.0, 0.0);
    config.stream.channel[0].n_curve = 3;
    config.stream.channel[0].curve[0] = (struct sh_curve_point){0, 0.0, 0.1};
    config.stream.channel[0].curve[1] = (struct sh_curve_point){10, 1.0, 0.1};
    config.stream.channel[0].curve[2] = (struct sh_curve_point){20, 0.5, 0.1};
    assert_int_equal(sh_stream_source_init(&source, plan, &config, 1, NULL), SH_ERR_ARGUMENT);
    sh_session_plan_close(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signal),       cmocka_unit_test(test_noise),
        cmocka_unit_test(test_boxcar),       cmocka_unit_test(test_clipping),
        cmocka_unit_test(test_roles),        cmocka_unit_test(test_zero),
        cmocka_unit_test(test_thin_fingers), cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
