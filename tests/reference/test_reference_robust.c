/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Huber's fits against R and GSL, to two digits; broken sticks against NumPy and R. */
#include <math.h>
#include <stdio.h>

#include <gsl/gsl_multifit.h>

#include "signal/broken_stick.h"
#include "signal/huber.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define TWO_DIGITS 0.005

static void check(const char *what, const char *source, double expected, double got)
{
    sh_reference_row(what, source, expected, got, TWO_DIGITS * fabs(expected));
}

static void test_huber_line(void **state)
{
    struct sh_reference_file *file = sh_reference_open("robust");
    size_t n = 0;
    const double *x = sh_reference_get(file, "phones_x", &n);
    const double *y = sh_reference_get(file, "phones_y", NULL);
    const double *expected = sh_reference_get(file, "phones", NULL);
    double work[48];
    struct sh_huber_line got;
    assert_int_equal(n, 24);
    assert_int_equal(sh_huber_fit_line(x, y, n, work, &got), SH_OK);
    check("Huber line, calls by year: slope", "R MASS rlm", expected[0], got.slope);
    check("Huber line, calls by year: u(slope)", "R MASS rlm", expected[1], got.slope_u);
    check("Huber line, calls by year: intercept", "R MASS rlm", expected[2], got.intercept);
    check("Huber line, calls by year: u(intercept)", "R MASS rlm", expected[3],
          got.intercept_u);
    check("Huber line, calls by year: scale", "R MASS rlm", expected[4], got.scale);
    sh_reference_close(&file);
}

static void test_huber_location(void **state)
{
    struct sh_reference_file *file = sh_reference_open("robust");
    size_t n = 0;
    const double *x = sh_reference_get(file, "loss", &n);
    const double *expected = sh_reference_get(file, "loss_location", NULL);
    double work[42];
    struct sh_huber_location got;
    assert_int_equal(n, 21);
    assert_int_equal(sh_huber_find_location(x, n, work, &got), SH_OK);
    check("Huber location, stack loss", "R MASS rlm", expected[0], got.value);
    check("Huber location, stack loss: u", "R MASS rlm", expected[1], got.u);
    check("Huber location, stack loss: scale", "R MASS rlm", expected[2], got.scale);
    sh_reference_close(&file);
}

/* GSL corrects residuals for leverage, and so agrees where no point has much. */
static void test_huber_gsl(void **state)
{
    struct sh_reference_file *file = sh_reference_open("robust");
    const double *x = sh_reference_get(file, "stick_x", NULL);
    gsl_matrix *design = gsl_matrix_alloc(60, 2);
    gsl_vector *y = gsl_vector_alloc(60);
    gsl_vector *coefficient = gsl_vector_alloc(2);
    gsl_matrix *covariance = gsl_matrix_alloc(2, 2);
    gsl_multifit_robust_workspace *fit =
        gsl_multifit_robust_alloc(gsl_multifit_robust_huber, 60, 2);
    assert_non_null(fit);
    double values[60];
    for (size_t i = 0; i < 60; i++) {
        values[i] = 4.0 - 0.7 * x[i] + 0.1 * sin(7.0 * x[i] * x[i]);
        values[i] += i % 9 == 4 ? 3.0 : 0.0;
        gsl_matrix_set(design, i, 0, 1.0);
        gsl_matrix_set(design, i, 1, x[i]);
        gsl_vector_set(y, i, values[i]);
    }
    assert_int_equal(gsl_multifit_robust(design, y, coefficient, covariance, fit), 0);
    double work[120];
    struct sh_huber_line got;
    assert_int_equal(sh_huber_fit_line(x, values, 60, work, &got), SH_OK);
    check("Huber line, 60 points, seven wild: slope", "GSL", gsl_vector_get(coefficient, 1),
          got.slope);
    check("Huber line, 60 points, seven wild: intercept", "GSL", gsl_vector_get(coefficient, 0),
          got.intercept);
    gsl_multifit_robust_free(fit);
    gsl_matrix_free(covariance);
    gsl_vector_free(coefficient);
    gsl_vector_free(y);
    gsl_matrix_free(design);
    sh_reference_close(&file);
}

static void check_stick(const char *name, const char *source, double digits)
{
    const char *const names[4] = {"break", "slope before", "slope after", "residual squares"};
    struct sh_reference_file *file = sh_reference_open(name);
    const double *expected = sh_reference_get(file, "stick", NULL);
    const struct sh_broken_stick_points points = {sh_reference_get(file, "stick_x", NULL),
                                                  sh_reference_get(file, "stick_y", NULL), 60};
    struct sh_broken_stick stick;
    assert_int_equal(sh_broken_stick_fit(&points, 0.95, &stick), SH_OK);
    const double got[4] = {stick.break_x, stick.slope_before, stick.slope_after,
                           stick.residual_squares};
    for (size_t k = 0; k < 4; k++) {
        char row[64];
        (void)snprintf(row, sizeof(row), "broken stick: %s", names[k]);
        sh_reference_row(row, source, expected[k], got[k], digits);
    }
    sh_reference_close(&file);
}

/* R's package approaches the break by steps and prints slopes to five digits. */
static void test_stick(void **state)
{
    check_stick("ranks", "NumPy, lines of both sides", 1e-11);
    check_stick("robust", "R segmented", 1e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_huber_line),
        cmocka_unit_test(test_huber_location),
        cmocka_unit_test(test_huber_gsl),
        cmocka_unit_test(test_stick),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
