/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Damped modes and onsets against closed forms, NumPy and an earthquake. */
#include <math.h>
#include <stdio.h>

#include "base/units.h"
#include "signal/onset.h"
#include "signal/ringing.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define RATE_HZ 1000.0

static void
run_ringing(const double *x, size_t n, size_t n_modes, struct sh_ringing_result *out)
{
    struct sh_ringing_config config = sh_ringing_config_default();
    config.n_modes = n_modes;
    struct sh_ringing *ringing = NULL;
    assert_int_equal(sh_ringing_open(&config, &ringing, NULL), SH_OK);
    assert_int_equal(sh_ringing_run(ringing, x, n, RATE_HZ, out), SH_OK);
    sh_ringing_close(&ringing);
}

/* A series made by the recursion has the mode that the recursion stands for. */
static void test_recursion(void **state)
{
    const double a1 = 1.94328686727609;
    const double a2 = -0.991242116226603;
    double x[600] = {1.0, 0.97};
    for (size_t i = 2; i < 600; i++) {
        x[i] = a1 * x[i - 1] + a2 * x[i - 2];
    }
    struct sh_ringing_result got;
    run_ringing(x, 600, 2, &got);
    assert_int_equal(got.n_modes, 1);
    sh_reference_row("ring-down recursion: natural frequency, Hz", "closed form", 35.0,
                     got.mode[0].frequency_hz.value, 1e-9);
    sh_reference_row("ring-down recursion: damping ratio", "closed form", 0.02,
                     got.mode[0].damping.value, 1e-10);
    double w = 2.0 * SH_PI * got.mode[0].frequency_hz.value / RATE_HZ;
    double z = got.mode[0].damping.value;
    sh_reference_row("ring-down recursion: first coefficient", "35 Hz, 0.02, 1000 Hz", a1,
                     2.0 * exp(-z * w) * cos(w * sqrt(1.0 - z * z)), 1e-11);
    sh_reference_row("ring-down recursion: second coefficient", "35 Hz, 0.02, 1000 Hz", a2,
                     -exp(-2.0 * z * w), 1e-11);
}

static void test_one_mode(void **state)
{
    struct sh_reference_file *file = sh_reference_open("modes");
    struct sh_ringing_result got;
    run_ringing(sh_reference_get(file, "one_x", NULL), 600, 4, &got);
    assert_int_equal(got.n_modes, 1);
    const struct sh_ringing_mode *mode = &got.mode[0];
    sh_reference_row("matrix pencil, 38 Hz in 1 % noise, Hz", "made with it", 38.0,
                     mode->frequency_hz.value, 3.0 * 0.004);
    sh_reference_row("matrix pencil, 38 Hz: stated uncertainty, Hz", "repeated draws", 0.004,
                     mode->frequency_hz.u, 0.001);
    sh_reference_row("matrix pencil, damping 0.03 in 1 % noise", "made with it", 0.03,
                     mode->damping.value, 3.0 * 0.00011);
    sh_reference_row("matrix pencil, damping: stated uncertainty", "repeated draws", 0.00011,
                     mode->damping.u, 0.00003);
    sh_reference_row("matrix pencil against the SVD, Hz", "NumPy",
                     sh_reference_get(file, "one_hz", NULL)[0], mode->frequency_hz.value, 1e-8);
    sh_reference_row("matrix pencil against the SVD, damping", "NumPy",
                     sh_reference_get(file, "one_damping", NULL)[0], mode->damping.value, 1e-9);
    sh_reference_close(&file);
}

static void test_three_modes(void **state)
{
    struct sh_reference_file *file = sh_reference_open("modes");
    const double *expected_hz = sh_reference_get(file, "three_hz", NULL);
    const double *expected_damping = sh_reference_get(file, "three_damping", NULL);
    struct sh_ringing_result got;
    run_ringing(sh_reference_get(file, "three_x", NULL), 600, 4, &got);
    assert_int_equal(got.n_modes, 3);
    for (size_t i = 0; i < 3; i++) { /* amplitudes fall as frequencies rise here */
        char check[64];
        (void)snprintf(check, sizeof(check), "three modes: frequency %zu, Hz", i);
        sh_reference_row(check, "NumPy", expected_hz[i], got.mode[i].frequency_hz.value, 1e-7);
        (void)snprintf(check, sizeof(check), "three modes: damping %zu", i);
        sh_reference_row(check, "NumPy", expected_damping[i], got.mode[i].damping.value, 1e-8);
    }
    sh_reference_close(&file);
}

/* The published arrival is at sample 237.8; other pickers gave 256 and 258. */
static void test_earthquake(void **state)
{
    struct sh_reference_file *file = sh_reference_open("chile");
    size_t n = 0;
    const double *x = sh_reference_get(file, "counts", &n);
    double work[600];
    struct sh_onset onset;
    assert_int_equal(n, 600);
    assert_int_equal(sh_onset_find_aic(x, n, 2, work, &onset), SH_OK);
    sh_reference_row("earthquake's arrival, sample", "238-265", 251.5, onset.index, 13.5);
    sh_reference_row("earthquake's arrival by the same criterion", "NumPy", 256.0, onset.index,
                     0.0);
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recursion),
        cmocka_unit_test(test_one_mode),
        cmocka_unit_test(test_three_modes),
        cmocka_unit_test(test_earthquake),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
