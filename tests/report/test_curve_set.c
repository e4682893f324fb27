/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/curve_set.h"

#include "report/markup.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_plot_frame make_frame(void)
{
    struct sh_ruler x = sh_ruler_fit(0.0, 10.0, 6);
    struct sh_ruler y = sh_ruler_fit(0.0, 10.0, 6);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, 100.0);
    frame.x_name = "x";
    frame.y_name = "y";
    return frame;
}

static void test_values_between_points(void **state)
{
    static const struct sh_curve curve = {.n = 3, .x = {0.0, 1.0, 3.0}, .y = {2.0, 4.0, 0.0}};
    double y = -1.0;
    assert_true(sh_curve_set_find_value(&curve, 0.0, &y));
    assert_near(y, 2.0, 1e-15, 0);
    assert_true(sh_curve_set_find_value(&curve, 0.5, &y));
    assert_near(y, 3.0, 1e-15, 0);
    assert_true(sh_curve_set_find_value(&curve, 3.0, &y));
    assert_near(y, 0.0, 1e-15, 0);
    assert_false(sh_curve_set_find_value(&curve, 3.1, &y));
    assert_false(sh_curve_set_find_value(&curve, -0.1, &y));
    static const struct sh_curve point = {.n = 1};
    assert_false(sh_curve_set_find_value(&point, 0.0, &y));
}

static void test_looks(void **state)
{
    static struct sh_curve curves[3];
    double scratch[3];
    struct sh_text text;
    struct sh_plot_frame frame = make_frame();
    for (unsigned i = 0; i < 3; i++) {
        curves[i] = (struct sh_curve){.number = i + 1,
                                      .is_marked = i == 1,
                                      .n = 2,
                                      .x = {0.0, 10.0},
                                      .y = {1.0 + i, 1.0 + i}};
    }
    sh_text_init(&text, 0);
    sh_curve_set_draw(&text, &frame, curves, 3, scratch);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "\"curve\""), 2);
    assert_int_equal(markup_count(text.data, "curve-marked"), 1);
    assert_int_equal(markup_count(text.data, "curve-middle"), 1);
    markup_check_has(text.data, ">2</text>");
    sh_text_reset(&text);
    sh_curve_set_draw(&text, &frame, curves, 2, scratch);
    assert_int_equal(markup_count(text.data, "curve-middle"), 0);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_between_points),
        cmocka_unit_test(test_looks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
