/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/gravity.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/reference.h"

/* One unit of the last printed digit: the figures and the formula's constants are both rounded.
 */
#define LAST_DIGIT 1e-9

static double local(double latitude_deg, double height_m)
{
    struct sh_quantity gravity = {0};
    assert_int_equal(sh_gravity_local(latitude_deg, height_m, &gravity), SH_OK);
    assert_true(sh_quantity_is_known(&gravity));
    return gravity.value;
}

static void test_published_values(void **state)
{
    static const char *const source = "GRS80, normal gravity, from memory";
    sh_reference_row("gravity at the equator, m/s2", source, 9.7803267715, local(0.0, 0.0),
                     LAST_DIGIT);
    sh_reference_row("gravity at 45 degrees, m/s2", source, 9.806199203, local(45.0, 0.0),
                     LAST_DIGIT);
    sh_reference_row("gravity at the pole, m/s2", source, 9.8321863685, local(90.0, 0.0),
                     LAST_DIGIT);
}

/* 0.3087691 - 0.0004398 sin^2(latitude) mGal a metre, from memory. */
static void test_height(void **state)
{
    double per_m = (local(45.0, 100.0) - local(45.0, 0.0)) / 100.0;
    sh_reference_row("free-air gradient, 1/s2", "geodesy textbooks, from memory", -3.085492e-6,
                     per_m, 1e-10);
    assert_near(local(-45.0, 250.0), local(45.0, 250.0), 0.0, 0.0);
}

static void test_limits(void **state)
{
    static const double bad[][2] = {{90.001, 0.0},
                                    {-90.001, 0.0},
                                    {(double)NAN, 0.0},
                                    {45.0, SH_GRAVITY_HEIGHT_MIN_M - 0.001},
                                    {45.0, SH_GRAVITY_HEIGHT_MAX_M + 0.001},
                                    {45.0, (double)INFINITY}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct sh_quantity gravity = {0};
        assert_int_equal(sh_gravity_local(bad[i][0], bad[i][1], &gravity), SH_ERR_ARGUMENT);
        assert_false(sh_quantity_is_known(&gravity));
    }
    assert_true(local(-90.0, SH_GRAVITY_HEIGHT_MIN_M) > 9.83);
    assert_true(local(0.0, SH_GRAVITY_HEIGHT_MAX_M) < 9.76);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_values),
        cmocka_unit_test(test_height),
        cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
