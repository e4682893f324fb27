/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/control_chart.h"

#include <math.h>
#include <stdio.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/reference.h"

static const double values[20] = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                                  49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};

static void test_individuals(void **state)
{
    const char *const source = "e-Handbook 6.3.2.2";
    struct sh_control_chart chart;
    assert_int_equal(sh_control_chart_get_individuals(values + 10, 10, &chart), SH_OK);
    sh_reference_row("individuals: mean", source, 50.81, chart.centre, 1e-12);
    sh_reference_row("individuals: mean moving range", source, 1.8778,
                     chart.sigma * SH_CONTROL_CHART_D2, 5e-5);
    sh_reference_row("individuals: upper limit", source, 55.8041, chart.upper, 5e-5);
    sh_reference_row("individuals: lower limit", source, 45.8159, chart.lower, 5e-5);
}

static void test_average(void **state)
{
    const double expected[20] = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75,
                                 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                                 49.38, 49.92, 50.73, 51.23, 51.94, 51.99};
    const char *const source = "e-Handbook 6.3.2.4";
    double y[20];
    struct sh_control_chart chart;
    assert_int_equal(sh_control_chart_average(values, 20, 0.3, 50.0, y), SH_OK);
    for (size_t i = 0; i < 20; i++) {
        char check[32];
        (void)snprintf(check, sizeof(check), "EWMA value %zu", i + 1);
        sh_reference_row(check, source, expected[i], y[i], 0.00501);
    }
    assert_int_equal(sh_control_chart_get_average_limits(50.0, 2.0539, 0.3, 3.0, &chart),
                     SH_OK);
    /* printed cut, not rounded: the two are 2.5884 and 2.5885 from the target */
    sh_reference_row("EWMA upper limit", source, 52.5884, chart.upper, 1e-4);
    sh_reference_row("EWMA lower limit", source, 47.4115, chart.lower, 1e-4);
    assert_near(chart.upper, 50.0 + 3.0 * 2.0539 * sqrt(0.3 / 1.7), 1e-13, 0.0);
    assert_near(chart.lower, 50.0 - 3.0 * 2.0539 * sqrt(0.3 / 1.7), 1e-13, 0.0);
}

static void test_refusals(void **state)
{
    const double broken[2] = {1.0, (double)NAN};
    struct sh_control_chart chart;
    double y[2];
    assert_int_equal(sh_control_chart_get_individuals(values, 1, &chart), SH_ERR_SHORT);
    assert_int_equal(sh_control_chart_get_individuals(broken, 2, &chart), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_control_chart_average(values, 2, 0.0, 1.0, y), SH_ERR_ARGUMENT);
    assert_int_equal(sh_control_chart_average(values, 2, 1.01, 1.0, y), SH_ERR_ARGUMENT);
    assert_int_equal(sh_control_chart_average(values, 2, 1.0, 1.0, y), SH_OK);
    assert_near(y[1], values[1], 0.0, 0.0);
    assert_int_equal(sh_control_chart_average(broken, 2, 0.5, 1.0, y), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_control_chart_get_average_limits(0.0, -1.0, 0.3, 3.0, &chart),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_control_chart_get_average_limits(0.0, 1.0, 0.0, 3.0, &chart),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_control_chart_get_average_limits(0.0, 1.0, 0.3, -3.0, &chart),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_control_chart_get_average_limits((double)NAN, 1.0, 0.3, 3.0, &chart),
                     SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_individuals),
        cmocka_unit_test(test_average),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
