/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_fit.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N_MAX   500u
#define DROP_N  170.0
#define NOISE_N 0.3

enum shape { COSINE, STRAIGHT, PARABOLA, SHAPES };

static double get_ramp(enum shape shape, double u)
{
    double inside = fmin(fmax(u, 0.0), 1.0);
    if (shape == COSINE) {
        return 0.5 * (1.0 - cos(SH_PI * inside));
    }
    return shape == STRAIGHT ? inside : inside * inside;
}

/* Where a tenth of each ramp is reached, in durations. */
static double get_tenth(enum shape shape)
{
    const double tenth[SHAPES] = {acos(0.8) / SH_PI, 0.1, sqrt(0.1)};
    return tenth[shape];
}

struct trial {
    double rate_hz;
    double boxcar_s;
    enum shape shape;
    double start_s;
    double duration_s;
};

/* Half a second of force with a release in it; the sensor's mean by 200 substeps. */
static size_t fill_release(const struct trial *trial, uint64_t *seed, double *x)
{
    size_t n = (size_t)(0.5 * trial->rate_hz);
    size_t n_parts = trial->boxcar_s > 0.0 ? 200 : 1;
    for (size_t i = 0; i < n; i++) {
        double sum = 0.0;
        for (size_t k = 0; k < n_parts; k++) {
            double back = n_parts > 1 ? ((double)k + 0.5) / (double)n_parts : 0.0;
            double t_s = (double)i / trial->rate_hz - back * trial->boxcar_s;
            sum += 1.0 - get_ramp(trial->shape, (t_s - trial->start_s) / trial->duration_s);
        }
        x[i] = DROP_N * sum / (double)n_parts + NOISE_N * noise_normal(seed);
    }
    return n;
}

static struct sh_step_fit_config get_config(double rate_hz, double boxcar_s)
{
    struct sh_step_fit_config config = sh_step_fit_config_default();
    config.rate_hz = rate_hz;
    config.boxcar_s = boxcar_s;
    config.duration_min_s = 0.003;
    config.duration_max_s = 0.015;
    config.start_min_s = 0.1;
    config.start_max_s = 0.4;
    return config;
}

/* Error, stated uncertainty and how often the 95 % interval holds the truth, over 100 draws. */
static void check_releases(double rate_hz, double boxcar_s, enum shape shape, double most_s)
{
    uint64_t seed = 17;
    double x[N_MAX];
    double squares = 0.0;
    double stated = 0.0;
    size_t n_inside = 0;
    const struct sh_step_fit_config config = get_config(rate_hz, boxcar_s);
    for (size_t round = 0; round < 100; round++) {
        struct sh_step_fit fit;
        const struct trial trial = {rate_hz, boxcar_s, shape,
                                    0.25 + noise_uniform(&seed) / rate_hz,
                                    0.004 + 0.009 * noise_uniform(&seed)};
        size_t n = fill_release(&trial, &seed, x);
        assert_int_equal(sh_step_fit_run(&config, x, n, &fit), SH_OK);
        double truth_s = trial.start_s + get_tenth(shape) * trial.duration_s;
        double error_s = fit.time_s.value - truth_s;
        double lo_s = 0.0;
        double hi_s = 0.0;
        sh_quantity_interval(&fit.time_s, &lo_s, &hi_s);
        n_inside += lo_s <= truth_s && truth_s <= hi_s;
        squares += error_s * error_s / 100.0;
        stated += fit.time_s.u * fit.time_s.u / 100.0;
        assert_near(fit.drop.value, DROP_N, 2.0, 0.0);
    }
    print_message("%g Hz, boxcar %g s, shape %d: %.3f ms rms, stated %.3f ms, inside %zu %%\n",
                  rate_hz, boxcar_s, (int)shape, 1e3 * sqrt(squares), 1e3 * sqrt(stated),
                  n_inside);
    assert_true(sqrt(squares) < most_s);
    assert_true(sqrt(squares) < 1.2 * sqrt(stated));
    assert_true(n_inside >= 88);
}

static void test_80_hz(void **state)
{
    for (enum shape shape = COSINE; shape < SHAPES; shape++) {
        check_releases(80.0, 0.0, shape, 0.0025);
        check_releases(80.0, 0.0125, shape, 0.0015);
    }
}

/* Too long for kept sums: the middle of the same samples, with them, gives the same ramp. */
static void test_long_window(void **state)
{
    static double x[2100];
    struct sh_step_fit_config config = sh_step_fit_config_default();
    struct sh_step_fit whole;
    struct sh_step_fit middle;
    uint64_t seed = 23;
    config.rate_hz = 5000.0;
    config.noise = NOISE_N;
    for (size_t slope = 0; slope < 2; slope++) {
        config.has_slope = slope == 1;
        for (size_t i = 0; i < 2100; i++) {
            const double t_s = (double)i / config.rate_hz;
            const double left = 1.0 - get_ramp(COSINE, (t_s - 0.2) / 0.01);
            x[i] = (DROP_N + (double)slope * 5.0 * (t_s - 0.2)) * left +
                   NOISE_N * noise_normal(&seed);
        }
        assert_int_equal(sh_step_fit_run(&config, x, 2100, &whole), SH_OK);
        assert_int_equal(sh_step_fit_run(&config, x + 600, 800, &middle), SH_OK);
        assert_true(whole.is_resolved && middle.is_resolved);
        assert_near(middle.start_s.value + 0.12, whole.start_s.value, 3.0 * whole.start_s.u,
                    0.0);
        assert_near(middle.duration_s.value, whole.duration_s.value, 3.0 * whole.duration_s.u,
                    0.0);
        assert_near(whole.start_s.value, 0.2, 4.0 * whole.start_s.u, 0.0);
        assert_near(whole.slope, (double)slope * 5.0, 1.0, 0.0);
    }
}

static void test_faster(void **state)
{
    for (enum shape shape = COSINE; shape < SHAPES; shape++) {
        check_releases(200.0, 0.0, shape, 0.001);
        check_releases(500.0, 0.0, shape, 0.0005);
        check_releases(1000.0, 0.001, shape, 0.0003);
    }
}

/* A rising hold before the release, and a level that is not the sensor's zero after it. */
static void test_slope_before(void **state)
{
    double x[200];
    struct sh_step_fit_config config = sh_step_fit_config_default();
    for (size_t i = 0; i < 200; i++) {
        double t_s = (double)i / 1000.0;
        double progress = get_ramp(COSINE, (t_s - 0.12) / 0.02);
        x[i] = (180.0 + 40.0 * (t_s - 0.12)) * (1.0 - progress) + 3.0 * progress;
    }
    config.has_slope = true;
    struct sh_step_fit fit;
    assert_int_equal(sh_step_fit_run(&config, x, 200, &fit), SH_OK);
    assert_true(fit.is_resolved);
    assert_near(fit.start_s.value, 0.12, 1e-6, 0.0);
    assert_near(fit.duration_s.value, 0.02, 1e-6, 0.0);
    assert_near(fit.time_s.value, 0.12 + get_tenth(COSINE) * 0.02, 1e-6, 0.0);
    assert_near(fit.before, 180.0, 1e-3, 0.0);
    assert_near(fit.after, 3.0, 1e-3, 0.0);
    assert_near(fit.slope, 40.0, 1e-2, 0.0);
    assert_near(fit.drop.value, 177.0, 1e-3, 0.0);
}

/* A gain scales forces only; a rise is a negative drop; a shift moves only the time. */
static void test_gain_and_shift(void **state)
{
    uint64_t seed = 18;
    double x[N_MAX];
    const struct trial trial = {500.0, 0.0, COSINE, 0.2513, 0.009};
    size_t n = fill_release(&trial, &seed, x);
    struct sh_step_fit_config config = get_config(500.0, 0.0);
    struct sh_step_fit first;
    struct sh_step_fit second;
    assert_int_equal(sh_step_fit_run(&config, x, n, &first), SH_OK);
    assert_int_equal(sh_step_fit_run(&config, x + 5, n - 5, &second), SH_OK);
    assert_near(second.time_s.value + 0.01, first.time_s.value, 2e-6, 0.0);
    for (size_t i = 0; i < n; i++) {
        x[i] *= -2.0;
    }
    assert_int_equal(sh_step_fit_run(&config, x, n, &second), SH_OK);
    assert_near(second.time_s.value, first.time_s.value, 1e-7, 0.0);
    assert_near(second.drop.value, -2.0 * first.drop.value, 1e-4, 0.0);
}

static void test_refusals(void **state)
{
    double x[20];
    for (size_t i = 0; i < 20; i++) {
        x[i] = i < 10 ? 1.0 : 0.0;
    }
    const struct sh_step_fit_config good = sh_step_fit_config_default();
    struct sh_step_fit_config bad[9];
    struct sh_step_fit fit;
    for (size_t i = 0; i < 9; i++) {
        bad[i] = good;
    }
    bad[0].rate_hz = 0.0;
    bad[1].boxcar_s = -1.0;
    bad[2].fraction = 0.0;
    bad[3].fraction = 1.0;
    bad[4].duration_min_s = 0.0;
    bad[5].duration_max_s = good.duration_min_s;
    bad[6].noise = (double)NAN;
    bad[7].start_min_s = 0.019; /* the last sample */
    bad[8].start_max_s = 0.0;
    for (size_t i = 0; i < 9; i++) {
        assert_int_equal(sh_step_fit_run(&bad[i], x, 20, &fit), SH_ERR_ARGUMENT);
    }
    assert_int_equal(sh_step_fit_run(&good, x, SH_STEP_FIT_SAMPLES_MIN - 1, &fit),
                     SH_ERR_SHORT);
    assert_int_equal(sh_step_fit_run(&good, x + 6, SH_STEP_FIT_SAMPLES_MIN, &fit), SH_OK);
    x[3] = (double)INFINITY;
    assert_int_equal(sh_step_fit_run(&good, x, 20, &fit), SH_ERR_NOT_FINITE);
    for (size_t i = 0; i < 20; i++) {
        x[i] = 4.0;
    }
    assert_int_equal(sh_step_fit_run(&good, x, 20, &fit), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_80_hz),          cmocka_unit_test(test_faster),
        cmocka_unit_test(test_long_window),    cmocka_unit_test(test_slope_before),
        cmocka_unit_test(test_gain_and_shift), cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
