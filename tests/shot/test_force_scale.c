/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/force_scale.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static const double values_n[] = {100.0, 60.0};
static const double rests_n[] = {0.0, 10.0};

static double get_u_ratio(const struct sh_channel *channel, size_t n_channels, bool is_sum)
{
    struct sh_stream stream = {.n_channels = n_channels};
    struct sh_shot_view view = {.n_streams = 1,
                                .force = {.n_channels = n_channels, .is_finger_sum = is_sum}};
    for (size_t i = 0; i < n_channels; i++) {
        stream.channel[i] = channel[i];
        view.force.channel[i] = i;
    }
    view.stream[0].stream = &stream;
    return sh_force_scale_get_u_ratio(&view, values_n, rests_n);
}

static void test_linear_and_physical(void **state)
{
    const struct sh_channel linear = {
        .scale = 0.0125, .scale_u = 0.0000375, .zero = 812.0, .zero_u = 3.0};
    assert_near(get_u_ratio(&linear, 1, false), 0.003, 1e-12, 0.0);
    assert_near(sh_force_scale_get_resolution_n(&linear), 0.0125, 1e-12, 0.0);
    const struct sh_channel physical = {.is_physical = true, .scale_u = 0.002};
    assert_near(get_u_ratio(&physical, 1, false), 0.002, 1e-12, 0.0);
    assert_near(sh_force_scale_get_resolution_n(&physical), 0.0, 0.0, 0.0);
}

/* The curve is turned round: 100 N lie at 2000 counts, where u is 3 N; 0 N at 0, u 0. */
static void test_curve(void **state)
{
    const struct sh_channel rising = {
        .n_curve = 3, .curve = {{0.0, 0.0, 0.0}, {2000.0, 100.0, 3.0}, {3000.0, 110.0, 3.0}}};
    assert_near(get_u_ratio(&rising, 1, false), 0.03, 1e-6, 0.0);
    assert_near(sh_force_scale_get_resolution_n(&rising), 0.05, 1e-9, 0.0);
    const struct sh_channel falling = {.n_curve = 2,
                                       .curve = {{0.0, 100.0, 3.0}, {2000.0, 0.0, 0.0}}};
    assert_near(get_u_ratio(&falling, 1, false), 0.03, 1e-6, 0.0);
}

static void test_square_with_range(void **state)
{
    struct sh_channel square = {.scale = 0.1,
                                .scale_u = 0.0,
                                .quadratic = 1e-5,
                                .quadratic_u = 1e-7,
                                .has_range = true,
                                .range_low = -10.0,
                                .range_high = 4095.0};
    const double counts = (-0.1 + sqrt(0.01 + 4.0 * 1e-5 * 100.0)) / 2e-5;
    assert_near(get_u_ratio(&square, 1, false), counts * counts * 1e-7 / 100.0, 0.0, 1e-6);
}

/* Fingers: channels in quadrature, and the sum is not the string's force. */
static void test_finger_sum(void **state)
{
    const struct sh_channel fingers[] = {{.is_physical = true, .scale_u = 0.02},
                                         {.is_physical = true, .scale_u = 0.02}};
    const double scale = hypot(2.0, 1.0) / 150.0;
    assert_near(get_u_ratio(fingers, 2, true), hypot(scale, hypot(0.055, 0.0087)), 1e-9, 0.0);
    assert_near(get_u_ratio(fingers, 2, false), scale, 1e-9, 0.0);
}

/* The end that stands for more force, whichever way the counts go. */
static void test_the_loaded_end(void **state)
{
    struct sh_channel channel = {.role = SH_ROLE_STRING_FORCE,
                                 .scale = 0.01,
                                 .has_range = true,
                                 .range_low = -100.0,
                                 .range_high = 5000.0};
    assert_true(sh_force_scale_is_full(&channel, 5000.0));
    assert_false(sh_force_scale_is_full(&channel, 4999.0));
    assert_false(sh_force_scale_is_full(&channel, -100.0));
    channel.scale = -0.01;
    assert_true(sh_force_scale_is_full(&channel, -100.0));
    assert_false(sh_force_scale_is_full(&channel, 5000.0));
    channel.role = SH_ROLE_BOW_ACCELERATION;
    assert_false(sh_force_scale_is_full(&channel, -100.0));
    channel.role = SH_ROLE_FINGER_FORCE;
    channel.n_curve = 2;
    channel.curve[0] = (struct sh_curve_point){0.0, 0.0, 0.0};
    channel.curve[1] = (struct sh_curve_point){5000.0, 70.0, 1.0};
    channel.range_low = 0.0;
    assert_true(sh_force_scale_is_full(&channel, 5000.0));
    assert_false(sh_force_scale_is_full(&channel, 0.0));
    channel.has_range = false;
    assert_false(sh_force_scale_is_full(&channel, 9000.0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_linear_and_physical), cmocka_unit_test(test_curve),
        cmocka_unit_test(test_square_with_range),   cmocka_unit_test(test_finger_sum),
        cmocka_unit_test(test_the_loaded_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
