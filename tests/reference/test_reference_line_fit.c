/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The line and polynomial fits against values certified or published elsewhere. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "signal/line_fit.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/reference.h"

#define POINTS_MAX 100

struct dataset {
    double x[POINTS_MAX];
    double y[POINTS_MAX];
    size_t n;
    double coefficient[SH_LINE_FIT_TERMS_MAX];
    double sd[SH_LINE_FIT_TERMS_MAX];
    double residual_sd;
};

/* One line of a set: a certified coefficient, the residual SD, or (in the data) a point. */
static void read_line(const char *line, bool is_data, struct dataset *set)
{
    char *end = NULL;
    if (is_data) {
        const double y = strtod(line, &end);
        if (end != line) {
            assert_true(set->n < POINTS_MAX);
            set->y[set->n] = y;
            set->x[set->n++] = strtod(end, NULL);
        }
        return;
    }
    const char *start = line + strspn(line, " ");
    if (start[0] == 'B' && start[1] >= '0' && start[1] <= '9') {
        const unsigned long k = strtoul(start + 1, &end, 10);
        assert_true(k < SH_LINE_FIT_TERMS_MAX);
        set->coefficient[k] = strtod(end, &end);
        set->sd[k] = strtod(end, NULL);
    } else if (strncmp(start, "Standard Deviation ", 19) == 0) {
        const double value = strtod(start + 19, &end);
        set->residual_sd = end != start + 19 ? value : set->residual_sd;
    }
}

static void read_set(const char *name, struct dataset *set)
{
    char path[512];
    char line[256];
    (void)snprintf(path, sizeof(path), SH_TESTS_DIR "/reference/nist/%s.dat", name);
    FILE *stream = fopen(path, "r");
    assert_non_null(stream);
    memset(set, 0, sizeof(*set));
    for (size_t n_lines = 1; fgets(line, sizeof(line), stream) != NULL; n_lines++) {
        if (n_lines > 30) {
            read_line(line, n_lines > 60, set);
        }
    }
    assert_int_equal(fclose(stream), 0);
    assert_true(set->n > 2);
}

static double count_digits(double got, double expected)
{
    const double error = fabs(got - expected) / fabs(expected);
    return error > 1e-15 ? -log10(error) : 15.0;
}

static void check_digits(const char *set, const char *what, double got, double least)
{
    char check[96];
    (void)snprintf(check, sizeof(check), "%s: digits of %s, at least %g", set, what, least);
    sh_reference_row(check, "NIST StRD", 15.0, got, 15.0 - least);
}

struct expectation {
    const char *name;
    size_t degree;
    double digits;
    bool through_zero;
    bool is_ill;
};

static void check_set(const struct expectation *expect)
{
    struct dataset set;
    double work[SH_LINE_FIT_WORK(POINTS_MAX, SH_LINE_FIT_DEGREE_MAX)];
    struct sh_line_fit fit;
    read_set(expect->name, &set);
    const struct sh_line_fit_points points = {set.x, set.y,          NULL,
                                              set.n, expect->degree, expect->through_zero};
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_OK);
    const double tolerance = pow(10.0, -expect->digits);
    double worst = 15.0;
    double worst_sd = 15.0;
    for (size_t k = expect->through_zero ? 1 : 0; k < fit.n_terms; k++) {
        char check[64];
        const double sd = sqrt(fit.covariance[k][k]);
        (void)snprintf(check, sizeof(check), "%s B%zu", expect->name, k);
        sh_reference_row(check, "NIST StRD", set.coefficient[k], fit.coefficient[k],
                         tolerance * fabs(set.coefficient[k]));
        worst = fmin(worst, count_digits(fit.coefficient[k], set.coefficient[k]));
        if (set.sd[k] > 0.0) {
            (void)snprintf(check, sizeof(check), "%s SD of B%zu", expect->name, k);
            sh_reference_row(check, "NIST StRD", set.sd[k], sd, tolerance * set.sd[k]);
            worst_sd = fmin(worst_sd, count_digits(sd, set.sd[k]));
        }
    }
    if (set.residual_sd > 0.0) {
        char check[64];
        (void)snprintf(check, sizeof(check), "%s residual SD", expect->name);
        sh_reference_row(check, "NIST StRD", set.residual_sd, fit.residual_sd,
                         tolerance * set.residual_sd);
    }
    check_digits(expect->name, "coefficients", worst, expect->digits);
    if (worst_sd < 15.0) {
        check_digits(expect->name, "their SDs", worst_sd, expect->digits);
    }
    assert_int_equal(fit.is_ill_conditioned, expect->is_ill);
}

static void test_nist(void **state)
{
    const struct expectation sets[] = {
        {"Pontius", 2, 12.0, false, false}, {"Norris", 1, 12.0, false, false},
        {"NoInt1", 1, 13.0, true, false},   {"NoInt2", 1, 13.0, true, false},
        {"Wampler1", 5, 9.0, false, false}, {"Wampler2", 5, 12.0, false, false},
        {"Wampler3", 5, 9.0, false, false}, {"Wampler4", 5, 8.0, false, false},
        {"Wampler5", 5, 6.0, false, false}, {"Filip", 10, 7.0, false, true},
    };
    for (size_t i = 0; i < sizeof(sets) / sizeof(sets[0]); i++) {
        check_set(&sets[i]);
    }
}

/* The load-cell calibration: lack of fit, and a load from a deflection. */
static void test_load_cell(void **state)
{
    struct dataset set;
    double work[SH_LINE_FIT_WORK(POINTS_MAX, 2)];
    struct sh_line_fit fit[2];
    const double lack[2] = {214.747, 0.8107};
    read_set("Pontius", &set);
    for (size_t i = 0; i < 2; i++) {
        const struct sh_line_fit_points points = {set.x, set.y, NULL, set.n, i + 1, false};
        struct sh_line_fit_test test;
        assert_int_equal(sh_line_fit_solve(&points, work, &fit[i]), SH_OK);
        assert_int_equal(sh_line_fit_test_lack(&points, &fit[i], &test), SH_OK);
        sh_reference_row(i == 0 ? "load cell, straight line: lack-of-fit F"
                                : "load cell, quadratic: lack-of-fit F",
                         "e-Handbook 4.6.1", lack[i], test.f, i == 0 ? 6e-4 : 6e-5);
    }
    struct sh_line_fit_test terms;
    assert_int_equal(sh_line_fit_test_terms(&fit[0], &fit[1], &terms), SH_OK);
    const double ratio =
        fit[1].coefficient[2] * fit[1].coefficient[2] / fit[1].covariance[2][2];
    sh_reference_row("load cell: F of the square term", "square of its t", ratio, terms.f,
                     1e-7 * ratio);
    struct sh_line_fit_inverse load;
    assert_int_equal(sh_line_fit_find_x(&fit[1], 1.239722, 0.95, &load), SH_OK);
    sh_reference_row("load of 1.239722", "e-Handbook 4.6.1, run", 1705106.0, load.x, 1.0);
    sh_reference_row("its lower limit", "e-Handbook 4.6.1, run", 1704513.0, load.lo, 1.0);
    sh_reference_row("its upper limit", "e-Handbook 4.6.1, run", 1705698.0, load.hi, 1.0);
}

static void test_thermometer(void **state)
{
    const double t[11] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                          24.513, 25.002, 25.503, 26.010, 26.511};
    const double b[11] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                          -0.156, -0.157, -0.159, -0.161, -0.160};
    double x[11];
    double work[SH_LINE_FIT_WORK(11, 1)];
    struct sh_line_fit fit;
    for (size_t i = 0; i < 11; i++) {
        x[i] = t[i] - 20.0;
    }
    const struct sh_line_fit_points points = {x, b, NULL, 11, 1, false};
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_OK);
    const double u0 = sqrt(fit.covariance[0][0]);
    const double u1 = sqrt(fit.covariance[1][1]);
    double u = 0.0;
    const double at_30 = sh_line_fit_get_value(&fit, 10.0, &u);
    const char *const source = "JCGM 100 H.3";
    sh_reference_row("thermometer y1", source, -0.1712, fit.coefficient[0], 5e-5);
    sh_reference_row("thermometer u(y1)", source, 0.0029, u0, 5e-5);
    sh_reference_row("thermometer y2", source, 0.00218, fit.coefficient[1], 5e-6);
    sh_reference_row("thermometer u(y2)", source, 0.00067, u1, 5e-6);
    sh_reference_row("thermometer r", source, -0.930, fit.covariance[0][1] / (u0 * u1), 5e-4);
    sh_reference_row("thermometer b(30)", source, -0.1494, at_30, 5e-5);
    sh_reference_row("thermometer u(b(30))", source, 0.0041, u, 5e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nist),
        cmocka_unit_test(test_load_cell),
        cmocka_unit_test(test_thermometer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
