/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/cholesky.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* [4 2 0; 2 5 4; 0 4 14] = L L^T with L = [2; 1 2; 0 2 sqrt 10]. */
static void test_by_hand(void **state)
{
    double a[9] = {4.0, (double)NAN, (double)NAN, 2.0, 5.0, (double)NAN, 0.0, 4.0, 14.0};
    assert_int_equal(sh_cholesky_factor(a, 3), SH_OK);
    const double expected[6] = {2.0, 1.0, 2.0, 0.0, 2.0, sqrt(10.0)};
    const size_t places[6] = {0, 3, 4, 6, 7, 8};
    for (size_t i = 0; i < 6; i++) {
        assert_near(a[places[i]], expected[i], 1e-15, 0.0);
    }
    double b[3] = {4.0 + 4.0, 2.0 + 10.0 + 12.0, 8.0 + 42.0}; /* x = 1 2 3 */
    sh_cholesky_solve(a, 3, b);
    for (size_t i = 0; i < 3; i++) {
        assert_near(b[i], (double)(i + 1), 1e-14, 0.0);
    }
}

/* Hilbert's matrix of 5: its inverse has whole numbers. */
static void test_inverse(void **state)
{
    double a[25];
    double inverse[25];
    for (size_t i = 0; i < 25; i++) {
        size_t row = i / 5;
        a[i] = 1.0 / (double)(row + i % 5 + 1);
    }
    assert_int_equal(sh_cholesky_factor(a, 5), SH_OK);
    sh_cholesky_invert(a, 5, inverse);
    const double first[5] = {25.0, -300.0, 1050.0, -1400.0, 630.0};
    for (size_t i = 0; i < 5; i++) {
        assert_near(inverse[i], first[i], 0.0, 1e-9);
        assert_near(inverse[5 * i], first[i], 0.0, 1e-9);
    }
    assert_near(inverse[24], 44100.0, 0.0, 1e-9);
}

static void test_singular(void **state)
{
    double twice[4] = {1.0, 1.0, 1.0, 1.0};
    double negative[1] = {-1.0};
    double nan[4] = {1.0, 0.0, (double)NAN, 1.0};
    assert_int_equal(sh_cholesky_factor(twice, 2), SH_ERR_SINGULAR);
    assert_int_equal(sh_cholesky_factor(negative, 1), SH_ERR_SINGULAR);
    assert_int_equal(sh_cholesky_factor(nan, 2), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_inverse),
        cmocka_unit_test(test_singular),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
