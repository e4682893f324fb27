/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/dot.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N 37u

/* Whole numbers add without rounding: every length gives the plain sum to the bit. */
static void test_every_length(void **state)
{
    double a[N];
    double b[N];
    double expected = 0.0;
    for (size_t n = 0; n < N; n++) {
        assert_near(sh_dot_get(a, b, n), expected, 0.0, 0.0);
        a[n] = (double)n - 11.0;
        b[n] = 3.0 * (double)n + 2.0;
        expected += a[n] * b[n];
    }
}

/* Rounding stays that of the terms. */
static void test_rounding(void **state)
{
    double a[1000];
    double b[1000];
    long double exact = 0.0L;
    for (size_t i = 0; i < 1000; i++) {
        a[i] = sin((double)i);
        b[i] = cos(3.0 * (double)i);
        exact += (long double)a[i] * (long double)b[i];
    }
    assert_near(sh_dot_get(a, b, 1000), (double)exact, 1e-13, 0.0);
}

static void test_add(void **state)
{
    double x[N];
    double y[N];
    for (size_t i = 0; i < N; i++) {
        x[i] = (double)i;
        y[i] = 100.0;
    }
    sh_dot_add(-2.0, x, y, N - 1);
    for (size_t i = 0; i + 1 < N; i++) {
        assert_near(y[i], 100.0 - 2.0 * (double)i, 0.0, 0.0);
    }
    assert_near(y[N - 1], 100.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_length),
        cmocka_unit_test(test_rounding),
        cmocka_unit_test(test_add),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
