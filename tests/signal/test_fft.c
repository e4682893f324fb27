/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/fft.h"

#include <math.h>
#include <pthread.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N_MAX 64u

/* Bin k by the sum that defines it. */
static void check_bin(const double *x, size_t n_x, size_t n, size_t k, const double *got)
{
    double re = 0.0;
    double im = 0.0;
    for (size_t i = 0; i < n_x; i++) {
        double angle = 2.0 * SH_PI * (double)(i * k % n) / (double)n;
        re += x[i] * cos(angle);
        im -= x[i] * sin(angle);
    }
    assert_near(got[0], re, 1e-13, 0.0);
    assert_near(got[1], im, 1e-13, 0.0);
}

static void test_defining_sum(void **state)
{
    uint64_t seed = 1;
    double x[N_MAX];
    for (size_t i = 0; i < N_MAX; i++) {
        x[i] = noise_normal(&seed);
    }
    const size_t lengths[] = {1, 2, 7, 12, 31, 64};
    for (size_t l = 0; l < sizeof(lengths) / sizeof(lengths[0]); l++) {
        size_t n = lengths[l];
        size_t n_x = n > 3 ? n - 2 : n; /* the rest is zero padding */
        struct sh_fft *fft = NULL;
        double spectrum[N_MAX / 2 + 1][2];
        assert_int_equal(sh_fft_open(n, &fft, NULL), SH_OK);
        assert_int_equal(sh_fft_get_length(fft), n);
        assert_int_equal(sh_fft_get_bins(fft), n / 2 + 1);
        assert_int_equal(sh_fft_forward(fft, x, n_x, spectrum), SH_OK);
        for (size_t k = 0; k <= n / 2; k++) {
            check_bin(x, n_x, n, k, spectrum[k]);
        }
        sh_fft_close(&fft);
        assert_null(fft);
    }
}

static void test_there_and_back(void **state)
{
    uint64_t seed = 2;
    for (size_t n = 1; n <= N_MAX; n++) {
        double x[N_MAX];
        double back[N_MAX];
        double spectrum[N_MAX / 2 + 1][2];
        struct sh_fft *fft = NULL;
        for (size_t i = 0; i < n; i++) {
            x[i] = noise_normal(&seed);
        }
        assert_int_equal(sh_fft_open(n, &fft, NULL), SH_OK);
        assert_int_equal(sh_fft_forward(fft, x, n, spectrum), SH_OK);
        spectrum[0][1] = 5.0; /* taken as zero */
        assert_int_equal(sh_fft_inverse(fft, spectrum, back), SH_OK);
        for (size_t i = 0; i < n; i++) {
            assert_near(back[i], x[i], 1e-14, 1e-14);
        }
        sh_fft_close(&fft);
    }
}

static void test_refusals(void **state)
{
    struct sh_fft *fft = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_fft_open(0, &fft, &err), SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_int_equal(sh_fft_open(SH_FFT_LENGTH_MAX + 1, &fft, NULL), SH_ERR_ARGUMENT);
    assert_null(fft);
    assert_int_equal(sh_fft_open(4, &fft, NULL), SH_OK);
    double x[5] = {1.0, (double)NAN, 0.0, 0.0, 0.0};
    double spectrum[3][2] = {{7.0, 7.0}};
    assert_int_equal(sh_fft_forward(fft, x, 5, spectrum), SH_ERR_ARGUMENT);
    assert_int_equal(sh_fft_forward(fft, x, 4, spectrum), SH_ERR_NOT_FINITE);
    assert_near(spectrum[0][0], 7.0, 0.0, 0.0);
    assert_int_equal(sh_fft_forward(fft, x, 1, spectrum), SH_OK);
    assert_int_equal(sh_fft_forward(fft, x, 0, spectrum), SH_OK);
    spectrum[1][0] = (double)INFINITY;
    assert_int_equal(sh_fft_inverse(fft, spectrum, x), SH_ERR_NOT_FINITE);
    assert_near(x[0], 1.0, 0.0, 0.0);
    sh_fft_close(&fft);
    sh_fft_close(&fft);
    sh_fft_close(NULL);
}

static void *open_and_close(void *context)
{
    for (size_t i = 0; i < 50; i++) {
        struct sh_fft *fft = NULL;
        if (sh_fft_open(60 + i, &fft, NULL) != SH_OK) {
            return context;
        }
        sh_fft_close(&fft);
    }
    return NULL;
}

static void test_threads_may_open(void **state)
{
    pthread_t threads[4];
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(pthread_create(&threads[i], NULL, open_and_close, threads), 0);
    }
    for (size_t i = 0; i < 4; i++) {
        void *failed = threads;
        assert_int_equal(pthread_join(threads[i], &failed), 0);
        assert_null(failed);
    }
}

/* The same input gives the same bits from an object opened anew. */
static void test_same_bits(void **state)
{
    double x[600];
    double first[301][2];
    double second[301][2];
    uint64_t seed = 3;
    for (size_t i = 0; i < 600; i++) {
        x[i] = noise_normal(&seed);
    }
    for (size_t round = 0; round < 5; round++) {
        struct sh_fft *fft = NULL;
        assert_int_equal(sh_fft_open(600, &fft, NULL), SH_OK);
        assert_int_equal(sh_fft_forward(fft, x, 600, round == 0 ? first : second), SH_OK);
        sh_fft_close(&fft);
        if (round > 0) {
            assert_memory_equal(first, second, sizeof(first));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defining_sum), cmocka_unit_test(test_there_and_back),
        cmocka_unit_test(test_refusals),     cmocka_unit_test(test_threads_may_open),
        cmocka_unit_test(test_same_bits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
