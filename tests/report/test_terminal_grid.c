/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_grid.h"

#include "support/cmocka_all.h"

static void open_grid(struct sh_terminal_grid *grid, enum sh_terminal_charset charset)
{
    assert_int_equal(sh_terminal_grid_open(grid, charset, 6, 2), SH_OK);
}

/* Closes the grid and compares its rows. */
static void check(struct sh_terminal_grid *grid, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    for (size_t row = 0; row < grid->n_rows; row++) {
        sh_terminal_grid_write_row(grid, row, grid->n_columns, &text);
        sh_text_puts(&text, "\n");
    }
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
    sh_terminal_grid_close(grid);
}

static void put(struct sh_terminal_grid *grid, double x0, double y0, double x1, double y1)
{
    const double from[2] = {x0, y0};
    const double to[2] = {x1, y1};
    sh_terminal_grid_put_line(grid, from, to, false);
}

static void test_sizes(void **state)
{
    struct sh_terminal_grid grid;
    assert_int_equal(sh_terminal_grid_open(&grid, SH_TERMINAL_PLAIN, 0, 1), SH_ERR_ARGUMENT);
    assert_int_equal(sh_terminal_grid_open(&grid, SH_TERMINAL_PLAIN, 1, 0), SH_ERR_ARGUMENT);
    assert_int_equal(sh_terminal_grid_open(&grid, SH_TERMINAL_PLAIN, 1001, 1), SH_ERR_ARGUMENT);
    assert_int_equal(sh_terminal_grid_open(&grid, SH_TERMINAL_PLAIN, 1, 1001), SH_ERR_ARGUMENT);
    assert_int_equal(sh_terminal_grid_open(&grid, SH_TERMINAL_BRAILLE, 1000, 1), SH_OK);
    assert_int_equal(grid.n_dots_x, 2000);
    assert_int_equal(grid.n_dots_y, 4);
    sh_terminal_grid_close(&grid);
    sh_terminal_grid_close(&grid);
    assert_int_equal(sh_terminal_grid_open(&grid, SH_TERMINAL_PLAIN, 3, 5), SH_OK);
    assert_int_equal(grid.n_dots_x, 3);
    assert_int_equal(grid.n_dots_y, 10);
    sh_terminal_grid_close(&grid);
}

/* Each of the eight dots has its own bit in Unicode's pattern. */
static void test_braille_dots(void **state)
{
    struct sh_terminal_grid grid;
    open_grid(&grid, SH_TERMINAL_BRAILLE);
    put(&grid, 0, 0, 0, 0);
    put(&grid, 2, 1, 2, 1);
    put(&grid, 4, 2, 4, 2);
    put(&grid, 6, 3, 6, 3);
    put(&grid, 1, 4, 1, 4);
    put(&grid, 3, 5, 3, 5);
    put(&grid, 5, 6, 5, 6);
    put(&grid, 7, 7, 7, 7);
    check(&grid, "⠁⠂⠄⡀  \n⠈⠐⠠⢀  \n");
}

static void test_lines(void **state)
{
    struct sh_terminal_grid grid;
    open_grid(&grid, SH_TERMINAL_BRAILLE);
    put(&grid, 0, 0, 11, 0);
    put(&grid, 0, 7, 11, 2);
    check(&grid, "⠉⠉⠉⠉⣉⠭\n⣀⠤⠒⠉  \n");
    open_grid(&grid, SH_TERMINAL_PLAIN);
    put(&grid, 0, 3, 5, 0);
    check(&grid, "   ..'\n.''   \n");
}

static void test_cut_at_the_edges(void **state)
{
    struct sh_terminal_grid grid;
    open_grid(&grid, SH_TERMINAL_PLAIN);
    put(&grid, -1e9, 1, 1e9, 1);
    put(&grid, 2, -1e9, 2, 1e9);
    check(&grid, "..:...\n  :   \n");
    open_grid(&grid, SH_TERMINAL_PLAIN);
    put(&grid, -5, -5, 20, -5);
    put(&grid, 7, 0, 7, 3);
    put(&grid, -3, 3, -2, 0);
    check(&grid, "      \n      \n");
}

static void test_dashes(void **state)
{
    struct sh_terminal_grid grid;
    const double from[2] = {0.0, 0.0};
    const double to[2] = {11.0, 0.0};
    open_grid(&grid, SH_TERMINAL_BRAILLE);
    sh_terminal_grid_put_line(&grid, from, to, true);
    check(&grid, "⠉ ⠉ ⠉ \n      \n");
}

/* A letter stands over dots, dots over a rule. */
static void test_what_stands_before_what(void **state)
{
    struct sh_terminal_grid grid;
    const double at[2] = {1.0, 0.0};
    const double outside[2] = {6.0, 0.0};
    open_grid(&grid, SH_TERMINAL_PLAIN);
    sh_terminal_grid_rule_row(&grid, 0);
    sh_terminal_grid_rule_row(&grid, 2);
    sh_terminal_grid_rule_column(&grid, 3);
    sh_terminal_grid_rule_column(&grid, 6);
    put(&grid, 0, 0, 1, 0);
    sh_terminal_grid_put_letter(&grid, at, 'o');
    sh_terminal_grid_put_letter(&grid, outside, 'x');
    check(&grid, "'o-|--\n   |  \n");
    open_grid(&grid, SH_TERMINAL_BRAILLE);
    sh_terminal_grid_rule_row(&grid, 0);
    sh_terminal_grid_rule_column(&grid, 3);
    check(&grid, "┈┈┈┊┈┈\n   ┊  \n");
}

static void test_width(void **state)
{
    struct sh_terminal_grid grid;
    open_grid(&grid, SH_TERMINAL_PLAIN);
    put(&grid, 1, 0, 2, 0);
    assert_int_equal(sh_terminal_grid_get_width(&grid, 0), 3);
    assert_int_equal(sh_terminal_grid_get_width(&grid, 1), 0);
    sh_terminal_grid_close(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sizes),  cmocka_unit_test(test_braille_dots),
        cmocka_unit_test(test_lines),  cmocka_unit_test(test_cut_at_the_edges),
        cmocka_unit_test(test_dashes), cmocka_unit_test(test_what_stands_before_what),
        cmocka_unit_test(test_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
