/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/response_curve.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N      30u
#define SEED   1907u
#define SETS   200
#define WITHIN 1.96

static double make_power(double force_n)
{
    return force_n > 2.0 ? 12.0 + 180.0 * pow(force_n - 2.0, 0.45) : 12.0;
}

static double make_saturating(double force_n)
{
    return force_n > 1.5 ? 20.0 + 900.0 * (force_n - 1.5) / (9.0 + force_n - 1.5) : 20.0;
}

static void fill(double (*law)(double), double *force_n, double *counts)
{
    for (size_t i = 0; i < N; i++) {
        force_n[i] = 1.3 * (double)i;
        counts[i] = law(force_n[i]);
    }
}

static void test_known_curves_come_back(void **state)
{
    double force_n[N];
    double counts[N];
    struct sh_response_curve curve;
    fill(make_power, force_n, counts);
    assert_int_equal(
        sh_response_curve_solve(SH_RESPONSE_CURVE_POWER, force_n, counts, N, &curve), SH_OK);
    assert_near(curve.start_n, 2.0, 1e-3, 0.0);
    assert_near(curve.shape, 0.45, 1e-3, 0.0);
    assert_near(curve.gain, 180.0, 0.0, 2e-3);
    assert_near(curve.zero_counts, 12.0, 0.05, 0.0);
    fill(make_saturating, force_n, counts);
    assert_int_equal(
        sh_response_curve_solve(SH_RESPONSE_CURVE_SATURATING, force_n, counts, N, &curve),
        SH_OK);
    assert_near(curve.start_n, 1.5, 1e-4, 0.0);
    assert_near(curve.shape, 9.0, 1e-3, 0.0);
    assert_near(curve.gain, 900.0, 0.0, 1e-4);
    for (size_t i = 2; i < N; i++) { /* awake */
        assert_near(sh_response_curve_get_force(&curve, counts[i]), force_n[i], 1e-3, 0.0);
    }
}

static void test_falling_counts(void **state)
{
    double force_n[N];
    double counts[N];
    struct sh_response_curve curve;
    fill(make_saturating, force_n, counts);
    for (size_t i = 0; i < N; i++) {
        counts[i] = -counts[i];
    }
    assert_int_equal(
        sh_response_curve_solve(SH_RESPONSE_CURVE_SATURATING, force_n, counts, N, &curve),
        SH_OK);
    assert_near(curve.gain, -900.0, 0.0, 1e-4);
    assert_near(sh_response_curve_get_force(&curve, counts[20]), force_n[20], 1e-3, 0.0);
}

static void test_monotone_everywhere(void **state)
{
    double force_n[N];
    double counts[N];
    const enum sh_response_curve_kind kinds[] = {SH_RESPONSE_CURVE_POWER,
                                                 SH_RESPONSE_CURVE_SATURATING};
    for (size_t k = 0; k < 2; k++) {
        struct sh_response_curve curve;
        fill(make_saturating, force_n, counts);
        assert_int_equal(sh_response_curve_solve(kinds[k], force_n, counts, N, &curve), SH_OK);
        double last_n = -1.0;
        for (int i = -500; i < 3000; i++) {
            const double now_n = sh_response_curve_get_force(&curve, i);
            assert_true(now_n >= fmax(last_n, 0.0));
            last_n = now_n;
        }
        assert_true(last_n > force_n[N - 1]);
    }
}

/* The stated uncertainty holds what it promises: 95 % of many noisy sets. */
static void test_uncertainty_covers(void **state)
{
    double force_n[N];
    double counts[N];
    double noisy[N];
    struct sh_random random;
    int n_within = 0;
    print_message("seed %u\n", SEED);
    sh_random_init(&random, SEED);
    fill(make_saturating, force_n, counts);
    for (int set = 0; set < SETS; set++) {
        struct sh_response_curve curve;
        double u = 0.0;
        for (size_t i = 0; i < N; i++) {
            noisy[i] = counts[i] + 3.0 * sh_random_get_normal(&random);
        }
        assert_int_equal(
            sh_response_curve_solve(SH_RESPONSE_CURVE_SATURATING, force_n, noisy, N, &curve),
            SH_OK);
        const double got = sh_response_curve_get_counts(&curve, 12.0, &u);
        n_within += fabs(got - make_saturating(12.0)) <= WITHIN * u ? 1 : 0;
    }
    print_message("%d of %d within 1.96 u\n", n_within, SETS);
    assert_true(n_within >= 178); /* 95 % of 200 less four binomial deviations */
}

static void test_refusals(void **state)
{
    double force_n[N];
    double counts[N];
    struct sh_response_curve curve;
    fill(make_power, force_n, counts);
    const enum sh_response_curve_kind kind = SH_RESPONSE_CURVE_POWER;
    assert_int_equal(sh_response_curve_solve(kind, force_n, counts, 4, &curve), SH_ERR_SHORT);
    assert_int_equal(sh_response_curve_solve(kind, force_n, counts,
                                             SH_RESPONSE_CURVE_POINTS_MAX + 1, &curve),
                     SH_ERR_ARGUMENT);
    counts[3] = (double)NAN;
    assert_int_equal(sh_response_curve_solve(kind, force_n, counts, N, &curve),
                     SH_ERR_NOT_FINITE);
    counts[3] = 0.0;
    force_n[3] = -1.0;
    assert_int_equal(sh_response_curve_solve(kind, force_n, counts, N, &curve),
                     SH_ERR_ARGUMENT);
    for (size_t i = 0; i < N; i++) {
        force_n[i] = 5.0;
    }
    assert_int_equal(sh_response_curve_solve(kind, force_n, counts, N, &curve),
                     SH_ERR_SINGULAR);
    fill(make_power, force_n, counts);
    for (size_t i = 0; i < N; i++) {
        counts[i] = 7.0;
    }
    assert_int_equal(sh_response_curve_solve(kind, force_n, counts, N, &curve),
                     SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_curves_come_back),
        cmocka_unit_test(test_falling_counts),
        cmocka_unit_test(test_monotone_everywhere),
        cmocka_unit_test(test_uncertainty_covers),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
