/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/svg.h"

#include <math.h>

#include "report/markup.h"
#include "support/cmocka_all.h"

static struct sh_text text;

static int setup(void **state)
{
    sh_text_init(&text, 0);
    return 0;
}

static int teardown(void **state)
{
    sh_text_close(&text);
    return 0;
}

static void test_a_drawing_is_well_formed(void **state)
{
    const double x[] = {0.0, 0.5, 1.0};
    const double y[] = {1.0, 0.0, 0.25};
    sh_svg_open(&text, 40.0, "holds < 6 s & more");
    sh_svg_line(&text, "grid", (const double[]){0.25, 3.0}, (const double[]){1.0, 3.0});
    sh_svg_box(&text, "hold", (const double[]){0.5, 2.0}, (const double[]){0.25, 10.0});
    sh_svg_label(&text, "tick", (const double[]){0.1, 9.0}, SH_SVG_END, "a<b");
    sh_svg_label_inside(&text, "phase", (const double[]){0.5, 2.0},
                        (const double[]){0.25, 10.0}, "draw & hold");
    sh_svg_marker(&text, "mark", SH_SVG_DIAMOND, (const double[]){0.5, 4.0});
    sh_svg_curve(&text, "curve", (const double[]){0.0, 0.0, 1.0, 40.0}, x, y, 3);
    sh_svg_close(&text);
    assert_int_equal(text.status, SH_OK);
    markup_check(text.data);
    markup_check_has(text.data, "<title>holds &lt; 6 s &amp; more</title>");
    markup_check_has(text.data, "x1=\"25%\" y1=\"3\" x2=\"100%\" y2=\"3\"");
    markup_check_has(text.data, "x=\"50%\" y=\"2\" width=\"25%\" height=\"10\"");
    markup_check_has(text.data, "x=\"10%\" y=\"9\" text-anchor=\"end\">a&lt;b</text>");
    markup_check_has(text.data, "d=\"M0 1000L500 0L1000 250\"");
}

static void test_a_curve_breaks_where_there_is_nothing(void **state)
{
    const double x[] = {0.0, 0.25, 0.5, 0.75, 1.0};
    const double y[] = {0.0, 0.1, (double)NAN, 0.3, 0.4};
    sh_svg_curve(&text, "curve", (const double[]){0.0, 0.0, 1.0, 40.0}, x, y, 5);
    markup_check(text.data);
    markup_check_has(text.data, "d=\"M0 0L250 100M750 300L1000 400\"");
}

static void test_a_curve_of_nothing(void **state)
{
    sh_svg_curve(&text, "curve", (const double[]){0.0, 0.0, 1.0, 40.0}, NULL, NULL, 0);
    markup_check(text.data);
    markup_check_has(text.data, "d=\"\"");
}

static void test_no_negative_zero_and_two_decimals(void **state)
{
    sh_svg_line(&text, "grid", (const double[]){-0.00001, -0.001},
                (const double[]){1.0 / 3.0, 2.0 / 3.0});
    markup_check_has(text.data, "x1=\"0%\" y1=\"0\" x2=\"33.33%\" y2=\"0.67\"");
}

static void test_each_shape_has_its_own_outline(void **state)
{
    for (int shape = SH_SVG_DISC; shape <= SH_SVG_DIAMOND; shape++) {
        sh_svg_marker(&text, "mark", (enum sh_svg_shape)shape, (const double[]){0.5, 4.0});
    }
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "mark hollow"), 2);
    assert_int_equal(markup_count(text.data, "mark filled"), 2);
    assert_int_equal(markup_count(text.data, "d=\"M-4 0a"), 1);
    assert_int_equal(markup_count(text.data, "d=\"M0 0l-5 -9"), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_drawing_is_well_formed, setup, teardown),
        cmocka_unit_test_setup_teardown(test_a_curve_breaks_where_there_is_nothing, setup,
                                        teardown),
        cmocka_unit_test_setup_teardown(test_a_curve_of_nothing, setup, teardown),
        cmocka_unit_test_setup_teardown(test_no_negative_zero_and_two_decimals, setup,
                                        teardown),
        cmocka_unit_test_setup_teardown(test_each_shape_has_its_own_outline, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
