/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sensor_error.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_DRAWS 4000u

static struct sh_stream_source_config make(void)
{
    struct sh_stream_source_config config = {
        .stream = {.rate_hz = 1000.0, .offset_u_s = 0.002, .n_channels = 3}};
    for (size_t c = 0; c < 3; c++) {
        config.stream.channel[c] = (struct sh_channel){.role = SH_ROLE_FINGER_FORCE,
                                                       .scale = 0.01,
                                                       .scale_u = 1e-4,
                                                       .zero = 100.0,
                                                       .zero_u = 3.0,
                                                       .quadratic_u = 1e-9,
                                                       .delay_s = 0.001,
                                                       .delay_u_s = 2e-4};
    }
    config.stream.channel[2].role = SH_ROLE_CLICKER_CONTACT;
    return config;
}

/* Mean and standard deviation of what is drawn, each within four of its own uncertainties. */
static void check_spread(const double *x, double mean, double sd)
{
    double sum = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < N_DRAWS; i++) {
        sum += x[i] - mean;
        squares += (x[i] - mean) * (x[i] - mean);
    }
    assert_near(sum / N_DRAWS, 0.0, 4.0 * sd / sqrt(N_DRAWS), 0.0);
    assert_near(sqrt(squares / N_DRAWS), sd, 4.0 * sd / sqrt(2.0 * N_DRAWS), 0.0);
}

static void test_spreads_are_as_stated(void **state)
{
    static double scale[N_DRAWS];
    static double zero[N_DRAWS];
    static double quadratic[N_DRAWS];
    static double delay_s[N_DRAWS];
    static double offset_s[N_DRAWS];
    struct sh_random random;
    sh_random_init(&random, 5);
    for (size_t i = 0; i < N_DRAWS; i++) {
        struct sh_stream_source_config config = make();
        sh_sensor_error_draw(&config, &random);
        scale[i] = config.stream.channel[1].scale;
        zero[i] = config.stream.channel[1].zero;
        quadratic[i] = config.stream.channel[1].quadratic;
        delay_s[i] = config.stream.channel[1].delay_s;
        offset_s[i] = config.offset_error_s;
    }
    check_spread(scale, 0.01, 1e-4);
    check_spread(zero, 100.0, 3.0);
    check_spread(quadratic, 0.0, 1e-9);
    check_spread(delay_s, 0.001, 2e-4);
    check_spread(offset_s, 0.0, 0.002);
}

static void test_one_role_lags_alike(void **state)
{
    struct sh_random random;
    struct sh_stream_source_config config = make();
    sh_random_init(&random, 6);
    sh_sensor_error_draw(&config, &random);
    const struct sh_channel *channel = config.stream.channel;
    assert_near(channel[1].delay_s, channel[0].delay_s, 0.0, 0.0);
    assert_true(fabs(channel[2].delay_s - channel[0].delay_s) > 1e-7);
    assert_true(fabs(channel[1].scale - channel[0].scale) > 1e-8);
}

static void test_anchors_and_what_is_physical(void **state)
{
    struct sh_random random;
    struct sh_random other;
    struct sh_stream_source_config config = make();
    sh_random_init(&random, 7);
    sh_random_init(&other, 7);
    config.anchor_period_s = 10.0;
    config.stream.channel[0].is_physical = true;
    config.stream.channel[1].n_curve = 2;
    config.stream.channel[1].curve[0] = (struct sh_curve_point){0.0, 0.0, 0.0};
    config.stream.channel[1].curve[1] = (struct sh_curve_point){100.0, 50.0, 0.5};
    sh_sensor_error_draw(&config, &random);
    assert_near(config.offset_error_s, 0.0, 0.0, 0.0);
    assert_near(config.stream.channel[0].scale, 0.01, 0.0, 0.0);
    assert_near(config.stream.channel[1].curve[0].value, 0.0, 0.0, 0.0);
    assert_true(fabs(config.stream.channel[1].curve[1].value - 50.0) > 1e-6);
    struct sh_stream_source_config sure = {.stream = {.n_channels = 1}};
    sh_sensor_error_draw(&sure, &other);
    assert_near(sure.stream.channel[0].delay_s, 0.0, 0.0, 0.0);
}

/* Crosstalk and load drift are off where they are said to be uncertain, a curve stays monotone
 * and keeps what it says of no force. */
static void test_thin_sensors(void **state)
{
    static double share[N_DRAWS];
    static double ratio[N_DRAWS];
    struct sh_random random;
    sh_random_init(&random, 8);
    for (size_t i = 0; i < N_DRAWS; i++) {
        struct sh_stream_source_config config = make();
        struct sh_channel *channel = &config.stream.channel[1];
        config.stream.has_crosstalk = true;
        config.crosstalk_u = 0.004;
        config.load_drift_u_ratio = 0.1;
        channel->load_drift_ratio = 0.05;
        channel->n_curve = 3;
        channel->curve[0] = (struct sh_curve_point){0.0, 0.0, 0.1};
        channel->curve[1] = (struct sh_curve_point){5.0, 0.35, 0.1};
        channel->curve[2] = (struct sh_curve_point){100.0, 50.0, 1.5};
        sh_sensor_error_draw(&config, &random);
        share[i] = config.stream.crosstalk[0][2];
        ratio[i] = channel->load_drift_ratio;
        assert_near(config.stream.crosstalk[1][1], 0.0, 0.0, 0.0);
        assert_near(channel->curve[0].value, 0.0, 0.0, 0.0);
        assert_true(channel->curve[1].value > 0.0);
    }
    check_spread(share, 0.0, 0.004);
    check_spread(ratio, 0.05, 0.005);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_spreads_are_as_stated),
        cmocka_unit_test(test_one_role_lags_alike),
        cmocka_unit_test(test_anchors_and_what_is_physical),
        cmocka_unit_test(test_thin_sensors),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
