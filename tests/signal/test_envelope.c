/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/envelope.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

/* A whole number of periods: the envelope is the amplitude, the phase that of the cosine. */
static void test_sine(void **state)
{
    double x[200];
    double amplitude[200];
    double phase[200];
    struct sh_envelope *envelope = NULL;
    for (size_t i = 0; i < 200; i++) {
        x[i] = 3.0 * cos(2.0 * SH_PI * 0.05 * (double)i - 1.0);
    }
    assert_int_equal(sh_envelope_open(200, &envelope, NULL), SH_OK);
    assert_int_equal(sh_envelope_run(envelope, x, amplitude, phase), SH_OK);
    for (size_t i = 0; i < 200; i++) {
        assert_near(amplitude[i], 3.0, 1e-12, 0.0);
        assert_near(phase[i], 2.0 * SH_PI * 0.05 * (double)i - 1.0, 1e-11, 0.0);
    }
    assert_int_equal(sh_envelope_run(envelope, x, NULL, NULL), SH_OK);
    sh_envelope_close(&envelope);
}

/* 35 Hz, damping 0.02: the decay inside the ends, with 0.5 % noise. */
static void test_decay(void **state)
{
    uint64_t seed = 21;
    double x[600];
    double amplitude[600];
    double phase[600];
    struct sh_envelope *envelope = NULL;
    struct sh_envelope_decay decay;
    double w = 2.0 * SH_PI * 35.0 / 1000.0;
    for (size_t i = 0; i < 600; i++) {
        double t = (double)i;
        x[i] = exp(-0.02 * w * t) * cos(w * sqrt(1.0 - 0.0004) * t);
        x[i] += 0.005 * noise_normal(&seed);
    }
    assert_int_equal(sh_envelope_open(600, &envelope, NULL), SH_OK);
    assert_int_equal(sh_envelope_run(envelope, x, amplitude, phase), SH_OK);
    const struct sh_envelope_span span = {amplitude, phase, 60, 300, 1000.0};
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_OK);
    assert_near(decay.frequency_hz.value, 35.0 * sqrt(1.0 - 0.0004), 0.03, 0.0);
    assert_near(decay.damping.value, 0.02, 4.0 * decay.damping.u + 2e-4, 0.0);
    assert_true(decay.damping.u > 1e-6 && decay.damping.u < 1e-3);
    assert_near(decay.log_decrement.value, 2.0 * SH_PI * 0.02 / sqrt(1.0 - 0.0004), 0.003, 0.0);
    sh_envelope_close(&envelope);
}

static void test_refusals(void **state)
{
    struct sh_envelope *envelope = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_envelope_open(1, &envelope, &err), SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_null(envelope);
    assert_int_equal(sh_envelope_open(2, &envelope, NULL), SH_OK);
    const double bad[2] = {0.0, (double)NAN};
    assert_int_equal(sh_envelope_run(envelope, bad, NULL, NULL), SH_ERR_NOT_FINITE);
    sh_envelope_close(&envelope);
    sh_envelope_close(&envelope);
    sh_envelope_close(NULL);
    double amplitude[9] = {1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0};
    double phase[9] = {0.0};
    struct sh_envelope_decay decay;
    struct sh_envelope_span span = {amplitude, phase, 0, 7, 1.0};
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_ERR_SHORT);
    span.n_span = 8;
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_ERR_SINGULAR); /* no advance */
    for (size_t i = 0; i < 9; i++) {
        phase[i] = (double)i;
    }
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_OK);
    assert_near(decay.damping.value, 0.0, 1e-15, 0.0);
    span.first = 1; /* an amplitude of 0 */
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_ERR_SINGULAR);
    span.rate_hz = 0.0;
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_ERR_ARGUMENT);
    span.rate_hz = 1.0;
    phase[4] = (double)NAN;
    assert_int_equal(sh_envelope_find_decay(&span, &decay), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sine),
        cmocka_unit_test(test_decay),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
