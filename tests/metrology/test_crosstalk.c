/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/crosstalk.h"

#include <math.h>
#include <string.h>

#include "metrology/scale.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define FINGERS 3u
#define N       36u

static const double truth[FINGERS][FINGERS] = {
    {1.0, 0.06, 0.0}, {0.04, 1.02, 0.05}, {0.01, 0.07, 0.98}};

static void make_readings(double noise_n, struct sh_crosstalk_reading *readings)
{
    struct sh_random random;
    sh_random_init(&random, 11u);
    for (size_t i = 0; i < N; i++) {
        const size_t step = 1 + i / FINGERS;
        readings[i] =
            (struct sh_crosstalk_reading){.loaded = i % FINGERS, .force_n = 5.0 * (double)step};
        for (size_t k = 0; k < FINGERS; k++) {
            readings[i].value_n[k] = truth[k][i % FINGERS] * readings[i].force_n +
                                     noise_n * sh_random_get_normal(&random);
        }
    }
}

static void test_matrix_undoes_the_mixing(void **state)
{
    struct sh_crosstalk_reading readings[N];
    struct sh_crosstalk crosstalk;
    struct sh_stream stream = {.n_channels = FINGERS, .has_crosstalk = true};
    make_readings(0.0, readings);
    assert_int_equal(sh_crosstalk_solve(readings, N, FINGERS, &crosstalk), SH_OK);
    memcpy(stream.crosstalk, crosstalk.matrix, sizeof stream.crosstalk);
    const double force_n[FINGERS] = {40.0, 55.0, 20.0};
    double value[FINGERS] = {0};
    for (size_t i = 0; i < FINGERS; i++) {
        stream.channel[i].scale = 1.0;
        for (size_t k = 0; k < FINGERS; k++) {
            assert_near(crosstalk.share[i][k], truth[i][k], 1e-12, 0.0);
            value[i] += truth[i][k] * force_n[k];
        }
    }
    sh_scale_frame(&stream, value, value);
    for (size_t i = 0; i < FINGERS; i++) {
        assert_near(value[i], force_n[i], 1e-10, 0.0);
    }
}

/* There and back; and nothing is written where two fingers look the same. */
static void test_inverse_of_the_inverse(void **state)
{
    struct sh_crosstalk_reading readings[N];
    struct sh_crosstalk crosstalk;
    double back[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX] = {{0}};
    double same[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX] = {{1.0, 1.0}, {1.0, 1.0}};
    make_readings(0.0, readings);
    assert_int_equal(sh_crosstalk_solve(readings, N, FINGERS, &crosstalk), SH_OK);
    assert_int_equal(sh_crosstalk_invert(FINGERS, crosstalk.matrix, back), SH_OK);
    for (size_t i = 0; i < FINGERS; i++) {
        for (size_t k = 0; k < FINGERS; k++) {
            assert_near(back[i][k], truth[i][k], 1e-12, 0.0);
        }
    }
    assert_int_equal(sh_crosstalk_invert(2, same, back), SH_ERR_SINGULAR);
    assert_near(back[0][1], truth[0][1], 1e-12, 0.0);
}

static void test_noise_shows_in_the_uncertainty(void **state)
{
    struct sh_crosstalk_reading readings[N];
    struct sh_crosstalk crosstalk;
    make_readings(0.2, readings);
    assert_int_equal(sh_crosstalk_solve(readings, N, FINGERS, &crosstalk), SH_OK);
    for (size_t i = 0; i < FINGERS; i++) {
        for (size_t k = 0; k < FINGERS; k++) {
            assert_true(crosstalk.share_u[i][k] > 0.0);
            assert_near(crosstalk.share[i][k], truth[i][k], 5.0 * crosstalk.share_u[i][k], 0.0);
        }
    }
}

static void test_refusals(void **state)
{
    struct sh_crosstalk_reading readings[N];
    struct sh_crosstalk crosstalk;
    make_readings(0.0, readings);
    assert_int_equal(sh_crosstalk_solve(readings, N, 1, &crosstalk), SH_ERR_ARGUMENT);
    assert_int_equal(sh_crosstalk_solve(readings, N, 17, &crosstalk), SH_ERR_ARGUMENT);
    assert_int_equal(sh_crosstalk_solve(readings, N, 2, &crosstalk), SH_ERR_ARGUMENT);
    assert_int_equal(
        sh_crosstalk_solve(readings, SH_CROSSTALK_READINGS_MAX + 1, FINGERS, &crosstalk),
        SH_ERR_ARGUMENT);
    assert_int_equal(sh_crosstalk_solve(readings, 5, FINGERS, &crosstalk), SH_ERR_SHORT);
    assert_int_equal(sh_crosstalk_solve(readings, 6, FINGERS, &crosstalk), SH_OK);
    readings[1].value_n[2] = (double)NAN;
    assert_int_equal(sh_crosstalk_solve(readings, N, FINGERS, &crosstalk), SH_ERR_NOT_FINITE);
    make_readings(0.0, readings);
    readings[1].force_n = 0.0;
    assert_int_equal(sh_crosstalk_solve(readings, N, FINGERS, &crosstalk), SH_ERR_ARGUMENT);
    make_readings(0.0, readings);
    for (size_t i = 0; i < N; i++) {
        for (size_t k = 0; k < FINGERS; k++) {
            readings[i].value_n[k] = readings[i].force_n; /* all show the same */
        }
    }
    assert_int_equal(sh_crosstalk_solve(readings, N, FINGERS, &crosstalk), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_matrix_undoes_the_mixing),
        cmocka_unit_test(test_inverse_of_the_inverse),
        cmocka_unit_test(test_noise_shows_in_the_uncertainty),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
