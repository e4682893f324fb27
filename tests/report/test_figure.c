/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/figure.h"

#include "support/cmocka_all.h"

#define PM " \xC2\xB1"

static void check(struct sh_quantity quantity, double factor, const char *expected)
{
    char figure[SH_FIGURE_BYTES];
    sh_figure_format(&quantity, factor, figure);
    assert_string_equal(figure, expected);
}

static void test_uncertainty_sets_the_decimals(void **state)
{
    check(sh_quantity_known(3.60712, 0.01), 1.0, "3.607" PM "0.020");
    check(sh_quantity_known(178.25, 0.4), 1.0, "178.25" PM "0.78");
    check(sh_quantity_known(178.25, 4.0), 1.0, "178.2" PM "7.8");
    check(sh_quantity_known(178.25, 40.0), 1.0, "178" PM "78");
    check(sh_quantity_known(178.25, 400.0), 1.0, "178" PM "784");
    check(sh_quantity_known(1.0, 1e-9), 1.0, "1.000" PM "0.001");
    /* 1.96 x 0.0508 = 0.0996, which two digits round to 0.10 */
    check(sh_quantity_known(1.0, 0.0508), 1.0, "1.00" PM "0.10");
}

static void test_factor(void **state)
{
    check(sh_quantity_known(0.0052, 0.0005), 1000.0, "5.20" PM "0.98");
    check(sh_quantity_known(0.41, 0.01), 100.0, "41.0" PM "2.0");
}

static void test_exact(void **state)
{
    check(sh_quantity_known(2.5, 0.0), 1.0, "2.500");
}

static void test_unknown(void **state)
{
    check(sh_quantity_unknown(SH_WHY_NOT_SEEN), 1.0, "-");
}

static void test_no_negative_nothing(void **state)
{
    check(sh_quantity_known(-0.001, 0.01), 1.0, "-0.001" PM "0.020");
    check(sh_quantity_known(-0.0001, 0.01), 1.0, "0.000" PM "0.020");
    check(sh_quantity_known(-3.0, 0.01), 1.0, "-3.000" PM "0.020");
}

static void test_interval(void **state)
{
    struct sh_quantity skew = {.value = 0.31,
                               .u = 0.1,
                               .lo = 0.18,
                               .hi = 0.62,
                               .has_interval = true,
                               .why = SH_WHY_KNOWN};
    check(skew, 1.0, "0.31 (0.18 to 0.62)");
    check(skew, 1000.0, "310 (180 to 620)");
    check(skew, -1.0, "-0.31 (-0.62 to -0.18)");
}

static void test_value_alone(void **state)
{
    char figure[SH_FIGURE_BYTES];
    struct sh_quantity hold = sh_quantity_known(3.60712, 0.01);
    struct sh_quantity unknown = sh_quantity_unknown(SH_WHY_GAP);
    sh_figure_format_value(&hold, 1.0, figure);
    assert_string_equal(figure, "3.607");
    sh_figure_format_value(&unknown, 1.0, figure);
    assert_string_equal(figure, "-");
}

static void check_short(struct sh_quantity quantity, double factor, const char *expected)
{
    char figure[SH_FIGURE_BYTES];
    sh_figure_format_short(&quantity, factor, 2, figure);
    assert_string_equal(figure, expected);
}

static void test_short(void **state)
{
    struct sh_quantity skew = {.value = 0.31,
                               .u = 0.1,
                               .lo = 0.18,
                               .hi = 0.62,
                               .has_interval = true,
                               .why = SH_WHY_KNOWN};
    check_short(sh_quantity_known(3.60712, 0.0006), 1.0, "3.61");
    check_short(sh_quantity_known(3.60712, 0.01), 1.0, "3.61" PM "0.02");
    check_short(sh_quantity_known(3.60712, 0.00256), 1.0, "3.61" PM "0.01");
    check_short(sh_quantity_known(3.60712, 0.00254), 1.0, "3.61");
    check_short(sh_quantity_known(178.25, 0.4), 1.0, "178.25" PM "0.78");
    check_short(sh_quantity_known(178.25, 4.0), 1.0, "178.2" PM "7.8");
    check_short(sh_quantity_known(0.1863, 0.0006), 1000.0, "186.3" PM "1.2");
    check_short(sh_quantity_known(2.5, 0.0), 1.0, "2.50");
    check_short(skew, 1.0, "0.31 (0.18 to 0.62)");
    check_short(sh_quantity_unknown(SH_WHY_GAP), 1.0, "-");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_uncertainty_sets_the_decimals),
        cmocka_unit_test(test_factor),
        cmocka_unit_test(test_exact),
        cmocka_unit_test(test_unknown),
        cmocka_unit_test(test_no_negative_nothing),
        cmocka_unit_test(test_interval),
        cmocka_unit_test(test_value_alone),
        cmocka_unit_test(test_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
