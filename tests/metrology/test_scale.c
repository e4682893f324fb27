/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/scale.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_straight_line(void **state)
{
    struct sh_channel cell = {.scale = 0.0125, .zero = 812.0};
    assert_near(sh_scale_value(&cell, 812.0), 0.0, 0.0, 0.0);
    assert_near(sh_scale_value(&cell, 15052.0), 178.0, 1e-12, 0.0);
    assert_near(sh_scale_slope(&cell, 15052.0), 0.0125, 0.0, 1e-15);
    cell.quadratic = 1e-8;
    assert_near(sh_scale_value(&cell, 10812.0), 125.0 + 1.0, 1e-12, 0.0);
    assert_near(sh_scale_slope(&cell, 10812.0), 0.0125 + 2e-4, 1e-15, 0.0);
}

static void test_curve_between_and_beyond(void **state)
{
    struct sh_channel thin = {
        .n_curve = 3, .curve = {{20.0, 0.0, 0.1}, {60.0, 10.0, 0.2}, {80.0, 30.0, 0.6}}};
    assert_near(sh_scale_value(&thin, 20.0), 0.0, 1e-12, 0.0);
    assert_near(sh_scale_value(&thin, 40.0), 5.0, 1e-12, 0.0);
    assert_near(sh_scale_value(&thin, 70.0), 20.0, 1e-12, 0.0);
    assert_near(sh_scale_value(&thin, 90.0), 40.0, 1e-12, 0.0);
    assert_near(sh_scale_value(&thin, 16.0), -1.0, 1e-12, 0.0);
    assert_near(sh_scale_slope(&thin, 70.0), 1.0, 1e-12, 0.0);
    assert_near(sh_scale_difference_u(&thin, 70.0, 20.0), 0.412310562561766, 1e-12, 0.0);
}

static void test_physical_samples_pass(void **state)
{
    struct sh_channel channel = {.is_physical = true, .scale_u = 0.01};
    assert_near(sh_scale_value(&channel, -3.25), -3.25, 0.0, 0.0);
    assert_near(sh_scale_slope(&channel, -3.25), 1.0, 0.0, 0.0);
    assert_near(sh_scale_difference_u(&channel, 100.0, 0.0), 1.0, 1e-12, 0.0);
}

/* JCGM 100:2008, 5.1.2: for y = s * (a - b), u(y) by s alone is |a - b| u(s). */
static void test_net_force_uncertainty(void **state)
{
    struct sh_channel cell = {
        .scale = 0.0125, .scale_u = 0.00004, .zero = 812.0, .zero_u = 3.0};
    assert_near(sh_scale_difference_u(&cell, 15052.0, 812.0), 14240.0 * 0.00004, 1e-12, 0.0);
    assert_near(sh_scale_difference_u(&cell, 15052.0, 1012.0), 14040.0 * 0.00004, 1e-12, 0.0);
}

static void test_crosstalk_mixes(void **state)
{
    struct sh_stream stream = {.n_channels = 2,
                               .channel = {{.scale = 1.0}, {.scale = 2.0}},
                               .has_crosstalk = true,
                               .crosstalk = {{1.0, -0.1}, {0.0, 1.0}}};
    double frame[2] = {10.0, 5.0};
    sh_scale_frame(&stream, frame, frame);
    assert_near(frame[0], 9.0, 1e-12, 0.0);
    assert_near(frame[1], 10.0, 1e-12, 0.0);
}

/* A sensor that drifts under load, and its neighbour that feels a tenth of it. */
static void test_load_drift_is_taken_off_before_crosstalk(void **state)
{
    struct sh_stream stream = {
        .n_channels = 2,
        .channel = {{.scale = 0.5, .load_drift_ratio = 0.1, .load_drift_time_s = 2.0},
                    {.scale = 1.0}},
        .has_crosstalk = true,
        .crosstalk = {{1.0, 0.0}, {-0.1, 1.0}}};
    struct sh_load_drift_state drift[2] = {{0.0}, {0.0}};
    struct sh_load_drift_state other[2] = {{0.0}, {0.0}};
    double value[2];
    double plain[2];
    for (int i = 0; i < 1000; i++) {
        const double held_n = 50.0;
        const double shown_n = held_n * (1.0 + 0.1 * -expm1(-0.01 * i / 2.0));
        const double raw[2] = {shown_n / 0.5, 7.0 + 0.1 * held_n};
        sh_scale_frame_steadily(&stream, raw, 0.01, drift, value);
        assert_near(value[0], held_n, 1e-9, 0.0);
        assert_near(value[1], 7.0, 1e-9, 0.0);
    }
    stream.channel[0].load_drift_time_s = 0.0;
    const double raw[2] = {123.0, 45.0};
    sh_scale_frame_steadily(&stream, raw, 0.01, other, value);
    sh_scale_frame(&stream, raw, plain);
    assert_memory_equal(value, plain, sizeof value);
}

static void test_range(void **state)
{
    struct sh_channel channel = {.has_range = true, .range_low = -4096.0, .range_high = 4095.0};
    assert_true(sh_scale_is_clipped(&channel, -4096.0));
    assert_false(sh_scale_is_clipped(&channel, -4095.0));
    assert_false(sh_scale_is_clipped(&channel, 4094.0));
    assert_true(sh_scale_is_clipped(&channel, 4095.0));
    channel.has_range = false;
    assert_false(sh_scale_is_clipped(&channel, 1e9));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_straight_line),
        cmocka_unit_test(test_curve_between_and_beyond),
        cmocka_unit_test(test_physical_samples_pass),
        cmocka_unit_test(test_net_force_uncertainty),
        cmocka_unit_test(test_crosstalk_mixes),
        cmocka_unit_test(test_load_drift_is_taken_off_before_crosstalk),
        cmocka_unit_test(test_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
