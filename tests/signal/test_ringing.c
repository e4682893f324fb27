/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/ringing.h"

#include <complex.h>
#include <math.h>

#include "base/units.h"
#include "signal/pencil.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N 600u

static void add_mode(double *x, size_t n, const double *mode)
{
    double w = 2.0 * SH_PI * mode[0] / 1000.0;
    for (size_t i = 0; i < n; i++) {
        double t = (double)i;
        x[i] += mode[2] * exp(-mode[1] * w * t) *
                cos(w * sqrt(1.0 - mode[1] * mode[1]) * t + mode[3]);
    }
}

static struct sh_ringing *open_default(void)
{
    const struct sh_ringing_config config = sh_ringing_config_default();
    struct sh_ringing *ringing = NULL;
    assert_int_equal(sh_ringing_open(&config, &ringing, NULL), SH_OK);
    return ringing;
}

/* Without noise everything comes back; strongest mode first. */
static void test_exact(void **state)
{
    const double modes[3][4] = {
        {120.0, 0.03, 2.0, -1.2}, {38.0, 0.01, 1.0, 0.4}, {333.0, 0.005, 0.5, 3.0}};
    struct sh_ringing *ringing = open_default();
    struct sh_ringing_result got;
    double x[N] = {0.0};
    for (size_t k = 0; k < 3; k++) {
        add_mode(x, N, modes[k]);
    }
    assert_int_equal(sh_ringing_run(ringing, x, N, 1000.0, &got), SH_OK);
    assert_true(got.n_modes >= 3);
    for (size_t k = 0; k < 3; k++) {
        assert_near(got.mode[k].frequency_hz.value, modes[k][0], 1e-6, 0.0);
        assert_near(got.mode[k].damping.value, modes[k][1], 1e-8, 0.0);
        assert_near(got.mode[k].amplitude.value, modes[k][2], 1e-6, 0.0);
        assert_near(got.mode[k].phase_rad.value, modes[k][3], 1e-6, 0.0);
    }
    sh_ringing_close(&ringing);
}

/* Stated uncertainties of all four figures against 150 draws at 5 % noise. */
static void test_uncertainty(void **state)
{
    const double mode[4] = {38.0, 0.03, 1.0, 0.3};
    struct sh_ringing *ringing = open_default();
    uint64_t seed = 22;
    double squares[4] = {0.0};
    double stated[4] = {0.0};
    for (size_t round = 0; round < 150; round++) {
        struct sh_ringing_result got;
        double x[N] = {0.0};
        add_mode(x, N, mode);
        for (size_t i = 0; i < N; i++) {
            x[i] += 0.05 * noise_normal(&seed);
        }
        assert_int_equal(sh_ringing_run(ringing, x, N, 1000.0, &got), SH_OK);
        assert_int_equal(got.n_modes, 1);
        const struct sh_quantity *figures[4] = {&got.mode[0].frequency_hz, &got.mode[0].damping,
                                                &got.mode[0].amplitude, &got.mode[0].phase_rad};
        for (size_t k = 0; k < 4; k++) {
            double error = figures[k]->value - mode[k];
            squares[k] += error * error / 150.0;
            stated[k] += figures[k]->u * figures[k]->u / 150.0;
        }
    }
    for (size_t k = 0; k < 4; k++) {
        double ratio = sqrt(squares[k] / stated[k]);
        print_message("figure %zu: error over stated uncertainty %.2f\n", k, ratio);
        assert_true(ratio > 0.8 && ratio < 1.35);
    }
    sh_ringing_close(&ringing);
}

/* Noise alone has no modes; nor has silence; a decaying level is not listed. */
static void test_no_modes(void **state)
{
    struct sh_ringing *ringing = open_default();
    struct sh_ringing_result got;
    uint64_t seed = 23;
    double x[N];
    for (size_t round = 0; round < 30; round++) {
        for (size_t i = 0; i < N; i++) {
            x[i] = noise_normal(&seed);
        }
        assert_int_equal(sh_ringing_run(ringing, x, N, 1000.0, &got), SH_OK);
        assert_int_equal(got.n_modes, 0);
        assert_near(got.residual_sd, 1.0, 0.15, 0.0);
    }
    for (size_t i = 0; i < N; i++) {
        x[i] = 0.0;
    }
    assert_int_equal(sh_ringing_run(ringing, x, N, 1000.0, &got), SH_OK);
    assert_int_equal(got.n_modes, 0);
    for (size_t i = 0; i < N; i++) {
        x[i] = exp(-0.01 * (double)i) + 0.01 * noise_normal(&seed);
    }
    assert_int_equal(sh_ringing_run(ringing, x, N, 1000.0, &got), SH_OK);
    assert_near(got.residual_sd, 0.01, 0.002, 0.0);
    for (size_t k = 0; k < got.n_modes; k++) {
        assert_true(got.mode[k].amplitude.value < 0.05);
    }
    sh_ringing_close(&ringing);
}

static void test_refusals(void **state)
{
    struct sh_ringing *ringing = NULL;
    const struct sh_ringing_config good = sh_ringing_config_default();
    struct sh_ringing_config bad[6];
    for (size_t i = 0; i < 6; i++) {
        bad[i] = good;
    }
    bad[0].n_modes = 0;
    bad[1].n_modes = SH_RINGING_MODES_MAX + 1;
    bad[2].n_lags = 31; /* 4 lags a mode and 16 less one */
    bad[3].n_lags = good.n_max + 1;
    bad[4].n_max = 65537;
    bad[5].n_max = 65536;
    bad[5].n_lags = SH_PENCIL_LAGS_MAX + 1;
    for (size_t i = 0; i < 6; i++) {
        struct sh_error err = {0};
        assert_int_equal(sh_ringing_open(&bad[i], &ringing, &err), SH_ERR_ARGUMENT);
        assert_int_equal(err.status, SH_ERR_ARGUMENT);
        assert_null(ringing);
    }
    ringing = open_default();
    struct sh_ringing_result got;
    static double x[2049];
    assert_int_equal(sh_ringing_run(ringing, x, 95, 1000.0, &got), SH_ERR_SHORT);
    assert_int_equal(sh_ringing_run(ringing, x, 96, 1000.0, &got), SH_OK);
    assert_int_equal(sh_ringing_run(ringing, x, 2049, 1000.0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_ringing_run(ringing, x, 96, 0.0, &got), SH_ERR_ARGUMENT);
    x[50] = (double)NAN;
    assert_int_equal(sh_ringing_run(ringing, x, 96, 1000.0, &got), SH_ERR_NOT_FINITE);
    sh_ringing_close(&ringing);
    sh_ringing_close(&ringing);
    sh_ringing_close(NULL);
    struct sh_pencil *pencil = NULL;
    assert_int_equal(sh_pencil_open(100, 3, &pencil), SH_ERR_ARGUMENT);
    assert_int_equal(sh_pencil_open(100, 0, &pencil), SH_ERR_ARGUMENT);
    assert_int_equal(sh_pencil_open(19, 2, &pencil), SH_ERR_ARGUMENT);
    assert_int_equal(sh_pencil_open(20, 2, &pencil), SH_OK);
    sh_pencil_close(&pencil);
    sh_pencil_close(&pencil);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exact),
        cmocka_unit_test(test_uncertainty),
        cmocka_unit_test(test_no_modes),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
