/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/shot_truth.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_string_signal make_signal(unsigned faults, uint64_t seed)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_bow_law bow;
    struct sh_archer_plan plan;
    struct sh_random random;
    struct sh_string_signal signal;
    sh_random_init(&random, seed);
    sh_archer_plan_draw(&plan, faults, &random);
    assert_int_equal(sh_bow_law_init(&bow, &config, NULL), SH_OK);
    sh_string_signal_init(&signal, &bow, &plan);
    return signal;
}

/* Rate by the integral of the force with the kernel's slope: another way to the same figure. */
static double get_rate(const struct sh_string_signal *signal, double t_s)
{
    const double sigma_s = 0.05;
    const double step_s = 1e-3;
    double sum = 0.0;
    for (int i = -400; i <= 400; i++) {
        const double d_s = step_s * i;
        sum += sh_string_signal_get_force_n(signal, t_s + d_s) * d_s *
               exp(-0.5 * d_s * d_s / (sigma_s * sigma_s));
    }
    return sum * step_s / (sigma_s * sigma_s * sigma_s * sqrt(2.0 * SH_PI));
}

/* At both events the rate is a tenth of the largest, and steeper inside than outside. */
static void test_definition(void **state)
{
    for (uint64_t seed = 0; seed < 20; seed++) {
        const struct sh_string_signal signal = make_signal(0, seed);
        struct sh_shot_truth truth;
        assert_int_equal(sh_shot_truth_find(&signal, &truth, NULL), SH_OK);
        double largest = 0.0;
        for (int i = 0; 0.01 * i < truth.full_draw_s; i++) {
            largest = fmax(largest, get_rate(&signal, 0.01 * i));
        }
        const double slow = 0.1 * largest;
        assert_near(get_rate(&signal, truth.draw_start_s), slow, 0.0, 0.01);
        assert_near(get_rate(&signal, truth.full_draw_s), slow, 0.0, 0.01);
        assert_true(get_rate(&signal, truth.draw_start_s + 0.01) > slow);
        assert_true(get_rate(&signal, truth.full_draw_s - 0.01) > slow);
        assert_true(truth.draw_start_s > signal.plan.preload_end_s);
        assert_true(fabs(truth.full_draw_s - signal.plan.anchor_s) < 0.4);
    }
}

static void test_kinds(void **state)
{
    struct sh_string_signal signal = make_signal(0, 3);
    struct sh_shot_truth truth;
    assert_int_equal(sh_shot_truth_find(&signal, &truth, NULL), SH_OK);
    assert_true(truth.has_clicker && !truth.is_let_down);
    assert_near(truth.clicker_s, signal.plan.expansion_end_s, 0.0, 0.0);
    assert_near(truth.hold_time_s, truth.release_s - truth.full_draw_s, 0.0, 0.0);
    signal = make_signal(SH_ARCHER_LET_DOWN, 3);
    assert_int_equal(sh_shot_truth_find(&signal, &truth, NULL), SH_OK);
    assert_true(truth.is_let_down && !truth.has_clicker);
    assert_near(truth.release_s, 0.0, 0.0, 0.0);
}

/* The largest 20 ms mean up to the let-down, by plain sums. */
static double get_largest_mean_n(const struct sh_string_signal *signal)
{
    const int n = (int)(signal->plan.loose_s / 0.002);
    double largest_n = 0.0;
    for (int i = 0; i < n; i++) {
        double sum_n = 0.0;
        for (int k = 0; k < 20; k++) {
            sum_n += sh_string_signal_get_force_n(signal, 0.002 * i + 0.001 * k);
        }
        largest_n = fmax(largest_n, sum_n / 20.0);
    }
    return largest_n;
}

/* A let-down: the force is 90 % of its highest level there, and below that ever after. */
static void test_let_down(void **state)
{
    for (uint64_t seed = 0; seed < 20; seed++) {
        const struct sh_string_signal signal = make_signal(SH_ARCHER_LET_DOWN, seed);
        struct sh_shot_truth truth;
        assert_int_equal(sh_shot_truth_find(&signal, &truth, NULL), SH_OK);
        assert_true(truth.let_down_s > signal.plan.loose_s);
        assert_true(truth.let_down_s < signal.plan.loose_s + signal.plan.let_down_s);
        const double level_n = 0.9 * get_largest_mean_n(&signal);
        assert_near(sh_string_signal_get_force_n(&signal, truth.let_down_s), level_n, 0.05,
                    0.0);
        for (int i = 0; i < 200; i++) {
            const double t_s = truth.let_down_s + 0.002 + 0.01 * i;
            assert_true(sh_string_signal_get_force_n(&signal, t_s) < level_n);
        }
    }
}

/* Loosed in the middle of the draw there is no full draw, and nothing is written. */
static void test_no_full_draw(void **state)
{
    struct sh_string_signal signal = make_signal(0, 4);
    struct sh_shot_truth truth = {.release_s = -1.0};
    struct sh_error err = {0};
    struct sh_archer_plan plan = signal.plan;
    plan.loose_s = plan.pause_end_s + 0.6 * (plan.anchor_s - plan.pause_end_s);
    plan.drop_s = 1000.0; /* so slow a fall that the rate stays that of the draw */
    const struct sh_bow_law bow = signal.bow;
    sh_string_signal_init(&signal, &bow, &plan);
    assert_int_equal(sh_shot_truth_find(&signal, &truth, &err), SH_ERR_SHORT);
    assert_int_equal(err.status, SH_ERR_SHORT);
    assert_near(truth.release_s, -1.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_definition),
        cmocka_unit_test(test_kinds),
        cmocka_unit_test(test_let_down),
        cmocka_unit_test(test_no_full_draw),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
