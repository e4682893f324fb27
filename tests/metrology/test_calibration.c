/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/calibration.h"

#include <math.h>
#include <string.h>

#include "metrology/calibration_channel.h"
#include "metrology/calibration_check.h"
#include "metrology/scale.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SEED   42u
#define LEVELS ((size_t)9)
#define N      (2 * LEVELS)

/* Up from no load to 200 N and down again. */
static void
make_readings(double (*law)(double), double noise, struct sh_calibration_reading *readings)
{
    struct sh_random random;
    sh_random_init(&random, SEED);
    for (size_t i = 0; i < N; i++) {
        const size_t step = i < LEVELS ? i : N - 1 - i;
        const double force_n = 25.0 * (double)step;
        readings[i] = (struct sh_calibration_reading){
            .force_n = force_n,
            .counts = law(force_n) + noise * sh_random_get_normal(&random),
            .noise_counts = noise,
            .n_samples = 1.0,
            .is_down = i >= LEVELS};
    }
}

static double straight(double force_n)
{
    return 812.0 + 80.0 * force_n;
}

static double bent(double force_n)
{
    return 812.0 + 80.0 * force_n - 0.02 * force_n * force_n;
}

static double thin(double force_n)
{
    return force_n > 15.0 ? 1000.0 * (force_n - 15.0) / (60.0 + force_n - 15.0) : 0.0;
}

static double stepped(double force_n)
{
    return 100.0 * force_n + 900.0 * sin(force_n / 30.0);
}

static void solve(double (*law)(double),
                  double noise,
                  enum sh_calibration_law expected,
                  struct sh_calibration *calibration)
{
    struct sh_calibration_reading readings[N];
    struct sh_error err = {0};
    make_readings(law, noise, readings);
    assert_int_equal(sh_calibration_solve(readings, N, calibration, &err), SH_OK);
    assert_string_equal(sh_calibration_law_name(calibration->law),
                        sh_calibration_law_name(expected));
}

static void test_the_data_choose_the_law(void **state)
{
    struct sh_calibration calibration;
    solve(straight, 3.0, SH_CALIBRATION_LINE, &calibration);
    assert_near(calibration.line.coefficient[1], 80.0, 0.0, 1e-3);
    assert_int_equal(calibration.n_levels, LEVELS - 1);
    solve(straight, 0.0, SH_CALIBRATION_LINE, &calibration);
    solve(bent, 3.0, SH_CALIBRATION_SQUARE, &calibration);
    assert_true(calibration.fit[SH_CALIBRATION_SQUARE].test.p < 1e-6);
    solve(thin, 3.0, SH_CALIBRATION_SATURATING, &calibration);
    solve(stepped, 0.5, SH_CALIBRATION_STEPS, &calibration);
}

static void check_channel(double (*law)(double), double noise, double tolerance_n)
{
    struct sh_calibration calibration;
    struct sh_calibration_reading readings[N];
    struct sh_error err = {0};
    const struct sh_calibration_channel_doubt doubt = {.force_u_ratio = 1e-3};
    struct sh_channel channel = {.delay_s = 0.25};
    make_readings(law, noise, readings);
    assert_int_equal(sh_calibration_solve(readings, N, &calibration, &err), SH_OK);
    assert_int_equal(sh_calibration_channel_fill(&calibration, &doubt, &channel), SH_OK);
    for (int i = 4; i <= 40; i++) {
        const double force_n = 5.0 * i;
        assert_near(sh_scale_value(&channel, law(force_n)), force_n, tolerance_n, 0.0);
        const double u_n = sh_scale_difference_u(&channel, law(force_n), law(0.0));
        assert_true(u_n > 0.0009 * force_n && u_n < 0.2 * force_n + 5.0);
    }
    double last = sh_scale_value(&channel, -1500.0);
    for (int counts = -1499; counts < 20000; counts++) {
        const double now = sh_scale_value(&channel, counts);
        assert_true(now > last); /* one way everywhere */
        last = now;
    }
    assert_near(channel.delay_s, 0.25, 0.0, 0.0); /* the rest stays */
}

static void test_the_channel_gives_the_forces_back(void **state)
{
    check_channel(straight, 3.0, 0.1);
    check_channel(bent, 3.0, 0.2);
    check_channel(thin, 0.5, 1.5);
    check_channel(stepped, 0.5, 12.0); /* straight between levels: the law's own bend is left */
}

/* 1000 calibrations with 3 masses: the truth lies within 1.96 u of the scale 95 times of 100.
 */
static void test_few_readings_still_cover(void **state)
{
    struct sh_random random;
    int n_within = 0;
    const int n_sets = 1000;
    sh_random_init(&random, SEED);
    print_message("seed %u\n", SEED);
    for (int set = 0; set < n_sets; set++) {
        struct sh_calibration_reading readings[4] = {
            {.force_n = 0.0}, {.force_n = 50.0}, {.force_n = 100.0}, {.force_n = 200.0}};
        const struct sh_calibration_channel_doubt doubt = {0};
        struct sh_calibration calibration;
        struct sh_channel channel = {0};
        for (size_t i = 0; i < 4; i++) {
            readings[i].counts =
                straight(readings[i].force_n) + 4.0 * sh_random_get_normal(&random);
            readings[i].n_samples = 1.0;
        }
        assert_int_equal(sh_calibration_solve(readings, 4, &calibration, NULL), SH_OK);
        if (calibration.law == SH_CALIBRATION_LINE) {
            assert_int_equal(sh_calibration_channel_fill(&calibration, &doubt, &channel),
                             SH_OK);
            n_within += fabs(channel.scale - 0.0125) <= 1.96 * channel.scale_u ? 1 : 0;
        } else {
            n_within++; /* a square by chance has its own uncertainty; see how rare it is */
        }
    }
    print_message("%d of %d\n", n_within, n_sets);
    assert_true(n_within >= 930);
}

static void test_hysteresis_and_drift(void **state)
{
    struct sh_calibration_reading readings[N];
    struct sh_calibration calibration;
    struct sh_calibration_check check;
    struct sh_channel channel = {0};
    const struct sh_calibration_channel_doubt doubt = {.zero_drift_counts = 16.0};
    make_readings(straight, 0.5, readings);
    for (size_t i = LEVELS; i < N; i++) {
        const double part = readings[i].force_n / 200.0;
        readings[i].counts += 16.0 + 4.0 * 80.0 * part * (1.0 - part); /* 1 N in the middle */
    }
    assert_int_equal(sh_calibration_solve(readings, N, &calibration, NULL), SH_OK);
    assert_int_equal(sh_calibration_channel_fill(&calibration, &doubt, &channel), SH_OK);
    sh_calibration_check_readings(&calibration, &channel, &check);
    assert_true(check.zero_drift.is_known);
    assert_true(check.zero_drift.is_real);
    assert_near(check.zero_drift.counts, 16.0, 2.0, 0.0);
    assert_near(check.zero_drift.force_n, 0.2, 0.03, 0.0);
    assert_true(check.hysteresis.is_known);
    assert_true(check.hysteresis.is_real);
    assert_near(check.hysteresis.difference_n, 1.2, 0.05, 0.0);
    assert_near(check.hysteresis.force_n, 100.0, 0.0, 0.0);
    assert_near(check.hysteresis.ratio, 0.006, 0.0005, 0.0);
    assert_true(channel.zero_u > 16.0 / sqrt(12.0));
    assert_true(channel.scale_u > 0.0);
    make_readings(straight, 0.5, readings);
    assert_int_equal(sh_calibration_solve(readings, LEVELS, &calibration, NULL), SH_OK);
    channel.has_range = true;
    channel.range_low = -100.0;
    channel.range_high = straight(190.0);
    sh_calibration_check_readings(&calibration, &channel, &check);
    assert_false(check.hysteresis.is_known); /* up only */
    assert_false(check.zero_drift.is_known);
    assert_int_equal(check.n_clipped, 1);
}

static void refuse(const struct sh_calibration_reading *readings,
                   size_t n,
                   enum sh_status expected,
                   const char *word)
{
    struct sh_calibration calibration;
    struct sh_error err = {0};
    assert_int_equal(sh_calibration_solve(readings, n, &calibration, &err), expected);
    if (strstr(err.what, word) == NULL) {
        fail_msg("'%s' does not say '%s'", err.what, word);
    }
}

static void test_refusals(void **state)
{
    struct sh_calibration_reading readings[N];
    struct sh_calibration_reading few[4] = {
        {0.0, 800.0, 1.0, 1.0, false},
        {50.0, 4800.0, 1.0, 1.0, false},
        {50.9, 4872.0, 1.0, 1.0, false}, /* within 2 % of the largest */
        {100.0, 8800.0, 1.0, 1.0, false}};
    refuse(few, 0, SH_ERR_ARGUMENT, "0 readings");
    refuse(few, SH_CALIBRATION_READINGS_MAX + 1, SH_ERR_ARGUMENT, "257 readings");
    refuse(few, 2, SH_ERR_SHORT, "too few");
    refuse(few, 4, SH_ERR_SHORT, "2 different masses");
    few[2].force_n = 52.1; /* 2.1 % of the largest */
    few[2].counts = 4968.0;
    struct sh_calibration calibration;
    assert_int_equal(sh_calibration_solve(few, 4, &calibration, NULL), SH_OK);
    few[1].force_n = 71.0;
    few[2].force_n = 80.0;
    refuse(few, 4, SH_ERR_SINGULAR, "too much alike");
    make_readings(straight, 1.0, readings);
    for (size_t i = 0; i < N; i++) {
        readings[i].counts = i % 2 == 0 ? 800.0 : 801.0;
    }
    refuse(readings, N, SH_ERR_SINGULAR, "do not follow");
    make_readings(straight, 1.0, readings);
    readings[3].counts = (double)NAN;
    refuse(readings, N, SH_ERR_NOT_FINITE, "infinite or none");
    readings[3].counts = 0.0;
    readings[3].noise_counts = -1.0;
    refuse(readings, N, SH_ERR_ARGUMENT, "out of range");
    readings[3].noise_counts = 0.0;
    readings[3].n_samples = 0.0;
    refuse(readings, N, SH_ERR_ARGUMENT, "out of range");
    readings[3].n_samples = 1.0;
    readings[3].force_n = -1.0;
    refuse(readings, N, SH_ERR_ARGUMENT, "out of range");
}

static void test_inverse_use(void **state)
{
    struct sh_calibration calibration;
    struct sh_line_fit_inverse inverse;
    solve(thin, 3.0, SH_CALIBRATION_SATURATING, &calibration);
    assert_int_equal(sh_calibration_find_force(&calibration, thin(80.0), 0.95, &inverse),
                     SH_OK);
    assert_near(inverse.x, 80.0, 1.5, 0.0);
    assert_true(inverse.lo < 80.0 && inverse.hi > 80.0 && inverse.hi - inverse.lo < 5.0);
    assert_int_equal(sh_calibration_find_force(&calibration, 500.0, 1.0, &inverse),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_calibration_find_force(&calibration, (double)NAN, 0.95, &inverse),
                     SH_ERR_NOT_FINITE);
    solve(straight, 3.0, SH_CALIBRATION_LINE, &calibration);
    assert_int_equal(sh_calibration_find_force(&calibration, straight(80.0), 0.95, &inverse),
                     SH_OK);
    assert_near(inverse.x, 80.0, 0.1, 0.0);
    assert_near(inverse.hi - inverse.lo, 2.0 * 2.12 * 3.0 / 80.0, 0.0, 0.5);
}

/* A channel that only makes noise is taken for a sensor once in a hundred calibrations. */
static void test_a_dead_channel_is_hardly_ever_believed(void **state)
{
    enum { RUNS = 20000 };
    static const double forces_n[] = {0.0, 49.0, 98.0, 147.0, 0.0};
    struct sh_random random;
    unsigned n_believed = 0;
    sh_random_init(&random, SEED);
    for (size_t run = 0; run < RUNS; run++) {
        struct sh_calibration_reading readings[5];
        struct sh_calibration calibration;
        for (size_t i = 0; i < 5; i++) {
            readings[i] =
                (struct sh_calibration_reading){.force_n = forces_n[i],
                                                .counts = 500.0 + sh_random_get_normal(&random),
                                                .noise_counts = 1.0,
                                                .n_samples = 1.0};
        }
        n_believed += sh_calibration_solve(readings, 5, &calibration, NULL) == SH_OK ? 1 : 0;
    }
    /* 200 are expected: within four standard deviations of a count (Poisson's law) */
    print_message("believed: %u of %d\n", n_believed, RUNS);
    assert_in_range(n_believed, 144, 256);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_data_choose_the_law),
        cmocka_unit_test(test_the_channel_gives_the_forces_back),
        cmocka_unit_test(test_few_readings_still_cover),
        cmocka_unit_test(test_hysteresis_and_drift),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_a_dead_channel_is_hardly_ever_believed),
        cmocka_unit_test(test_inverse_use),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
