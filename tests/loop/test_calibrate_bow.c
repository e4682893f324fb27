/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The real `calibrate --bow`, with a bow whose force is a known function of its draw. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "loop/program.h"
#include "recording/bow_file.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define BRACE_IN 9.0

/* Pounds at a draw length in inches. */
static double get_force_lb(double draw_in)
{
    const double x = draw_in - BRACE_IN;
    return 2.9 * x - 0.06 * x * x + 0.0016 * x * x * x;
}

static double get_slope_lb_in(double draw_in)
{
    const double x = draw_in - BRACE_IN;
    return 2.9 - 0.12 * x + 0.0048 * x * x;
}

static double get_energy_lb_in(double draw_in)
{
    const double x = draw_in - BRACE_IN;
    return 1.45 * x * x - 0.02 * x * x * x + 0.0004 * x * x * x * x;
}

static void write_table(const char *path, const char *head, bool is_metric)
{
    char text[4096];
    size_t n = (size_t)snprintf(text, sizeof text, "%s", head);
    for (int i = 0; i <= 20; i++) {
        const double draw_in = BRACE_IN + i;
        const double pivot_in = draw_in - 1.75;
        const double force_lb = get_force_lb(draw_in);
        n += (size_t)(is_metric ? snprintf(text + n, sizeof text - n, "%.3f mm, %.4f N\n",
                                           pivot_in * 25.4, force_lb * SH_UNITS_LBF_N)
                                : snprintf(text + n, sizeof text - n, "%g in, %.4f lb\n",
                                           draw_in, force_lb));
    }
    scratch_write(path, text, n);
}

static double get_real(const json_t *root, const char *key)
{
    const json_t *value = json_object_get(root, key);
    assert_true(json_is_real(value));
    return json_real_value(value);
}

/* Inches and pounds by the trade's draw length, or millimetres and newtons from the pivot. */
static void test_figures(void **state)
{
    const struct scratch *scratch = *state;
    char table[SCRATCH_PATH_BYTES];
    char bow[SCRATCH_PATH_BYTES];
    scratch_path(scratch, "table.txt", table);
    scratch_path(scratch, "bow.ini", bow);
    for (int is_metric = 0; is_metric < 2; is_metric++) {
        struct program program;
        struct sh_bow_file file;
        const char *words[] = {"calibrate",
                               "--bow",
                               table,
                               "--draw-length",
                               is_metric == 1 ? "711.2mm" : "28 in",
                               "--format",
                               "json",
                               "--out",
                               bow,
                               "--name",
                               "blue 66",
                               "--date",
                               "2026-05-01",
                               NULL};
        write_table(table, is_metric == 1 ? "# at the shed\npivot\n" : "", is_metric == 1);
        assert_int_equal(program_run(&program, scratch, "bow", words), 0);
        char *out = program_read_out(&program);
        json_t *root = json_loads(out, JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(root);
        const double per_in = SH_UNITS_LBF_N / SH_UNITS_INCH_M;
        const double weight_n = get_force_lb(28.0) * SH_UNITS_LBF_N;
        const double stiffness = get_slope_lb_in(28.0) * per_in;
        const double energy_j = get_energy_lb_in(28.0) * SH_UNITS_LBF_N * SH_UNITS_INCH_M;
        assert_near(get_real(root, "draw_weight_n"), weight_n, 0.0, 1e-4);
        assert_near(get_real(root, "stiffness_n_per_m"), stiffness, 0.0, 2e-3);
        assert_near(get_real(root, "energy_j"), energy_j, 0.0, 2e-3);
        assert_near(get_real(root, "draw_length_m"), 0.7112, 1e-12, 0.0);
        assert_true(get_real(root, "draw_weight_u_n") > 0.01 * weight_n);
        assert_true(get_real(root, "stiffness_u_n_per_m") > 0.01 * stiffness);
        assert_true(get_real(root, "energy_u_j") > 0.01 * energy_j);
        assert_int_equal(sh_bow_file_read(bow, &file, NULL), SH_OK);
        assert_string_equal(file.bow.name, "blue 66");
        assert_string_equal(file.measured, "2026-05-01");
        assert_near(file.bow.draw_weight_n.value, weight_n, 0.0, 1e-4);
        assert_near(file.bow.stiffness_n_per_m.u, get_real(root, "stiffness_u_n_per_m"), 0.0,
                    1e-2);
        json_decref(root);
        free(out);
    }
}

static void test_sentences(void **state)
{
    const struct scratch *scratch = *state;
    struct program program;
    char table[SCRATCH_PATH_BYTES];
    scratch_path(scratch, "table.txt", table);
    write_table(table, "", false);
    const char *words[] = {"calibrate", "--bow", table, NULL}; /* at its last draw: 29 in */
    assert_int_equal(program_run(&program, scratch, "bow", words), 0);
    char *out = program_read_out(&program);
    assert_non_null(strstr(out, "draw length of 29.00 in"));
    assert_non_null(strstr(out, "pivot point to string + 1 3/4 in"));
    assert_non_null(strstr(out, "it stores"));
    assert_non_null(strstr(out, "does not rise straight"));
    free(out);
}

static void check_line(int status, const char *err, const char *says)
{
    const char *end = strchr(err, '\n');
    if (status != 1 || strstr(err, says) == NULL || end == NULL || end[1] != '\0') {
        fail_msg("status %d, wanted '%s', said: %s", status, says, err);
    }
}

static void test_refusals(void **state)
{
    const struct scratch *scratch = *state;
    static const struct {
        const char *text;
        const char *draw_length;
        const char *says;
    } cases[] = {
        {"", "28in", "0 rows are too few"},
        {"9 in\n", "28in", "table.txt:1: this line cannot be read"},
        {"9 in, 3 kg\n", "28in", "table.txt:1: this line cannot be read"},
        {"9, 3 lb\n", "28in", "table.txt:1: this line cannot be read"},
        {"9 in, -3 lb\n", "28in", "table.txt:1: this line cannot be read"},
        {"9 in, 3 lb\n9 in, 4 lb\n", "28in", "table.txt:2: this draw length is not longer"},
        {"9 in,0 lb\n10 in,3 lb\n11 in,6 lb\n12 in,8 lb\n13 in,10 lb\n", "13in", "5 rows"},
        {"9 in,0 lb\n10 in,3 lb\n11 in,6 lb\n12 in,8 lb\n13 in,10 lb\n14 in,12 lb\n", "28in",
         "outside the table"},
    };
    char table[SCRATCH_PATH_BYTES];
    scratch_path(scratch, "table.txt", table);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct program program;
        const char *words[] = {"calibrate",          "--bow", table, "--draw-length",
                               cases[i].draw_length, NULL};
        scratch_write(table, cases[i].text, strlen(cases[i].text));
        const int status = program_run(&program, scratch, "bow", words);
        char *err = program_read_err(&program);
        check_line(status, err, cases[i].says);
        free(err);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_figures, scratch_set_up, scratch_tear_down),
        cmocka_unit_test_setup_teardown(test_sentences, scratch_set_up, scratch_tear_down),
        cmocka_unit_test_setup_teardown(test_refusals, scratch_set_up, scratch_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
