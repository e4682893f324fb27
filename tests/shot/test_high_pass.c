/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/high_pass.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N       4000u
#define RATE_HZ 1000.0

struct fixture {
    double time_s[N];
    double value[2][N];
    unsigned char flags[N];
    struct sh_stream described;
    struct sh_shot_stream stream;
    struct sh_high_pass pass;
};

static void fill(struct fixture *f, double hz)
{
    *f = (struct fixture){.described = {.rate_hz = RATE_HZ, .n_channels = 2}};
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = 20.0 + (double)i / RATE_HZ;
        f->value[0][i] = 9.81 + 3.0 * sin(2.0 * SH_PI * hz * (double)i / RATE_HZ);
        f->value[1][i] = 4.0 * cos(2.0 * SH_PI * hz * (double)i / RATE_HZ);
    }
    f->stream = (struct sh_shot_stream){.stream = &f->described,
                                        .n_frames = N,
                                        .time_s = f->time_s,
                                        .time_u_s = 0.003,
                                        .value = {f->value[0], f->value[1]},
                                        .flags = f->flags};
    f->pass = (struct sh_high_pass){.stream = &f->stream,
                                    .n_channels = 2,
                                    .channel = {0, 1},
                                    .corner_hz = 100.0,
                                    .first = 1000,
                                    .n = 2000};
}

/* Levels and slow waves go, quick ones stay; squares of the channels are added. */
static void test_what_passes(void **state)
{
    static struct fixture f;
    double y[N];
    double sum[N];
    fill(&f, 400.0);
    assert_int_equal(sh_high_pass_filter(&f.pass, 0, y), SH_OK);
    double largest = 0.0;
    for (size_t i = 0; i < 2000; i++) {
        largest = fmax(largest, fabs(y[i]));
    }
    assert_near(largest, 3.0, 0.0, 0.06);
    assert_int_equal(sh_high_pass_add(&f.pass, y, sum), SH_OK);
    double mean = 0.0;
    for (size_t i = 0; i < 2000; i++) {
        mean += sum[i] / 2000.0;
    }
    assert_near(mean, 4.5 + 8.0, 0.0, 0.03);
    fill(&f, 2.0);
    assert_int_equal(sh_high_pass_filter(&f.pass, 0, y), SH_OK);
    for (size_t i = 0; i < 2000; i++) {
        assert_true(fabs(y[i]) < 0.01);
    }
}

static void test_frames_and_times(void **state)
{
    static struct fixture f;
    fill(&f, 2.0);
    f.described.channel[0].delay_s = 0.010;
    f.described.channel[0].delay_u_s = 0.004;
    assert_int_equal(sh_high_pass_get_frame(&f.pass, 21.0), 1010);
    assert_int_equal(sh_high_pass_get_frame(&f.pass, 21.0002), 1011);
    assert_int_equal(sh_high_pass_get_frame(&f.pass, 1.0), 0);
    assert_int_equal(sh_high_pass_get_frame(&f.pass, 99.0), N);
    const struct sh_quantity time_s = sh_high_pass_get_time_s(&f.pass, 10.5, 12.0);
    assert_near(time_s.value, 21.0005, 1e-9, 0.0);
    assert_near(time_s.u, 0.013, 1e-9, 0.0); /* 0.012, 0.004 and 0.003 */
}

static void test_lost_and_not_finite(void **state)
{
    static struct fixture f;
    double y[N];
    fill(&f, 2.0);
    f.flags[999] = SH_SHOT_FLAG_FILLED;
    f.flags[3000] = SH_SHOT_FLAG_FILLED;
    f.flags[1500] = SH_SHOT_FLAG_CLIPPED;
    assert_false(sh_high_pass_is_lost(&f.pass));
    f.flags[2999] = SH_SHOT_FLAG_FILLED;
    assert_true(sh_high_pass_is_lost(&f.pass));
    f.value[1][1700] = (double)NAN;
    assert_int_equal(sh_high_pass_filter(&f.pass, 0, y), SH_OK);
    assert_int_equal(sh_high_pass_filter(&f.pass, 1, y), SH_ERR_NOT_FINITE);
    f.value[0][950] = (double)NAN; /* while it runs in */
    assert_int_equal(sh_high_pass_filter(&f.pass, 0, y), SH_ERR_NOT_FINITE);
    f.pass.corner_hz = 0.0;
    assert_int_equal(sh_high_pass_filter(&f.pass, 0, y), SH_ERR_ARGUMENT);
    f.stream.n_frames = 0;
    assert_int_equal(sh_high_pass_get_frame(&f.pass, 21.0), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_passes),
        cmocka_unit_test(test_frames_and_times),
        cmocka_unit_test(test_lost_and_not_finite),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
