/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/load_drift.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N    200u
#define SEED 7u

static void make_record(double ratio, double noise, double *time_s, double *value)
{
    struct sh_random random;
    sh_random_init(&random, SEED);
    for (size_t i = 0; i < N; i++) {
        time_s[i] = 0.1 * (double)i;
        value[i] = 40.0 * (1.0 + ratio * (1.0 - exp(-time_s[i] / 4.0))) +
                   noise * sh_random_get_normal(&random);
    }
}

static void test_known_drift_comes_back(void **state)
{
    double time_s[N];
    double value[N];
    struct sh_load_drift drift;
    make_record(0.03, 0.05, time_s, value);
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_OK);
    assert_true(drift.is_real);
    assert_near(drift.ratio, 0.03, 3.0 * drift.ratio_u, 0.0);
    assert_near(drift.time_s, 4.0, 3.0 * drift.time_u_s, 0.0);
    assert_true(drift.ratio_u > 0.0001 && drift.ratio_u < 0.002);
    assert_near(drift.residual_sd, 0.05, 0.0, 0.15);
    make_record(-0.03, 0.05, time_s, value);
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_OK);
    assert_near(drift.ratio, -0.03, 3.0 * drift.ratio_u, 0.0);
}

static void test_steady_sensor_has_none(void **state)
{
    double time_s[N];
    double value[N];
    struct sh_load_drift drift;
    make_record(0.0, 0.05, time_s, value);
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_OK);
    assert_false(drift.is_real);
    for (size_t i = 0; i < N; i++) {
        value[i] = 40.0;
    }
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_OK);
    assert_false(drift.is_real);
}

static void test_drift_is_taken_off(void **state)
{
    const struct sh_channel channel = {.load_drift_ratio = 0.05, .load_drift_time_s = 2.0};
    struct sh_load_drift_state running = {0};
    double shown_drift = 0.0;
    const double dt_s = 0.005;
    for (int i = 0; i < 4000; i++) {
        const double t_s = dt_s * i;
        const double force_n = t_s < 1.0 ? 0.0 : t_s < 12.0 ? 60.0 : 5.0;
        const double got = sh_load_drift_push(&running, &channel, force_n + shown_drift, dt_s);
        assert_near(got, force_n, 1e-9, 0.0);
        shown_drift += (0.05 * force_n - shown_drift) * -expm1(-dt_s / 2.0);
    }
    const struct sh_channel steady = {0};
    assert_near(sh_load_drift_push(&running, &steady, 7.5, dt_s), 7.5, 0.0, 0.0);
}

static void test_refusals(void **state)
{
    double time_s[N];
    double value[N];
    struct sh_load_drift drift;
    make_record(0.03, 0.0, time_s, value);
    assert_int_equal(sh_load_drift_solve(time_s, value, 7, &drift), SH_ERR_SHORT);
    assert_int_equal(sh_load_drift_solve(time_s, value, 8, &drift), SH_OK);
    assert_int_equal(sh_load_drift_solve(time_s, value, SH_LOAD_DRIFT_POINTS_MAX + 1, &drift),
                     SH_ERR_ARGUMENT);
    value[5] = (double)INFINITY;
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_ERR_NOT_FINITE);
    value[5] = 40.0;
    time_s[5] = time_s[4];
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_ERR_ARGUMENT);
    make_record(0.03, 0.0, time_s, value);
    for (size_t i = 0; i < N; i++) {
        value[i] = 0.0;
    }
    assert_int_equal(sh_load_drift_solve(time_s, value, N, &drift), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_drift_comes_back),
        cmocka_unit_test(test_steady_sensor_has_none),
        cmocka_unit_test(test_drift_is_taken_off),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
