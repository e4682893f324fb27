/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The calibration of a sensor against values certified or published elsewhere. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "metrology/calibration.h"
#include "metrology/calibration_channel.h"
#include "metrology/scale.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/reference.h"

#define FIRST_DATA_LINE 61u
#define PONTIUS_N       40u

static size_t read_pontius(struct sh_calibration_reading *readings)
{
    char line[256];
    size_t n = 0;
    FILE *stream = fopen(SH_TESTS_DIR "/reference/nist/Pontius.dat", "r");
    assert_non_null(stream);
    for (size_t i = 1; fgets(line, sizeof line, stream) != NULL; i++) {
        char *end = NULL;
        const double deflection = strtod(line, &end);
        if (i >= FIRST_DATA_LINE && end != line) {
            assert_true(n < PONTIUS_N);
            readings[n++] = (struct sh_calibration_reading){
                .force_n = strtod(end, NULL), .counts = deflection, .n_samples = 1.0};
        }
    }
    assert_int_equal(fclose(stream), 0);
    assert_int_equal(n, PONTIUS_N);
    return n;
}

/* Counts are the deflections: the data set has no counts and its unit of load is none of ours.
 */
static void test_load_cell(void **state)
{
    static const char *const certified = "NIST StRD, Pontius";
    static const char *const handbook = "e-Handbook 4.6.1";
    struct sh_calibration_reading readings[PONTIUS_N];
    struct sh_calibration cell;
    struct sh_line_fit_inverse load;
    const size_t n = read_pontius(readings);
    assert_int_equal(sh_calibration_solve(readings, n, &cell, NULL), SH_OK);
    assert_int_equal(cell.law, SH_CALIBRATION_SQUARE);
    assert_int_equal(cell.n_levels, 20);
    const double *b = cell.square.coefficient;
    sh_reference_row("calibration B0", certified, 0.673565789473684e-03, b[0], 1e-14);
    sh_reference_row("calibration B1", certified, 0.732059160401003e-06, b[1], 1e-17);
    sh_reference_row("calibration B2", certified, -0.316081871345029e-14, b[2], 1e-25);
    sh_reference_row("calibration residual SD", certified, 0.205177424076185e-03,
                     cell.scatter_counts, 1e-14);
    const struct sh_calibration_fit *line = &cell.fit[SH_CALIBRATION_LINE];
    const struct sh_calibration_fit *square = &cell.fit[SH_CALIBRATION_SQUARE];
    sh_reference_row("calibration, line: lack-of-fit F", handbook, 214.747, line->lack.f, 6e-4);
    sh_reference_row("calibration, square: lack-of-fit F", handbook, 0.8107, square->lack.f,
                     6e-5);
    assert_true(square->test.p < 1e-12);
    assert_int_equal(sh_calibration_find_force(&cell, 1.239722, 0.95, &load), SH_OK);
    sh_reference_row("calibration, load of 1.239722", handbook, 1705106.0, load.x, 1.0);
    sh_reference_row("calibration, its lower limit", handbook, 1704513.0, load.lo, 1.0);
    sh_reference_row("calibration, its upper limit", handbook, 1705698.0, load.hi, 1.0);
}

/* The same load through the keys of a channel, as a recording would. */
static void test_load_cell_through_the_channel(void **state)
{
    struct sh_calibration_reading readings[PONTIUS_N];
    struct sh_calibration cell;
    struct sh_channel channel = {0};
    const struct sh_calibration_channel_doubt doubt = {0};
    const size_t n = read_pontius(readings);
    assert_int_equal(sh_calibration_solve(readings, n, &cell, NULL), SH_OK);
    assert_int_equal(sh_calibration_channel_fill(&cell, &doubt, &channel), SH_OK);
    sh_reference_row("channel, load of 1.239722", "e-Handbook 4.6.1", 1705106.0,
                     sh_scale_value(&channel, 1.239722), 30.0); /* a tenth of its u */
    assert_true(channel.quadratic > 0.0);
    double worst = 0.0;
    for (int i = 3; i <= 60; i++) {
        const double load = 50000.0 * i;
        const double deflection = sh_calibration_get_counts(&cell, load);
        worst = fmax(worst, fabs(sh_scale_value(&channel, deflection) - load));
    }
    print_message("scale and quadratic against the response turned round: %.1f\n", worst);
    assert_true(worst < 60.0); /* a fifth of one residual SD, 280 */
}

static void test_thermometer(void **state)
{
    static const char *const source = "JCGM 100 H.3";
    const double t[11] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                          24.513, 25.002, 25.503, 26.010, 26.511};
    const double b[11] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                          -0.156, -0.157, -0.159, -0.161, -0.160};
    struct sh_calibration_reading readings[11];
    struct sh_calibration got;
    for (size_t i = 0; i < 11; i++) {
        readings[i] = (struct sh_calibration_reading){
            .force_n = t[i] - 20.0, .counts = b[i], .n_samples = 1.0};
    }
    assert_int_equal(sh_calibration_solve(readings, 11, &got, NULL), SH_OK);
    double u = 0.0;
    const double u0 = sqrt(got.line.covariance[0][0]);
    const double u1 = sqrt(got.line.covariance[1][1]);
    const double at_30 = sh_line_fit_get_value(&got.line, 10.0, &u);
    sh_reference_row("calibration y1", source, -0.1712, got.line.coefficient[0], 5e-5);
    sh_reference_row("calibration u(y1)", source, 0.0029, u0, 5e-5);
    sh_reference_row("calibration y2", source, 0.00218, got.line.coefficient[1], 5e-6);
    sh_reference_row("calibration u(y2)", source, 0.00067, u1, 5e-6);
    sh_reference_row("calibration r", source, -0.930, got.line.covariance[0][1] / (u0 * u1),
                     5e-4);
    sh_reference_row("calibration b(30)", source, -0.1494, at_30, 5e-5);
    sh_reference_row("calibration u(b(30))", source, 0.0041, u, 5e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_load_cell),
        cmocka_unit_test(test_load_cell_through_the_channel),
        cmocka_unit_test(test_thermometer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
