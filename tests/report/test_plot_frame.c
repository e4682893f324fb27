/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plot_frame.h"

#include "report/markup.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_plot_frame make(void)
{
    struct sh_ruler x = sh_ruler_fit(-4.0, 0.0, 6);
    struct sh_ruler y = sh_ruler_fit(0.0, 200.0, 6);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, 100.0);
    frame.x_name = "time (s)";
    frame.y_name = "force (N)";
    return frame;
}

static void test_places(void **state)
{
    struct sh_plot_frame frame = make();
    assert_near(sh_plot_frame_get_x(&frame, -4.0), frame.left, 1e-12, 0);
    assert_near(sh_plot_frame_get_x(&frame, 0.0), frame.right, 1e-12, 0);
    assert_near(sh_plot_frame_get_y(&frame, 0.0), frame.bottom_px, 1e-12, 0);
    assert_near(sh_plot_frame_get_y(&frame, 200.0), frame.top_px, 1e-12, 0);
    assert_near(sh_plot_frame_get_y(&frame, 50.0), frame.bottom_px - 25.0, 1e-12, 0);
    assert_near(frame.bottom_px - frame.top_px, 100.0, 1e-12, 0);
    assert_true(sh_plot_frame_get_height(&frame) > frame.bottom_px);
}

static void test_drawing(void **state)
{
    struct sh_text text;
    struct sh_plot_frame frame = make();
    sh_text_init(&text, 0);
    sh_plot_frame_draw(&text, &frame);
    markup_check(text.data);
    markup_check_has(text.data, ">time (s)</text>");
    markup_check_has(text.data, ">force (N)</text>");
    assert_int_equal(markup_count(text.data, "class=\"grid\""),
                     frame.x.n_ticks + frame.y.n_ticks);
    assert_int_equal(markup_count(text.data, "class=\"tick\""),
                     frame.x.n_ticks + frame.y.n_ticks);
    sh_text_reset(&text);
    frame.has_x_ticks = false;
    sh_plot_frame_draw(&text, &frame);
    assert_int_equal(markup_count(text.data, "class=\"tick\""), frame.y.n_ticks);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_places),
                                       cmocka_unit_test(test_drawing)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
