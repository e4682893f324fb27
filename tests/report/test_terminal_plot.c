/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_plot.h"

#include <math.h>
#include <string.h>

#include "report/width_check.h"
#include "support/cmocka_all.h"

#define N 41u

/* A draw: rest, a straight rise to 180, a hold, nothing. */
static const struct sh_terminal_series *make_draw(void)
{
    static double x[N];
    static double y[N];
    static const struct sh_terminal_series draw = {.x = x, .y = y, .n = N, .label = "string"};
    for (size_t i = 0; i < N; i++) {
        x[i] = 0.1 * (double)i;
        y[i] = i < 10 ? 0.0 : i < 20 ? 18.0 * ((double)i - 10.0) : i < 34 ? 180.0 : 0.0;
    }
    return &draw;
}

static void check(const struct sh_terminal_plot *plot, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_terminal_plot_draw(plot, &text), SH_OK);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static struct sh_terminal_plot make_draw_plot(enum sh_terminal_charset charset)
{
    static const struct sh_terminal_mark marks[] = {
        {1.0, "D"}, {2.0, "F"}, {3.2, "C"}, {3.3, "R"}, {7.0, "E"}};
    static const struct sh_terminal_level level = {90.0, "half of it"};
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.charset = charset;
    plot.n_columns = 56;
    plot.n_rows = 7;
    plot.y_name = "force (N)";
    plot.x_name = "time (s)";
    plot.series = make_draw();
    plot.n_series = 1;
    plot.marks = marks;
    plot.n_marks = 5;
    plot.levels = &level;
    plot.n_levels = 1;
    return plot;
}

static void test_braille(void **state)
{
    const struct sh_terminal_plot plot = make_draw_plot(SH_TERMINAL_BRAILLE);
    check(&plot, "force (N)\n"
                 "                                     R\n"
                 "               D         F          C\n"
                 "    │          ┊        ⡔⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⢹\n"
                 "150 ┤          ┊      ⡠⠊ ┊          ┊⠈⡆\n"
                 "    │          ┊     ⡔⠁  ┊          ┊┊⡇\n"
                 "100 ┤┈┈┈┈┈┈┈┈┈┈┊┈┈┈⡠⠎┈┈┈┈┊┈┈┈┈┈┈┈┈┈┈┊┊⡇┈┈┈┈┈┈ half of it\n"
                 "    │          ┊  ⡔⠁     ┊          ┊┊⢇\n"
                 " 50 ┤          ┊⣀⠎       ┊          ┊┊⢸\n"
                 "  0 ┤⣀⣀⣀⣀⣀⣀⣀⣀⣀⣀⡔⠁        ┊          ┊┊⢸⣀⣀⣀⣀⣀⣀ string\n"
                 "    └┬─────────┬─────────┬────────┬─────────┬\n"
                 "     0         1         2        3         4   time (s)\n");
}

static void test_plain(void **state)
{
    const struct sh_terminal_plot plot = make_draw_plot(SH_TERMINAL_PLAIN);
    check(&plot, "force (N)\n"
                 "                                     R\n"
                 "               D         F          C\n"
                 "    |          |        .'''''''''''':\n"
                 "150 +          |      .: |          |:\n"
                 "    |          |     .'  |          |'.\n"
                 "100 +----------|---.:----|----------||:------ half of it\n"
                 " 50 +          |  :'     |          ||:\n"
                 "    |          |.'       |          ||:\n"
                 "  0 +..........:'        |          ||:...... string\n"
                 "    ++---------+---------+--------+---------+\n"
                 "     0         1         2        3         4   time (s)\n");
}

/* Residuals of a calibration: a letter and a bar each, about a line at zero. */
static void test_points_with_bars(void **state)
{
    const double x[] = {0.0, 1.0, 2.0, 3.0, 4.0};
    const double y[] = {0.1, -0.2, 0.05, -0.1, 0.3};
    const double bar[] = {0.2, 0.2, (double)NAN, 0.2, 0.2};
    const struct sh_terminal_series series = {
        .x = x, .y = y, .bar = bar, .n = 5, .look = SH_TERMINAL_POINTS};
    const struct sh_terminal_level zero = {0.0, NULL};
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.charset = SH_TERMINAL_PLAIN;
    plot.n_columns = 40;
    plot.n_rows = 7;
    plot.y_name = "residual (N)";
    plot.x_name = "load (N)";
    plot.x_lo = -0.5;
    plot.x_hi = 4.5;
    plot.series = &series;
    plot.n_series = 1;
    plot.levels = &zero;
    plot.n_levels = 1;
    check(&plot, "residual (N)\n"
                 "0.5 +                               :\n"
                 "    |   .                           o\n"
                 "    |   :                           :\n"
                 "0.0 +---o------.------o------:------'---\n"
                 "    |   :      :             o\n"
                 "    |          o             :\n"
                 "    |          :             '\n"
                 "    +---+-------------+-------------+---\n"
                 "        0             2         load (N)\n");
}

/* A trend stands out from a curve as a line of letters. */
static void test_letters(void **state)
{
    const double x[] = {0.0, 1.0, 2.0, 3.0};
    const double y[] = {0.0, 3.0, 0.0, 3.0};
    const double line[] = {1.0, 1.2, 1.4, 2.0};
    const struct sh_terminal_series series[] = {{.x = x, .y = y, .n = 4},
                                                {.x = x,
                                                 .y = line,
                                                 .n = 4,
                                                 .look = SH_TERMINAL_LETTERS,
                                                 .letter = '=',
                                                 .label = "trend"}};
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.n_columns = 36;
    plot.n_rows = 4;
    plot.y_name = "force (N)";
    plot.series = series;
    plot.n_series = 2;
    check(&plot, "force (N)\n"
                 "3 ┤       ⣀⠔⠑⢄⡀            ⢀⡠⠊\n"
                 "2 ┤     ⡠⠊    ⠈⠢⡀     ======== trend\n"
                 "1 ┤====================⡠⠊⠁\n"
                 "0 ┤⡠⠒⠁            ⠈⠒⢄⠔⠊\n"
                 "  └┬────────┬───────┬────────┬\n"
                 "   0        1       2        3\n");
}

/* What is not finite breaks the line; two curves of other looks, each named where it ends. */
static void test_gaps_and_names(void **state)
{
    const double x[] = {0.0, 1.0, 2.0, 3.0, 4.0};
    const double a[] = {1.0, 1.0, (double)NAN, 2.0, 2.0};
    const double b[] = {0.0, 0.5, 1.0, 1.5, 2.0};
    const struct sh_terminal_series series[] = {
        {.x = x, .y = a, .n = 5, .label = "one"},
        {.x = x, .y = b, .n = 5, .look = SH_TERMINAL_DASHED, .label = "another\x1B one"}};
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.n_columns = 40;
    plot.n_rows = 4;
    plot.y_name = "share";
    plot.series = series;
    plot.n_series = 2;
    check(&plot, "share\n"
                 "2 ┤                  ⠈⠉⣩⠉⠛⠉⠉ one\n"
                 "  │            ⢀ ⠤ ⠒ ⠉       another� one\n"
                 "1 ┤⠉⠉⠉⠉⠉⠉⣁ ⠤ ⠒ ⠉\n"
                 "0 ┤⣀ ⠤ ⠋\n"
                 "  └┬─────┬─────┬─────┬─────┬\n"
                 "   0     1     2     3     4\n");
}

static void test_nothing(void **state)
{
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.charset = SH_TERMINAL_PLAIN;
    plot.n_columns = SH_TERMINAL_PLOT_COLUMNS_MIN;
    plot.n_rows = SH_TERMINAL_PLOT_ROWS_MIN;
    plot.y_name = "force (N)";
    plot.x_name = "time (s)";
    check(&plot, "force (N)\n"
                 " 1 +\n"
                 " 0 +\n"
                 "-1 +\n"
                 "   ++------+------+-----+------+\n"
                 "  -1.0   -0.5    0.0    time (s)\n");
}

static void test_refuses(void **state)
{
    static struct sh_terminal_mark marks[SH_TERMINAL_PLOT_MARKS_MAX + 1];
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    struct sh_text text;
    sh_text_init(&text, 0);
    plot.n_columns = SH_TERMINAL_PLOT_COLUMNS_MIN - 1;
    assert_int_equal(sh_terminal_plot_draw(&plot, &text), SH_ERR_ARGUMENT);
    plot = sh_terminal_plot_default();
    plot.n_rows = SH_TERMINAL_PLOT_ROWS_MIN - 1;
    assert_int_equal(sh_terminal_plot_draw(&plot, &text), SH_ERR_ARGUMENT);
    plot.n_rows = SH_TERMINAL_GRID_CELLS_MAX + 1;
    assert_int_equal(sh_terminal_plot_draw(&plot, &text), SH_ERR_ARGUMENT);
    plot = sh_terminal_plot_default();
    plot.marks = marks;
    plot.n_marks = SH_TERMINAL_PLOT_MARKS_MAX + 1;
    assert_int_equal(sh_terminal_plot_draw(&plot, &text), SH_ERR_ARGUMENT);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
    sh_text_init(&text, 100);
    plot = sh_terminal_plot_default();
    assert_int_equal(sh_terminal_plot_draw(&plot, &text), SH_ERR_FULL);
    sh_text_close(&text);
}

/* No line is wider than asked, whatever the width. */
static void test_widths(void **state)
{
    for (size_t n_columns = SH_TERMINAL_PLOT_COLUMNS_MIN; n_columns < 200; n_columns++) {
        struct sh_terminal_plot plot = make_draw_plot(SH_TERMINAL_BRAILLE);
        struct sh_text text;
        plot.n_columns = n_columns;
        sh_text_init(&text, 0);
        assert_int_equal(sh_terminal_plot_draw(&plot, &text), SH_OK);
        width_check(text.data, n_columns);
        sh_text_close(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_braille),          cmocka_unit_test(test_plain),
        cmocka_unit_test(test_points_with_bars), cmocka_unit_test(test_gaps_and_names),
        cmocka_unit_test(test_nothing),          cmocka_unit_test(test_letters),
        cmocka_unit_test(test_refuses),          cmocka_unit_test(test_widths),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
