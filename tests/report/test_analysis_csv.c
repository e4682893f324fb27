/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_csv.h"

#include <stdlib.h>
#include <string.h>

#include "report/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define ROWS_MAX  5
#define CELLS_MAX 400
#define CELL_MAX  128

/* A table read back by the rules of RFC 4180, section 2. */
struct grid {
    size_t n_rows;
    size_t n_cells[ROWS_MAX];
    char cell[ROWS_MAX][CELLS_MAX][CELL_MAX];
};

static struct grid grid;

/* Reads one cell; returns where it ends: at a comma or a line break. */
static const char *read_cell(const char *at, char *cell)
{
    size_t n = 0;
    if (*at != '"') {
        n = strcspn(at, ",\r");
        assert_true(n < CELL_MAX);
        memcpy(cell, at, n);
        return at + n;
    }
    for (at++; *at != '"' || at[1] == '"'; at++) {
        assert_true(*at != '\0' && n + 1 < CELL_MAX);
        cell[n++] = *at;
        at += *at == '"' ? 1 : 0;
    }
    return at + 1;
}

static void read_grid(const char *at)
{
    memset(&grid, 0, sizeof grid);
    while (*at != '\0') {
        size_t row = grid.n_rows++;
        assert_true(row < ROWS_MAX);
        for (bool is_more = true; is_more;) {
            assert_true(grid.n_cells[row] < CELLS_MAX);
            at = read_cell(at, grid.cell[row][grid.n_cells[row]++]);
            is_more = *at == ',';
            at += is_more ? 1 : 0;
        }
        assert_memory_equal(at, "\r\n", 2);
        at += 2;
    }
}

static const char *get(size_t row, const char *name)
{
    for (size_t i = 0; i < grid.n_cells[0]; i++) {
        if (strcmp(grid.cell[0][i], name) == 0) {
            return grid.cell[row][i];
        }
    }
    fail_msg("no column %s", name);
    return NULL;
}

static void read_made(void)
{
    struct sh_analysis analysis;
    struct sh_text text;
    made_analysis(&analysis);
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_csv_write(&analysis, &text), SH_OK);
    read_grid(text.data);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_shape(void **state)
{
    read_made();
    assert_int_equal(grid.n_rows, 4);
    for (size_t row = 1; row < grid.n_rows; row++) {
        assert_int_equal(grid.n_cells[row], grid.n_cells[0]);
    }
    for (size_t i = 0; i < grid.n_cells[0]; i++) {
        for (size_t k = 0; k < i; k++) {
            assert_string_not_equal(grid.cell[0][i], grid.cell[0][k]);
        }
    }
    assert_string_equal(grid.cell[0][0], "recording");
}

static void test_cells(void **state)
{
    read_made();
    assert_string_equal(get(1, "recording"), "2026-05-14_0930_wren");
    assert_string_equal(get(1, "athlete"), "wren, \"the small\"");
    assert_string_equal(get(3, "n"), "3");
    assert_string_equal(get(2, "kind"), "let-down");
    assert_string_equal(get(1, "score"), "9");
    assert_string_equal(get(2, "score"), "");
    assert_near(strtod(get(1, "release_s"), NULL), 25.009, 0, 0);
    assert_string_equal(get(1, "release_lo_s"), "");
    assert_string_equal(get(1, "clicker_sensor"), "acceleration");
    assert_string_equal(get(2, "clicker_sensor"), "");
    assert_string_equal(get(1, "vibration_clipped"), "true");
    assert_string_equal(get(2, "vibration_clipped"), "");
    assert_near(strtod(get(1, "finger_share_1"), NULL), 0.41, 0, 0);
    assert_string_equal(get(1, "finger_share_2"), "");
    assert_near(strtod(get(1, "finger_share_u_3"), NULL), 0.01, 0, 0);
    assert_string_equal(get(1, "tremor_band_n_4"), "");
}

static void test_lists(void **state)
{
    read_made();
    assert_string_equal(get(1, "quality_1"), "clipped");
    assert_string_equal(get(1, "quality_2"), "");
    assert_string_equal(get(2, "quality_2"), "short");
    assert_string_equal(get(1, "changed_2"), "creep_n");
    assert_string_equal(get(2, "changed_1"), "kind");
    assert_string_equal(get(3, "changed_1"), "");
    assert_string_equal(get(1, "findings_1_code"), "creep");
    assert_string_equal(get(1, "findings_1_text"), "The draw got shorter, by \"5.2 mm\".");
    assert_near(strtod(get(1, "findings_1_unusual"), NULL), 3.5, 0, 0);
    assert_string_equal(get(1, "findings_1_basis"), "user");
    assert_near(strtod(get(1, "findings_2_threshold"), NULL), -0.06, 0, 0);
    assert_string_equal(get(1, "findings_2_unusual"), "");
    assert_string_equal(get(2, "findings_1_value"), "");
    assert_string_equal(get(2, "findings_1_threshold"), "");
    assert_string_equal(get(3, "findings_2_code"), "");
}

static void test_quoting(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    sh_analysis_init(&analysis, "one\r\ntwo", "\"\xFF,");
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_csv_write(&analysis, &text), SH_OK);
    read_grid(text.data);
    assert_string_equal(get(1, "recording"), "one\r\ntwo");
    assert_string_equal(get(1, "athlete"), "\"\xEF\xBF\xBD,");
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_no_shots_leave_the_head(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "empty", "rook");
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_csv_write(&analysis, &text), SH_OK);
    read_grid(text.data);
    assert_int_equal(grid.n_rows, 1);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_a_full_text_says_so(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    made_analysis(&analysis);
    sh_text_init(&text, 3000);
    assert_int_equal(sh_analysis_csv_write(&analysis, &text), SH_ERR_FULL);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shape),
        cmocka_unit_test(test_cells),
        cmocka_unit_test(test_lists),
        cmocka_unit_test(test_quoting),
        cmocka_unit_test(test_no_shots_leave_the_head),
        cmocka_unit_test(test_a_full_text_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
