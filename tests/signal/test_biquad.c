/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/biquad.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define RATE_HZ 1000.0

static struct sh_biquad_config
get_config(enum sh_biquad_kind kind, size_t order, double low_hz, double high_hz)
{
    return (struct sh_biquad_config){.kind = kind,
                                     .order = order,
                                     .rate_hz = RATE_HZ,
                                     .corner_hz = low_hz,
                                     .corner_high_hz = high_hz};
}

static void make(struct sh_biquad_config config, struct sh_biquad_design *out)
{
    assert_int_equal(sh_biquad_make(&config, out, NULL), SH_OK);
}

/* Pass band at 1, corners at -3 dB, for every kind and order; twice -3 dB / 2 with two passes.
 */
static void test_gains(void **state)
{
    for (size_t order = 1; order <= SH_BIQUAD_ORDER_MAX; order++) {
        struct sh_biquad_design d;
        make(get_config(SH_BIQUAD_LOWPASS, order, 40.0, 0.0), &d);
        assert_near(sh_biquad_get_gain(&d, 0.0, RATE_HZ), 1.0, 1e-10, 0.0);
        assert_near(sh_biquad_get_gain(&d, 40.0, RATE_HZ), sqrt(0.5), 1e-9, 0.0);
        make(get_config(SH_BIQUAD_HIGHPASS, order, 40.0, 0.0), &d);
        assert_near(sh_biquad_get_gain(&d, 500.0, RATE_HZ), 1.0, 1e-10, 0.0);
        assert_near(sh_biquad_get_gain(&d, 40.0, RATE_HZ), sqrt(0.5), 1e-9, 0.0);
        make(get_config(SH_BIQUAD_BANDPASS, order, 40.0, 90.0), &d);
        assert_int_equal(d.n_sections, order);
        assert_near(sh_biquad_get_gain(&d, 40.0, RATE_HZ), sqrt(0.5), 1e-7, 0.0);
        assert_near(sh_biquad_get_gain(&d, 90.0, RATE_HZ), sqrt(0.5), 1e-7, 0.0);
    }
}

static void test_two_passes(void **state)
{
    const enum sh_biquad_kind kinds[] = {SH_BIQUAD_LOWPASS, SH_BIQUAD_HIGHPASS,
                                         SH_BIQUAD_BANDPASS};
    for (size_t k = 0; k < 3; k++) {
        for (size_t order = 1; order <= 4; order++) {
            struct sh_biquad_config config = get_config(kinds[k], order, 40.0, 90.0);
            config.for_two_passes = true;
            struct sh_biquad_design d;
            make(config, &d);
            double gain = sh_biquad_get_gain(&d, 40.0, RATE_HZ);
            assert_near(gain * gain, sqrt(0.5), 1e-10, 0.0);
            gain =
                sh_biquad_get_gain(&d, kinds[k] == SH_BIQUAD_BANDPASS ? 90.0 : 40.0, RATE_HZ);
            assert_near(gain * gain, sqrt(0.5), 1e-10, 0.0);
        }
    }
}

/* Whole, sample by sample, and every two-way cut give the same bits; reset is as new. */
static void test_cuts(void **state)
{
    uint64_t seed = 4;
    double x[40];
    double whole[40];
    double cut[40];
    struct sh_biquad_design d;
    struct sh_biquad filter;
    make(get_config(SH_BIQUAD_BANDPASS, 3, 5.0, 90.0), &d);
    for (size_t i = 0; i < 40; i++) {
        x[i] = noise_normal(&seed);
    }
    sh_biquad_init(&filter, &d);
    assert_int_equal(sh_biquad_push(&filter, x, 40, whole), SH_OK);
    for (size_t at = 0; at <= 40; at++) {
        sh_biquad_reset(&filter);
        assert_int_equal(sh_biquad_push(&filter, x, at, cut), SH_OK);
        assert_int_equal(sh_biquad_push(&filter, x + at, 40 - at, cut + at), SH_OK);
        assert_memory_equal(whole, cut, sizeof(whole));
    }
    sh_biquad_init(&filter, &d);
    for (size_t i = 0; i < 40; i++) {
        cut[i] = x[i];
        assert_int_equal(sh_biquad_push(&filter, cut + i, 1, cut + i), SH_OK);
    }
    assert_memory_equal(whole, cut, sizeof(whole));
}

static void test_settled_start(void **state)
{
    struct sh_biquad_design d;
    struct sh_biquad filter;
    double x[50];
    double y[50];
    for (size_t i = 0; i < 50; i++) {
        x[i] = 178.0;
    }
    make(get_config(SH_BIQUAD_LOWPASS, 5, 2.0, 0.0), &d);
    sh_biquad_init(&filter, &d);
    sh_biquad_settle(&filter, 178.0);
    assert_int_equal(sh_biquad_push(&filter, x, 50, y), SH_OK);
    assert_near(y[0], 178.0, 1e-6, 0.0);
    assert_near(y[49], 178.0, 1e-6, 0.0);
    make(get_config(SH_BIQUAD_HIGHPASS, 3, 2.0, 0.0), &d);
    sh_biquad_init(&filter, &d);
    sh_biquad_settle(&filter, 178.0);
    assert_int_equal(sh_biquad_push(&filter, x, 50, y), SH_OK);
    assert_near(y[49], 0.0, 1e-9, 0.0);
}

/* No delay: a symmetric bump stays symmetric, and a straight line passes to its ends. */
static void test_both_ways(void **state)
{
    struct sh_biquad_design d;
    double x[201];
    double y[201];
    double work[201 + 2 * 200];
    make(get_config(SH_BIQUAD_LOWPASS, 4, 30.0, 0.0), &d);
    for (size_t i = 0; i < 201; i++) {
        double t = ((double)i - 100.0) / 8.0;
        x[i] = exp(-0.5 * t * t);
    }
    struct sh_biquad_span span = {x, 201, 200};
    assert_int_equal(sh_biquad_filter_both_ways(&d, &span, work, y), SH_OK);
    for (size_t i = 0; i < 100; i++) {
        assert_near(y[i], y[200 - i], 1e-9, 0.0);
    }
    for (size_t i = 0; i < 201; i++) {
        x[i] = 3.0 + 0.5 * (double)i;
    }
    assert_int_equal(sh_biquad_filter_both_ways(&d, &span, work, x), SH_OK); /* in place */
    for (size_t i = 0; i < 201; i++) {
        assert_near(x[i], 3.0 + 0.5 * (double)i, 1e-4, 0.0);
    }
}

static void test_pad(void **state)
{
    struct sh_biquad_design d;
    make(get_config(SH_BIQUAD_LOWPASS, 1, 20.0, 0.0), &d);
    double pole = -d.section[0].a1;
    size_t n_pad = sh_biquad_get_pad(&d);
    assert_true(pow(pole, (double)n_pad) <= 1.01e-3);
    assert_true(pow(pole, (double)(n_pad - 1)) > 1e-3);
    const struct sh_biquad_design none = {.n_sections = 1, .section = {{.b0 = 1.0}}};
    assert_int_equal(sh_biquad_get_pad(&none), 1);
}

static void test_refusals(void **state)
{
    struct sh_biquad_config good = get_config(SH_BIQUAD_BANDPASS, 2, 40.0, 90.0);
    struct sh_biquad_design d = {.n_sections = 77};
    struct sh_biquad_config bad[9];
    for (size_t i = 0; i < 9; i++) {
        bad[i] = good;
    }
    bad[0].order = 0;
    bad[1].order = SH_BIQUAD_ORDER_MAX + 1;
    bad[2].rate_hz = 0.0;
    bad[3].rate_hz = (double)NAN;
    bad[4].corner_hz = 0.0;
    bad[5].corner_hz = 500.0;
    bad[6].corner_high_hz = 40.0;
    bad[7].corner_high_hz = 500.0;
    bad[8].corner_hz = (double)NAN;
    for (size_t i = 0; i < 9; i++) {
        struct sh_error err = {0};
        assert_int_equal(sh_biquad_make(&bad[i], &d, &err), SH_ERR_ARGUMENT);
        assert_int_equal(err.status, SH_ERR_ARGUMENT);
        assert_int_equal(d.n_sections, 77);
    }
    make(good, &d);
    struct sh_biquad filter;
    sh_biquad_init(&filter, &d);
    double x[3] = {1.0, (double)NAN, 1.0};
    double y[3];
    double work[9];
    assert_int_equal(sh_biquad_push(&filter, x, 3, y), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_biquad_push(&filter, x, 0, y), SH_OK);
    assert_near(filter.state[0][0], 0.0, 0.0, 0.0);
    struct sh_biquad_span span = {x, 3, 2};
    assert_int_equal(sh_biquad_filter_both_ways(&d, &span, work, y), SH_ERR_NOT_FINITE);
    x[1] = 0.0;
    assert_int_equal(sh_biquad_filter_both_ways(&d, &span, work, y), SH_OK);
    span.n_pad = 3;
    assert_int_equal(sh_biquad_filter_both_ways(&d, &span, work, y), SH_ERR_SHORT);
    span.n = 0;
    assert_int_equal(sh_biquad_filter_both_ways(&d, &span, work, y), SH_ERR_SHORT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gains),     cmocka_unit_test(test_two_passes),
        cmocka_unit_test(test_cuts),      cmocka_unit_test(test_settled_start),
        cmocka_unit_test(test_both_ways), cmocka_unit_test(test_pad),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
