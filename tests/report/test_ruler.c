/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/ruler.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void check(double lo, double hi, size_t n_max, const double expected[3])
{
    struct sh_ruler ruler = sh_ruler_fit(lo, hi, n_max);
    assert_near(ruler.lo, expected[0], 1e-12, 1e-12);
    assert_near(ruler.hi, expected[1], 1e-12, 1e-12);
    assert_near(ruler.step, expected[2], 1e-12, 1e-12);
    assert_near((double)(ruler.n_ticks - 1) * ruler.step, ruler.hi - ruler.lo, 1e-12, 1e-12);
}

static void test_round_numbers(void **state)
{
    check(0.0, 10.0, 6, (const double[]){0.0, 10.0, 2.0});
    check(0.0, 9.7, 6, (const double[]){0.0, 10.0, 2.0});
    check(-3.2, 0.0, 8, (const double[]){-3.5, 0.0, 0.5});
    check(0.0, 0.26, 6, (const double[]){0.0, 0.3, 0.1});
    check(178.1, 179.3, 6, (const double[]){178.0, 179.5, 0.5});
    check(0.0, 4e6, 5, (const double[]){0.0, 4e6, 1e6});
}

/* Never more ticks than asked, never less range than given, whatever the range. */
static void test_any_range(void **state)
{
    for (size_t n_max = 3; n_max < 12; n_max++) {
        for (int i = 0; i < 2000; i++) {
            double lo = 7.3 * sin(0.37 * i) * pow(10.0, i % 7 - 3);
            double hi = lo + (1.001 + cos(1.7 * i)) * pow(10.0, i % 5 - 2);
            struct sh_ruler ruler = sh_ruler_fit(lo, hi, n_max);
            assert_true(ruler.n_ticks >= 2 && ruler.n_ticks <= n_max);
            assert_true(ruler.lo <= lo + 1e-6 * ruler.step);
            assert_true(ruler.hi >= hi - 1e-6 * ruler.step);
        }
    }
}

static void test_no_range(void **state)
{
    struct sh_ruler ruler = sh_ruler_fit(5.0, 5.0, 5);
    assert_true(ruler.lo <= 4.0 && ruler.hi >= 6.0);
    ruler = sh_ruler_fit((double)NAN, (double)INFINITY, 5);
    assert_true(ruler.lo <= -1.0 && ruler.hi >= 1.0 && isfinite(ruler.hi));
    ruler = sh_ruler_fit((double)NAN, 8.0, 5);
    assert_true(ruler.lo <= 7.0 && ruler.hi >= 9.0);
}

static void test_share(void **state)
{
    struct sh_ruler ruler = sh_ruler_fit(-10.0, 0.0, 6);
    assert_near(sh_ruler_get_share(&ruler, -10.0), 0.0, 1e-15, 0);
    assert_near(sh_ruler_get_share(&ruler, -2.5), 0.75, 1e-15, 0);
    assert_near(sh_ruler_get_share(&ruler, 5.0), 1.5, 1e-15, 0);
}

static void test_ticks(void **state)
{
    char tick[SH_RULER_TICK_BYTES];
    struct sh_ruler ruler = sh_ruler_fit(-0.3, 0.3, 8);
    sh_ruler_format_tick(&ruler, 0, tick);
    assert_string_equal(tick, "-0.3");
    sh_ruler_format_tick(&ruler, 3, tick);
    assert_string_equal(tick, "0.0");
    ruler = sh_ruler_fit(0.0, 5e-4, 6);
    sh_ruler_format_tick(&ruler, 5, tick);
    assert_string_equal(tick, "0.0005");
    ruler = sh_ruler_fit(-10.0, 0.0, 6);
    sh_ruler_format_tick(&ruler, 5, tick);
    assert_string_equal(tick, "0");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_round_numbers), cmocka_unit_test(test_any_range),
        cmocka_unit_test(test_no_range),      cmocka_unit_test(test_share),
        cmocka_unit_test(test_ticks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
