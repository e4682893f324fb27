/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/load_average.h"

#include <math.h>
#include <string.h>

#include "signal/control_chart.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * NIST/SEMATECH e-Handbook 6.3.2.4, with its lambda of 0.3 and begun at its target of 50; the
 * averages as printed there, to two decimals.
 */
static const double handbook_x[] = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                                    49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
static const double handbook_y[] = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75,
                                    49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                                    49.38, 49.92, 50.73, 51.23, 51.94, 51.99};

#define N (sizeof handbook_x / sizeof handbook_x[0])

static void test_the_handbooks_example(void **state)
{
    struct sh_load_average average = sh_load_average_make(1);
    const struct sh_quantity target = sh_quantity_known(50.0, 0.0);
    average.lambda = 0.3;
    sh_load_average_push(&average, &target);
    for (size_t i = 0; i < N; i++) {
        const struct sh_quantity load = sh_quantity_known(handbook_x[i], 0.0);
        sh_load_average_push(&average, &load);
        struct sh_quantity got = sh_load_average_get(&average);
        assert_near(got.value, handbook_y[i], 0.005000001, 0);
    }
}

/* The same numbers, by the constants of 7 and 28 days, as the chart's own average gives them.
 */
static void test_the_constants(void **state)
{
    static const size_t constants[] = {7, 28};
    static const double lambdas[] = {0.25, 2.0 / 29.0};
    for (size_t k = 0; k < 2; k++) {
        struct sh_load_average average = sh_load_average_make(constants[k]);
        double wanted[N];
        assert_near(average.lambda, lambdas[k], 0, 1e-15);
        assert_int_equal(sh_control_chart_average(handbook_x + 1, N - 1, lambdas[k],
                                                  handbook_x[0], wanted + 1),
                         SH_OK);
        wanted[0] = handbook_x[0];
        for (size_t i = 0; i < N; i++) {
            const struct sh_quantity load = sh_quantity_known(handbook_x[i], 0.0);
            sh_load_average_push(&average, &load);
            struct sh_quantity got = sh_load_average_get(&average);
            assert_near(got.value, wanted[i], 0, 1e-14);
            assert_int_equal(average.n_days, i + 1);
        }
    }
}

/* An unknown day is not a day of rest: rest lowers the average, an unknown day stops it. */
static void test_unknown_stops_and_rest_does_not(void **state)
{
    struct sh_load_average average = sh_load_average_make(SH_LOAD_AVERAGE_SHORT_DAYS);
    const struct sh_quantity load = sh_quantity_known(100.0, 2.0);
    const struct sh_quantity rest = sh_quantity_known(0.0, 0.0);
    const struct sh_quantity unknown = sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    struct sh_quantity got = sh_load_average_get(&average);
    assert_false(sh_quantity_is_known(&got));
    sh_load_average_push(&average, &load);
    sh_load_average_push(&average, &rest);
    got = sh_load_average_get(&average);
    assert_near(got.value, 75.0, 0, 1e-15);
    assert_near(got.u, 1.5, 0, 1e-15);
    sh_load_average_push(&average, &unknown);
    got = sh_load_average_get(&average);
    assert_false(sh_quantity_is_known(&got));
    assert_int_equal(average.n_days, 0);
    sh_load_average_push(&average, &rest);
    got = sh_load_average_get(&average);
    assert_near(got.value, 0.0, 0, 0); /* begun anew: nothing of before is left */
    assert_int_equal(average.n_days, 1);
}

static void test_the_ratio(void **state)
{
    const struct sh_quantity a = sh_quantity_known(60.0, 1.0);
    const struct sh_quantity b = sh_quantity_known(40.0, 2.0);
    const struct sh_quantity nothing = sh_quantity_known(0.0, 0.0);
    const struct sh_quantity unknown = sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    struct sh_quantity ratio = sh_load_average_get_ratio(&a, &b);
    assert_near(ratio.value, 1.5, 0, 1e-15);
    assert_near(ratio.u, (1.0 + 1.5 * 2.0) / 40.0, 0, 1e-15);
    ratio = sh_load_average_get_ratio(&a, &unknown);
    assert_int_equal(ratio.why, SH_WHY_NOT_GIVEN);
    ratio = sh_load_average_get_ratio(&unknown, &b);
    assert_int_equal(ratio.why, SH_WHY_NOT_GIVEN);
    ratio = sh_load_average_get_ratio(&a, &nothing);
    assert_int_equal(ratio.why, SH_WHY_NOT_APPLICABLE);
}

static void test_the_objections_name_their_source(void **state)
{
    assert_non_null(strstr(sh_load_average_get_objections(), "Impellizzeri"));
    assert_non_null(strstr(sh_load_average_get_objections(), "random numbers"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_handbooks_example),
        cmocka_unit_test(test_the_constants),
        cmocka_unit_test(test_unknown_stops_and_rest_does_not),
        cmocka_unit_test(test_the_ratio),
        cmocka_unit_test(test_the_objections_name_their_source),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
