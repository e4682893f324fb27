/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/spike.h"

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_MAX 16u

/* Two channels: a force, and an acceleration that is never touched. */
static struct sh_spike make(void)
{
    struct sh_stream stream = {.n_channels = 2};
    stream.channel[0].role = SH_ROLE_STRING_FORCE;
    stream.channel[1].role = SH_ROLE_BOW_ACCELERATION;
    struct sh_spike spike;
    sh_spike_init(&spike, &stream);
    return spike;
}

/* Sends x through both channels; what comes out of the force, flushed; how many were mended. */
static size_t run(const double *x, size_t n, double *out)
{
    struct sh_spike spike = make();
    size_t n_out = 0;
    size_t n_mended = 0;
    for (size_t i = 0; i < n; i++) {
        const double value[2] = {x[i], x[i]};
        const struct sh_spike_frame frame = sh_spike_push(&spike, value, false);
        assert_true(frame.is_present == (i > 0));
        if (frame.is_present) {
            assert_near(frame.value[1], x[i - 1], 0.0, 0.0);
            out[n_out++] = frame.value[0];
            n_mended += frame.is_mended ? 1 : 0;
        }
    }
    const struct sh_spike_frame frame = sh_spike_flush(&spike);
    assert_true(frame.is_present);
    out[n_out++] = frame.value[0];
    assert_int_equal(n_out, n);
    return n_mended;
}

static void check(const double *x, size_t n, size_t place, double mended)
{
    double out[N_MAX];
    assert_int_equal(run(x, n, out), place < n ? 1 : 0);
    for (size_t i = 0; i < n; i++) {
        assert_near(out[i], i == place ? mended : x[i], 1e-12, 0.0);
    }
}

static void test_alone(void **state)
{
    check((const double[]){1, 2, 3, 4, 150, 6, 7, 8}, 8, 4, 5.0);
    check((const double[]){1, 2, 3, 4, -150, 6, 7, 8}, 8, 4, 5.0);
    check((const double[]){0, 0, 0, 10.0, 0, 0}, 6, 3, 0.0);
    check((const double[]){0, 0, 0, 9.9, 0, 0}, 6, N_MAX, 0.0);
}

/* A release, a step, an edge, and what swings, are left as they are. */
static void test_left_alone(void **state)
{
    check((const double[]){178, 178, 178, 90, 0, 5, -5}, 7, N_MAX, 0.0);
    check((const double[]){0, 0, 0, 150, 150, 150}, 6, N_MAX, 0.0);
    check((const double[]){0, 0, 0, 150, 120, 0, 0}, 7, N_MAX, 0.0);
    check((const double[]){150, 0, 0, 0}, 4, N_MAX, 0.0);
    check((const double[]){0, 150, 0, 0}, 4, N_MAX, 0.0);
    check((const double[]){0, 0, 0, 150}, 4, N_MAX, 0.0);
    check((const double[]){0, 20, -20, 20, -20, 20, 0}, 7, N_MAX, 0.0);
}

/* A second one right behind a mended one is judged by what is mended. */
static void test_after_a_mended_one(void **state)
{
    const double x[] = {0, 0, 0, 150, 0, 150, 0, 0};
    double out[N_MAX];
    assert_int_equal(run(x, 8, out), 2);
    for (size_t i = 0; i < 8; i++) {
        assert_near(out[i], 0.0, 0.0, 0.0);
    }
}

static void test_filled_and_empty(void **state)
{
    struct sh_spike spike = make();
    const double value[2] = {1.0, 2.0};
    assert_false(sh_spike_flush(&spike).is_present);
    (void)sh_spike_push(&spike, value, true);
    assert_true(sh_spike_push(&spike, value, false).is_filled);
    assert_false(sh_spike_push(&spike, value, true).is_filled);
    assert_true(sh_spike_flush(&spike).is_filled);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_alone),
        cmocka_unit_test(test_left_alone),
        cmocka_unit_test(test_after_a_mended_one),
        cmocka_unit_test(test_filled_and_empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
