/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/calm.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N       5000u
#define RATE_HZ 1000.0

/* A force that holds 100 N (rest 3 N) from 1 s and is gone at 2 s; a bow that then rings. */
struct fixture {
    double time_s[N];
    double force_n[N];
    double accel_m_s2[N];
    unsigned char flags[N];
    struct sh_stream stream;
    struct sh_shot_view view;
    double work[N + 1];
};

static void fill(struct fixture *f, double decay_s)
{
    *f = (struct fixture){.stream = {.rate_hz = RATE_HZ, .n_channels = 2}};
    f->stream.channel[0].role = SH_ROLE_STRING_FORCE;
    f->stream.channel[1] =
        (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_X};
    for (size_t i = 0; i < N; i++) {
        const double t_s = (double)i / RATE_HZ;
        f->time_s[i] = 50.0 + t_s;
        f->force_n[i] = t_s >= 1.0 && t_s < 2.0 ? 103.0 : 3.0;
        const double after_s = t_s - 2.0;
        f->accel_m_s2[i] = 9.81;
        if (after_s >= 0.0) {
            f->accel_m_s2[i] +=
                300.0 * exp(-after_s / decay_s) * cos(2.0 * 3.14159265358979 * 50.0 * after_s);
        }
    }
    f->view.n_streams = 1;
    f->view.stream[0] = (struct sh_shot_stream){.stream = &f->stream,
                                                .n_frames = N,
                                                .time_s = f->time_s,
                                                .value = {f->force_n, f->accel_m_s2},
                                                .flags = f->flags};
    f->view.stream[0].rest_n[0] = sh_quantity_known(3.0, 0.1);
}

static struct sh_quantity find(struct fixture *f, double until_s)
{
    const struct sh_calm_span span = {51.0, 52.0, until_s};
    return sh_calm_find(&f->view, &span, f->work, N + 1);
}

/* 300 exp(-t / tau) is 5 % of its peak at 3.0 tau; a peak every 10 ms meets it. */
static void test_ring_down_of_the_bow(void **state)
{
    static const double decays_s[] = {0.05, 0.1, 0.2};
    struct fixture f;
    for (size_t i = 0; i < 3; i++) {
        fill(&f, decays_s[i]);
        const struct sh_quantity end_s = find(&f, 54.0);
        assert_true(sh_quantity_is_known(&end_s));
        assert_near(end_s.value, 52.0 + decays_s[i] * log(20.0), 0.011, 0.0);
        assert_near(end_s.u, 0.001 / sqrt(12.0), 1e-9, 0.0);
    }
}

static void test_not_beyond_the_span(void **state)
{
    struct fixture f;
    fill(&f, 1.0);
    assert_near(find(&f, 54.0).value, 54.0, 0.011, 0.0);
    assert_near(find(&f, 52.5).value, 52.5, 0.011, 0.0);
}

/* Without acceleration the force alone: an excursion after the release counts. */
static void test_force_alone(void **state)
{
    struct fixture f;
    fill(&f, 0.1);
    f.stream.n_channels = 1;
    assert_near(find(&f, 54.0).value, 52.0, 1e-9, 0.0);
    f.force_n[2700] = 9.0;                                 /* 6 % */
    assert_near(find(&f, 54.0).value, 52.7005, 1e-6, 0.0); /* half a step on */
    f.force_n[2700] = 7.0;                                 /* 4 % */
    assert_near(find(&f, 54.0).value, 52.0, 1e-9, 0.0);
    f.stream.channel[0].delay_s = 0.004;
    f.stream.channel[0].delay_u_s = 0.001;
    f.force_n[2700] = 9.0;
    const struct sh_quantity end_s = find(&f, 54.0);
    assert_near(end_s.value, 52.6965, 1e-6, 0.0);
    assert_near(end_s.u, hypot(0.001, 0.001 / sqrt(12.0)), 1e-9, 0.0);
}

/* Noise beyond 5 % of a small peak is not taken for a bow in motion. */
static void test_noise_is_no_excursion(void **state)
{
    struct fixture f;
    fill(&f, 0.1);
    for (size_t i = 0; i < N; i++) {
        f.accel_m_s2[i] = 9.81 + (i % 2 == 0 ? 0.1 : -0.1);
    }
    assert_near(find(&f, 54.0).value, 52.0, 1e-9, 0.0);
    assert_near(find(&f, 54.0).hi, 54.0, 1e-9, 0.0); /* what is fainter lasts nobody knows */
}

/* A peak beyond the range was higher: the excursion may have ended at any time before. */
static void test_clipped_peak(void **state)
{
    struct fixture f;
    fill(&f, 0.1);
    const struct sh_quantity seen = find(&f, 54.0);
    assert_near(seen.lo, seen.value - 1.96 * seen.u, 1e-9, 0.0);
    f.flags[2001] = SH_SHOT_FLAG_CLIPPED;
    const struct sh_quantity clipped = find(&f, 54.0);
    assert_near(clipped.value, seen.value, 1e-12, 0.0);
    assert_near(clipped.lo, 52.0, 1e-9, 0.0);
    assert_near(clipped.hi, seen.hi, 1e-12, 0.0);
    assert_true(clipped.u > 100.0 * seen.u);
}

/* A bow that rings out slowly under noise: the limits hold where it is quiet without noise. */
static void test_noise_moves_the_end(void **state)
{
    static struct fixture f;
    struct sh_random random;
    size_t n_inside = 0;
    const size_t n = 40;
    for (size_t k = 0; k < n; k++) {
        fill(&f, 0.2);
        const double true_s = find(&f, 54.0).value;
        sh_random_init(&random, 1 + k);
        for (size_t i = 0; i < N; i++) {
            f.accel_m_s2[i] += 1.0 * sh_random_get_normal(&random);
        }
        const struct sh_quantity end_s = find(&f, 54.0);
        n_inside += end_s.lo <= true_s && end_s.hi >= true_s ? 1 : 0;
        assert_true(end_s.hi - end_s.lo < 0.2);
    }
    assert_true(n_inside >= n - 4);
}

/* A slow sensor may average or not: the middle of both. */
static void test_slow_sensor(void **state)
{
    struct fixture f;
    fill(&f, 0.1);
    f.stream.n_channels = 1;
    f.stream.rate_hz = 80.0;
    for (size_t i = 0; i < N; i++) {
        f.time_s[i] = 50.0 + (double)i / 80.0;
        f.force_n[i] = i >= 80 && i <= 200 ? 103.0 : 3.0;
    }
    const struct sh_quantity end_s = find(&f, 54.0);
    assert_near(end_s.value, 52.5 + 0.25 / 80.0, 1e-9, 0.0);
    assert_near(end_s.u, sqrt(1.0 / 12.0 + 1.0 / 16.0) / 80.0, 1e-9, 0.0);
}

static void test_without_channels(void **state)
{
    struct fixture f;
    fill(&f, 0.1);
    f.stream.channel[0].role = SH_ROLE_SOUND;
    f.stream.channel[1].role = SH_ROLE_CLICKER_CONTACT;
    assert_int_equal(find(&f, 54.0).why, SH_WHY_NO_CHANNEL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ring_down_of_the_bow),
        cmocka_unit_test(test_not_beyond_the_span),
        cmocka_unit_test(test_force_alone),
        cmocka_unit_test(test_noise_is_no_excursion),
        cmocka_unit_test(test_clipped_peak),
        cmocka_unit_test(test_noise_moves_the_end),
        cmocka_unit_test(test_slow_sensor),
        cmocka_unit_test(test_without_channels),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
