/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/onset.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N 300u

static void fill_change(double *x, size_t at, double before, double after, uint64_t *seed)
{
    for (size_t i = 0; i < N; i++) {
        x[i] = (i < at ? before : after) * noise_normal(seed);
    }
}

/* Change of size: the stated uncertainty against 200 draws. */
static void test_aic_uncertainty(void **state)
{
    uint64_t seed = 12;
    double work[N];
    double squares = 0.0;
    double stated = 0.0;
    for (size_t round = 0; round < 200; round++) {
        double x[N];
        struct sh_onset onset;
        fill_change(x, 180, 1.0, 4.0, &seed);
        assert_int_equal(sh_onset_find_aic(x, N, 5, work, &onset), SH_OK);
        squares += (onset.index - 180.0) * (onset.index - 180.0) / 200.0;
        stated += onset.u * onset.u / 200.0;
        assert_true(onset.gain > 20.0);
    }
    print_message("change of size: %.2f rms, stated %.2f\n", sqrt(squares), sqrt(stated));
    assert_true(sqrt(squares) < 1.4 * sqrt(stated) && sqrt(squares) > 0.5 * sqrt(stated));
}

/* Without a change the gain is small; with a step out of silence the pick is exact. */
static void test_aic_extremes(void **state)
{
    uint64_t seed = 13;
    double x[N];
    double work[N];
    struct sh_onset onset;
    fill_change(x, 0, 1.0, 1.0, &seed);
    assert_int_equal(sh_onset_find_aic(x, N, 5, work, &onset), SH_OK);
    assert_true(onset.gain < 12.0);
    for (size_t i = 0; i < N; i++) {
        x[i] = i < 77 ? 0.0 : x[i];
    }
    assert_int_equal(sh_onset_find_aic(x, N, 2, work, &onset), SH_OK);
    assert_near(onset.index, 77.0, 0.0, 0.0);
    assert_true(onset.u < 0.5);
}

static void test_rank_uncertainty(void **state)
{
    uint64_t seed = 14;
    struct sh_onset_rank work[N];
    double squares = 0.0;
    double stated = 0.0;
    for (size_t round = 0; round < 200; round++) {
        double x[N];
        struct sh_onset onset;
        for (size_t i = 0; i < N; i++) {
            x[i] = noise_normal(&seed) + (i < 250 ? 0.0 : 2.0);
            x[i] = i % 50 == 7 ? 100.0 : x[i]; /* outliers */
        }
        assert_int_equal(sh_onset_find_rank(x, N, 5, work, &onset), SH_OK);
        squares += (onset.index - 250.0) * (onset.index - 250.0) / 200.0;
        stated += onset.u * onset.u / 200.0;
        assert_true(onset.gain > 10.0);
    }
    print_message("change of level by ranks: %.2f rms, stated %.2f\n", sqrt(squares),
                  sqrt(stated));
    assert_true(sqrt(squares) < 1.4 * sqrt(stated) && sqrt(squares) > 0.25 * sqrt(stated));
}

/* A monotone bending of the scale and a gain leave the pick by ranks as it is. */
static void test_rank_invariance(void **state)
{
    uint64_t seed = 15;
    struct sh_onset_rank work[N];
    double x[N];
    double bent[N];
    struct sh_onset first;
    struct sh_onset second;
    for (size_t i = 0; i < N; i++) {
        x[i] = floor(4.0 * (noise_normal(&seed) + (i < 100 ? 0.0 : 1.5))); /* many ties */
        bent[i] = exp(x[i]) * 3.0 - 1.0;
    }
    assert_int_equal(sh_onset_find_rank(x, N, 5, work, &first), SH_OK);
    assert_int_equal(sh_onset_find_rank(bent, N, 5, work, &second), SH_OK);
    assert_memory_equal(&first, &second, sizeof(first));
    assert_near(first.index, 100.0, 12.0, 0.0);
}

/* Mann-Whitney by hand: 3 against 4 without overlap, U = 0, z^2 = 144 / (12 * 8). */
static void test_rank_by_hand(void **state)
{
    const double x[7] = {1.0, 3.0, 2.0, 9.0, 7.0, 8.0, 11.0};
    struct sh_onset_rank work[7];
    struct sh_onset onset;
    assert_int_equal(sh_onset_find_rank(x, 7, 1, work, &onset), SH_OK);
    assert_near(onset.index, 3.0, 0.0, 0.0);
    assert_near(onset.gain, 0.5 * 36.0 / (3.0 * 4.0 * 8.0 / 12.0), 1e-14, 0.0);
}

/* A corner at a fraction of a sample, from a pick that is one off. */
static void test_refine(void **state)
{
    uint64_t seed = 16;
    double squares = 0.0;
    double stated = 0.0;
    for (size_t round = 0; round < 300; round++) {
        double x[60];
        double t0 = 30.0 + noise_uniform(&seed);
        struct sh_onset onset;
        for (size_t i = 0; i < 60; i++) {
            x[i] = 5.0 + 3.0 * fmax((double)i - t0, 0.0) + 0.5 * noise_normal(&seed);
        }
        const struct sh_onset_window window = {x, 60, 15, 6};
        assert_int_equal(sh_onset_refine(&window, 30 + round % 2, &onset), SH_OK);
        squares += (onset.index - t0) * (onset.index - t0) / 300.0;
        stated += onset.u * onset.u / 300.0;
    }
    print_message("corner: %.3f rms, stated %.3f samples\n", sqrt(squares), sqrt(stated));
    assert_true(sqrt(squares) < 1.25 * sqrt(stated) && sqrt(squares) > 0.8 * sqrt(stated));
}

static void test_refusals(void **state)
{
    double x[20] = {0.0};
    double work[20];
    struct sh_onset_rank ranks[20];
    struct sh_onset onset;
    assert_int_equal(sh_onset_find_aic(x, 20, 1, work, &onset), SH_ERR_ARGUMENT);
    assert_int_equal(sh_onset_find_aic(x, 19, 10, work, &onset), SH_ERR_SHORT);
    assert_int_equal(sh_onset_find_aic(x, 20, 10, work, &onset), SH_ERR_SINGULAR);
    assert_int_equal(sh_onset_find_rank(x, 20, 0, ranks, &onset), SH_ERR_ARGUMENT);
    assert_int_equal(sh_onset_find_rank(x, 19, 10, ranks, &onset), SH_ERR_SHORT);
    assert_int_equal(sh_onset_find_rank(x, 20, 10, ranks, &onset), SH_ERR_SINGULAR);
    struct sh_onset_window window = {x, 20, 3, 3};
    assert_int_equal(sh_onset_refine(&window, 10, &onset), SH_ERR_SINGULAR);
    assert_int_equal(sh_onset_refine(&window, 2, &onset), SH_ERR_SHORT);
    assert_int_equal(sh_onset_refine(&window, 18, &onset), SH_ERR_SHORT);
    window.n_before = 2;
    assert_int_equal(sh_onset_refine(&window, 10, &onset), SH_ERR_ARGUMENT);
    window.n_before = 3;
    window.n_after = 2;
    assert_int_equal(sh_onset_refine(&window, 10, &onset), SH_ERR_ARGUMENT);
    window.n_after = 3;
    x[10] = (double)NAN;
    assert_int_equal(sh_onset_refine(&window, 10, &onset), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_onset_find_aic(x, 20, 10, work, &onset), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_onset_find_rank(x, 20, 10, ranks, &onset), SH_ERR_NOT_FINITE);
    x[10] = 1.0;
    assert_int_equal(sh_onset_find_aic(x, 20, 10, work, &onset), SH_OK);
    assert_int_equal(sh_onset_refine(&window, 17, &onset), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_aic_uncertainty),  cmocka_unit_test(test_aic_extremes),
        cmocka_unit_test(test_rank_uncertainty), cmocka_unit_test(test_rank_invariance),
        cmocka_unit_test(test_rank_by_hand),     cmocka_unit_test(test_refine),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
