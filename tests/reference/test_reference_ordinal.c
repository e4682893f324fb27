/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Proportional-odds regressions against R. MASS finds the peak by a general search and the
 * errors by differences: six digits of a slope, four of an error. */
#include <math.h>
#include <stdio.h>

#include "signal/ordinal.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define ROWS_MAX 2000u
#define SLOPE    1e-6 /* relative */
#define ERROR    1e-4

/* Expected: slopes, errors, cuts, log-likelihood. */
static void check(const char *what,
                  const char *source,
                  const struct sh_ordinal_rows *rows,
                  const double *expected)
{
    struct sh_ordinal fit;
    char name[96];
    assert_int_equal(sh_ordinal_fit(rows, &fit), SH_OK);
    for (size_t i = 0; i < rows->n_columns; i++) {
        (void)snprintf(name, sizeof name, "%s, slope %zu", what, i + 1);
        sh_reference_row(name, source, expected[i], fit.slope[i], SLOPE * fabs(expected[i]));
        const double u = expected[rows->n_columns + i];
        (void)snprintf(name, sizeof name, "%s, error of slope %zu", what, i + 1);
        sh_reference_row(name, source, u, fit.u[i], ERROR * u);
    }
    const double *cuts = expected + 2 * rows->n_columns;
    for (size_t i = 0; i + 1 < rows->n_levels; i++) {
        (void)snprintf(name, sizeof name, "%s, cut %zu", what, i + 1);
        sh_reference_row(name, source, cuts[i], fit.cut[i], SLOPE * fmax(1.0, fabs(cuts[i])));
    }
    (void)snprintf(name, sizeof name, "%s, log-likelihood", what);
    const double peak = cuts[rows->n_levels - 1];
    sh_reference_row(name, source, peak, fit.log_likelihood, 1e-10 * fabs(peak));
}

static void test_shots(void **state)
{
    struct sh_reference_file *file = sh_reference_open("ordinal");
    size_t level[ROWS_MAX];
    double hold[ROWS_MAX];
    size_t n = 0;
    const double *x = sh_reference_get(file, "shots_x", NULL);
    const double *levels = sh_reference_get(file, "shots_level", &n);
    for (size_t i = 0; i < n; i++) {
        level[i] = (size_t)levels[i];
    }
    const struct sh_ordinal_rows shots = {x, level, n, 2, 5};
    check("score on hold and tremor", "R MASS", &shots, sh_reference_get(file, "shots", NULL));
    const double *two = sh_reference_get(file, "two_level", NULL);
    for (size_t i = 0; i < n; i++) {
        level[i] = (size_t)two[i];
        hold[i] = x[2 * i];
    }
    const struct sh_ordinal_rows rows = {hold, level, n, 1, 2};
    check("two levels", "R glm", &rows, sh_reference_get(file, "two", NULL));
    sh_reference_close(&file);
}

static void test_housing(void **state)
{
    static double x[ROWS_MAX * 6];
    static size_t level[ROWS_MAX];
    struct sh_reference_file *file = sh_reference_open("ordinal");
    size_t n_cells = 0;
    size_t n = 0;
    const double *cells = sh_reference_get(file, "housing_x", NULL);
    const double *levels = sh_reference_get(file, "housing_level", NULL);
    const double *counts = sh_reference_get(file, "housing_count", &n_cells);
    for (size_t cell = 0; cell < n_cells; cell++) {
        for (size_t i = 0; i < (size_t)counts[cell]; i++, n++) {
            assert_true(n < ROWS_MAX);
            level[n] = (size_t)levels[cell];
            for (size_t column = 0; column < 6; column++) {
                x[6 * n + column] = cells[6 * cell + column];
            }
        }
    }
    const struct sh_ordinal_rows rows = {x, level, n, 6, 3};
    check("housing", "R MASS", &rows, sh_reference_get(file, "housing", NULL));
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shots),
        cmocka_unit_test(test_housing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
