/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shifts between two sides, of sessions and of ends that took turns, against SciPy. */
#include <math.h>
#include <stdio.h>

#include "series/before_after.h"
#include "series/shift_plan.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define N_MAX 32u

static void check(const char *what, const double *expected, const struct sh_before_after *got)
{
    const double values[3] = {got->shift, got->lo, got->hi};
    const char *const names[3] = {"", ", lower limit", ", upper limit"};
    assert_int_equal(got->why, SH_BEFORE_AFTER_KNOWN);
    for (size_t k = 0; k < 3; k++) {
        char name[96];
        (void)snprintf(name, sizeof name, "%s%s", what, names[k]);
        sh_reference_row(name, "SciPy", expected[k], values[k], 1e-10);
    }
}

/* Each session three arrows about its own mean: the same figures as of one value a session. */
static void test_sessions(void **state)
{
    struct sh_reference_file *file = sh_reference_open("shifts");
    struct sh_before_after_arrow arrows[3 * N_MAX];
    double values[3 * N_MAX];
    size_t n_side[2] = {0};
    const double *side[2] = {sh_reference_get(file, "first", &n_side[0]),
                             sh_reference_get(file, "second", &n_side[1])};
    const double *expected = sh_reference_get(file, "sessions", NULL);
    size_t n = 0;
    for (size_t k = 0; k < 2; k++) {
        for (size_t i = 0; i < n_side[k]; i++) {
            for (int arrow = -1; arrow <= 1; arrow++) {
                values[n] = side[k][i] + 0.7 * arrow;
                arrows[n] = (struct sh_before_after_arrow){10 * k + i, n / 2, k == 1};
                n++;
            }
        }
    }
    const struct sh_before_after_config config = {
        .arrows = arrows, .values = values, .n = n, .n_figures = 1, .seed = 1};
    struct sh_before_after got;
    assert_int_equal(sh_before_after_get(&config, &got), SH_OK);
    assert_int_equal(got.way, SH_BEFORE_AFTER_SESSIONS);
    check("shift between sessions", expected, &got);
    sh_reference_row("shift between sessions, exact p", "SciPy", expected[3], got.p, 1e-12);
    sh_reference_close(&file);
}

static void test_ends(void **state)
{
    struct sh_reference_file *file = sh_reference_open("shifts");
    struct sh_before_after_arrow arrows[N_MAX];
    size_t n = 0;
    const double *x = sh_reference_get(file, "ends", &n);
    const double *session = sh_reference_get(file, "ends_session", NULL);
    const double *second = sh_reference_get(file, "ends_second", NULL);
    for (size_t i = 0; i < n; i++) {
        arrows[i] = (struct sh_before_after_arrow){(size_t)session[i], i, second[i] > 0.5};
    }
    const struct sh_before_after_config config = {
        .arrows = arrows, .values = x, .n = n, .n_figures = 1, .seed = 1};
    struct sh_before_after got;
    assert_int_equal(sh_before_after_get(&config, &got), SH_OK);
    assert_int_equal(got.way, SH_BEFORE_AFTER_ENDS);
    check("shift within sessions", sh_reference_get(file, "turns", NULL), &got);
    sh_reference_close(&file);
}

static void test_needed(void **state)
{
    struct sh_reference_file *file = sh_reference_open("shifts");
    size_t n = 0;
    const double *expected = sh_reference_get(file, "needed", &n);
    const double *plans = sh_reference_get(file, "plans", NULL);
    const struct sh_shift_plan plan = {.level = 0.05};
    const struct sh_shift_trial known = {.u = 1.0, .freedom = 1e6, .n_arrangements = 1e6};
    for (size_t i = 0; i < n; i++) {
        char name[96];
        (void)snprintf(name, sizeof name, "sessions a side for a shift of %g SD",
                       plans[2 * i] / plans[2 * i + 1]);
        sh_reference_row(
            name, "SciPy nct", expected[i],
            sh_shift_plan_get_needed(&plan, &known, plans[2 * i], plans[2 * i + 1]), 1.0);
    }
    sh_reference_close(&file);
}

/* What nine numbers say in order: see chance() of make_shifts.py. */
static void test_chance(void **state)
{
    struct sh_reference_file *file = sh_reference_open("shifts");
    size_t n = 0;
    const double *expected = sh_reference_get(file, "chance", &n);
    const double *row = sh_reference_get(file, "chances", NULL);
    for (size_t i = 0; i < n; i++, row += 9) {
        char name[96];
        const struct sh_shift_plan plan = {
            .level = row[0], .calibration_u = row[7], .calibration_t = row[8]};
        const struct sh_shift_trial made = {.freedom = row[1], .n_arrangements = row[2]};
        const struct sh_shift_trial next = {
            .u = row[3], .freedom = row[4], .n_arrangements = row[5]};
        (void)snprintf(name, sizeof name, "chance to see a shift, %.0f and %.0f d.f.", row[1],
                       row[4]);
        sh_reference_row(name, "SciPy Sobol", expected[i],
                         sh_shift_plan_get_chance(&plan, &made, &next, row[6]), 2e-3);
    }
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sessions),
        cmocka_unit_test(test_ends),
        cmocka_unit_test(test_needed),
        cmocka_unit_test(test_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
