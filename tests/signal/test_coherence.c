/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/coherence.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define SEGMENT ((size_t)64)
#define N       (SEGMENT * 9 / 2) /* 8 segments overlapping by half */

/* Hann, half overlap: neighbours are correlated by 1/6, so k of them count as k / (1 + 2 (k -
 * 1) / (36 k)). */
static void test_segments(void **state)
{
    const struct sh_welch_config half = {SEGMENT, SEGMENT / 2, true};
    const struct sh_welch_config apart = {SEGMENT, 0, true};
    const struct sh_welch_config broken = {SEGMENT, SEGMENT, true};
    assert_near(sh_coherence_get_segments(&half, 8), 8.0 / (1.0 + 14.0 / (36.0 * 8.0)), 1e-12,
                0.0);
    assert_near(sh_coherence_get_segments(&half, 1), 1.0, 0.0, 0.0);
    assert_near(sh_coherence_get_segments(&apart, 8), 8.0, 1e-12, 0.0);
    assert_near(sh_coherence_get_segments(&half, 0), 0.0, 0.0, 0.0);
    assert_near(sh_coherence_get_segments(&broken, 3), 0.0, 0.0, 0.0);
}

/* 5 %: 1 - 0.05^(1/7) of 8 segments, and half of p at two segments is 1 - p. */
static void test_threshold(void **state)
{
    double threshold = 0.0;
    assert_int_equal(sh_coherence_get_threshold(8.0, 0.05, &threshold), SH_OK);
    assert_near(threshold, 1.0 - pow(0.05, 1.0 / 7.0), 1e-15, 0.0);
    assert_int_equal(sh_coherence_get_threshold(2.0, 0.05, &threshold), SH_OK);
    assert_near(threshold, 0.95, 1e-15, 0.0);
}

#define RUNS       400u
#define BINS_FROM  4u
#define BINS_TO    28u
#define BINS_TRIED (RUNS * (BINS_TO - BINS_FROM))

/* How many bins passed the threshold, and in how many the limits held the truth. */
struct tally {
    size_t n_passed;
    size_t n_held;
};

static void count_bins(const double *coherence,
                       double segments,
                       double threshold,
                       double truth,
                       struct tally *tally)
{
    for (size_t i = BINS_FROM; i < BINS_TO; i++) {
        double lo = 0.0;
        double hi = 0.0;
        assert_int_equal(sh_coherence_get_limits(coherence[i], segments, 0.95, &lo, &hi),
                         SH_OK);
        tally->n_passed += coherence[i] > threshold ? 1 : 0;
        tally->n_held += lo <= truth && truth <= hi ? 1 : 0;
    }
}

/* Pairs of n samples with that true coherence. */
static struct tally run_pairs(size_t n, double truth)
{
    const struct sh_welch_config config = {SEGMENT, SEGMENT / 2, true};
    static double x[N * 3];
    static double y[N * 3];
    const struct sh_welch_series series = {x, y, n, 1.0, NULL};
    double coherence[SEGMENT / 2 + 1];
    double threshold = 0.0;
    uint64_t seed = 40;
    struct sh_welch *welch = NULL;
    struct tally tally = {0, 0};
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    const double segments =
        sh_coherence_get_segments(&config, sh_welch_count_segments(welch, &series));
    assert_int_equal(sh_coherence_get_threshold(segments, 0.05, &threshold), SH_OK);
    for (size_t run = 0; run < RUNS; run++) {
        for (size_t i = 0; i < n; i++) {
            x[i] = noise_normal(&seed);
            y[i] = sqrt(truth) * x[i] + sqrt(1.0 - truth) * noise_normal(&seed);
        }
        assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_OK);
        count_bins(coherence, segments, threshold, truth, &tally);
    }
    sh_welch_close(&welch);
    return tally;
}

/* Strangers pass the threshold, and limits hold the truth, as often as promised. */
static void test_rates(void **state)
{
    struct tally tally = run_pairs(N, 0.0);
    assert_near((double)tally.n_passed / BINS_TRIED, 0.05, 0.012, 0.0);
    tally = run_pairs(N * 3, 0.6);
    assert_near((double)tally.n_held / BINS_TRIED, 0.95, 0.02, 0.0);
}

static void test_limits(void **state)
{
    double lo = 0.0;
    double hi = 0.0;
    double threshold = 0.0;
    assert_int_equal(sh_coherence_get_limits(1.0, 10.0, 0.95, &lo, &hi), SH_OK);
    assert_near(lo, 1.0, 0.0, 0.0);
    assert_near(hi, 1.0, 0.0, 0.0);
    assert_int_equal(sh_coherence_get_limits(0.0, 10.0, 0.95, &lo, &hi), SH_OK);
    assert_near(lo, 0.0, 0.0, 0.0);
    assert_true(hi > 0.0 && hi < 0.3);
    assert_int_equal(sh_coherence_get_limits(1.1, 10.0, 0.95, &lo, &hi), SH_ERR_ARGUMENT);
    assert_int_equal(sh_coherence_get_limits(-0.1, 10.0, 0.95, &lo, &hi), SH_ERR_ARGUMENT);
    assert_int_equal(sh_coherence_get_limits(0.5, 10.0, 1.0, &lo, &hi), SH_ERR_ARGUMENT);
    assert_int_equal(sh_coherence_get_limits(0.5, 2.0, 0.9, &lo, &hi), SH_ERR_SHORT);
    assert_int_equal(sh_coherence_get_threshold(1.0, 0.05, &threshold), SH_ERR_SHORT);
    assert_int_equal(sh_coherence_get_threshold(5.0, 0.0, &threshold), SH_ERR_ARGUMENT);
    assert_int_equal(sh_coherence_get_threshold(5.0, 1.0, &threshold), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_segments),
        cmocka_unit_test(test_threshold),
        cmocka_unit_test(test_rates),
        cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
