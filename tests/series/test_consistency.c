/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency.h"

#include <math.h>

#include "series/shot_rows.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, limits 55.8041 and 45.8159. */
static void test_the_handbooks_chart(void **state)
{
    static const double x[10] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    const struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_consistency_set set = {0};
    struct sh_consistency result;
    for (unsigned i = 0; i < 10; i++) {
        shot_rows_add(&set, 0, i / 5, i % 5 + 1, x[i]);
    }
    assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_CREEP, &config, &result), SH_OK);
    assert_true(result.has_chart);
    assert_near(result.chart.centre, 50.81, 1e-9, 0);
    assert_near(result.chart.upper, 55.8041, 5e-5, 0);
    assert_near(result.chart.lower, 45.8159, 5e-5, 0);
    for (size_t i = 0; i < 10; i++) {
        assert_int_equal(result.marks[i], 0);
    }
    assert_true(result.mean.is_known);
    assert_false(result.mean.has_interval); /* two ends */
    sh_consistency_close(&result);
    /* holds go by their logarithm */
    assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_HOLD, &config, &result), SH_OK);
    double sum = 0.0;
    for (size_t i = 0; i < 10; i++) {
        sum += log(x[i]);
    }
    assert_near(result.chart.centre, sum / 10.0, 1e-12, 0);
    sh_consistency_close(&result);
    sh_consistency_set_close(&set);
}

/* Ends {1 2 3} {3 4 5}: mean 3, SD sqrt(2), within SD 1, component (6 - 1) / 3; slope 13
 * / 17.5. */
static void test_by_hand(void **state)
{
    static const double x[6] = {1, 2, 3, 3, 4, 5};
    const struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_consistency_set set = {0};
    struct sh_consistency result;
    for (unsigned i = 0; i < 6; i++) {
        shot_rows_add(&set, 0, i / 3, i % 3 + 1, x[i]);
    }
    shot_rows_add(&set, 0, 1, 0, 99.0)->is_let_down = true;
    assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_CREEP, &config, &result), SH_OK);
    assert_near(result.mean.value, 3.0, 1e-12, 0);
    assert_near(result.sd.value, sqrt(2.0), 1e-12, 0);
    assert_near(result.cv_ratio.value, sqrt(2.0) / 3.0, 1e-12, 0);
    assert_near(result.parts.within_sd, 1.0, 1e-12, 0);
    assert_near(result.parts.between_variance, 5.0 / 3.0, 1e-12, 0);
    assert_near(result.measured_u, 0.01, 1e-15, 0);
    sh_consistency_close(&result);
    sh_consistency_set_close(&set);
}

/* 0.1 s less a second gone, whatever the number; numbers differ by 1 s, which is no clock. */
static void test_clock_slope(void **state)
{
    const struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_consistency_set set = {0};
    struct sh_consistency_figure slope;
    for (unsigned i = 0; i < 36; i++) {
        const double left_s = 100.0 - 15.0 * (double)(i % 6) + (double)(i / 6);
        struct sh_consistency_row *row =
            shot_rows_add(&set, 0, i / 6, i % 6 + 1, (double)(i % 6) + 0.1 * left_s);
        row->is_clocked = i >= 6;
        row->time_left_s = sh_quantity_known(left_s, 0.1);
    }
    assert_int_equal(sh_consistency_get_clock_slope(&set, SH_CONSISTENCY_HOLD, &config, &slope),
                     SH_OK);
    assert_true(slope.is_known);
    assert_near(slope.value, 0.1, 1e-12, 0);
    sh_consistency_set_close(&set);
    assert_int_equal(sh_consistency_get_clock_slope(&set, SH_CONSISTENCY_HOLD, &config, &slope),
                     SH_OK);
    assert_false(slope.is_known);
}

static void test_settings(void **state)
{
    struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_consistency_set set = {0};
    struct sh_consistency result;
    assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_HOLD, &config, &result), SH_OK);
    assert_false(result.mean.is_known);
    sh_consistency_close(&result);
    config.n_draws = 199;
    assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_HOLD, &config, &result),
                     SH_ERR_ARGUMENT);
    config.n_draws = 200;
    config.rules = SH_RUN_RULES_ALL + 1;
    assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_HOLD, &config, &result),
                     SH_ERR_ARGUMENT);
    sh_consistency_close(&result);
}

/* How often the interval of the mean, whose truth is known, holds it. */
static size_t count_covered(size_t n_ends, size_t n_sessions)
{
    const struct shot_rows_archer archer = {n_ends, 6, 0.1, 0.2, 0.0, 0.0, 0.0, false};
    const double truth = 3.0 * exp(0.5 * (0.01 + 0.04));
    struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_random random;
    size_t n_covered = 0;
    sh_random_init(&random, 7);
    config.n_draws = 500;
    for (size_t i = 0; i < n_sessions; i++) {
        struct sh_consistency_set set = {0};
        struct sh_consistency result;
        shot_rows_shoot(&set, &archer, &random);
        assert_int_equal(sh_consistency_get(&set, SH_CONSISTENCY_HOLD, &config, &result),
                         SH_OK);
        n_covered += result.mean.lo <= truth && truth <= result.mean.hi ? 1 : 0;
        sh_consistency_close(&result);
        sh_consistency_set_close(&set);
    }
    print_message("%zu ends: the mean is held by %zu of %zu intervals\n", n_ends, n_covered,
                  n_sessions);
    return n_covered;
}

/* Few ends give intervals that are too narrow: docs/consistency.md names these figures. */
static void test_coverage(void **state)
{
    assert_in_range(count_covered(24, 200), 180, 198);
    assert_in_range(count_covered(12, 200), 174, 196);
    assert_in_range(count_covered(6, 200), 154, 190);
}

/* How often a clock is said to matter to an archer who does not heed it: about 5 %. */
static void test_false_slopes(void **state)
{
    const struct shot_rows_archer archer = {12, 6, 0.1, 0.2, 0.06, 0.0, 0.0, false};
    const struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_random random;
    size_t n_seen = 0;
    sh_random_init(&random, 13);
    for (size_t i = 0; i < 300; i++) {
        struct sh_consistency_set set = {0};
        struct sh_consistency_figure slope;
        shot_rows_shoot(&set, &archer, &random);
        for (size_t k = 0; k < set.n_rows; k++) {
            struct sh_consistency_row *row = &set.rows[k];
            row->is_clocked = true;
            row->time_left_s = sh_quantity_known(
                120.0 - 18.0 * row->number + 5.0 * sh_random_get_normal(&random), 0.1);
        }
        assert_int_equal(
            sh_consistency_get_clock_slope(&set, SH_CONSISTENCY_HOLD, &config, &slope), SH_OK);
        n_seen += slope.has_interval && (slope.lo > 0.0 || slope.hi < 0.0) ? 1 : 0;
        sh_consistency_set_close(&set);
    }
    print_message("a slope on the clock in %zu of 300 steady sessions of 12 ends\n", n_seen);
    assert_in_range(n_seen, 3, 26);
}

/* Sessions of 36 arrows of a steady archer in which the chart marks an arrow: some 8 % on the
 * logarithm, some 30 % without it. */
static void test_false_alarms(void **state)
{
    const struct shot_rows_archer archer = {6, 6, 0.0, 0.3, 0.0, 0.0, 0.0, false};
    struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_random random;
    size_t n_alarms[2] = {0, 0};
    sh_random_init(&random, 11);
    config.n_draws = 200;
    for (size_t i = 0; i < 500; i++) {
        struct sh_consistency_set set = {0};
        shot_rows_shoot(&set, &archer, &random);
        for (size_t k = 0; k < 2; k++) {
            struct sh_consistency result;
            bool is_alarm = false;
            assert_int_equal(
                sh_consistency_get(&set, k == 0 ? SH_CONSISTENCY_HOLD : SH_CONSISTENCY_CREEP,
                                   &config, &result),
                SH_OK);
            for (size_t j = 0; j < result.column.n; j++) {
                is_alarm = is_alarm || result.marks[j] != 0;
            }
            n_alarms[k] += is_alarm ? 1 : 0;
            sh_consistency_close(&result);
        }
        sh_consistency_set_close(&set);
    }
    print_message("a mark in %zu of 500 steady sessions by the logarithm, in %zu without\n",
                  n_alarms[0], n_alarms[1]);
    assert_in_range(n_alarms[0], 30, 85);
    assert_in_range(n_alarms[1], 130, 260);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_handbooks_chart),
        cmocka_unit_test(test_by_hand),

        cmocka_unit_test(test_clock_slope),
        cmocka_unit_test(test_settings),
        cmocka_unit_test(test_coverage),
        cmocka_unit_test(test_false_alarms),
        cmocka_unit_test(test_false_slopes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
