/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/levels.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N       16000u
#define RATE_HZ 1000.0
#define T0_S    100.0

/* Rest, a draw that is skipped, rest, preload, a draw from 10 s to 13 s, and what comes then.
 */
struct fixture {
    double time_s[N];
    double force_n[N];
    unsigned char flags[N];
    double work[2 * N];
    struct sh_stream described;
    struct sh_shot_stream stream;
    struct sh_levels_span span;
};

static void add_level(struct fixture *f, double from_s, double until_s, double level_n)
{
    for (size_t i = (size_t)(from_s * RATE_HZ); i < (size_t)(until_s * RATE_HZ); i++) {
        f->force_n[i] += level_n;
    }
}

static void fill(struct fixture *f, double rest_n, double preload_n, double after_n)
{
    struct sh_random random;
    sh_random_init(&random, 3);
    *f = (struct fixture){.described = {.rate_hz = RATE_HZ, .n_channels = 1}};
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = T0_S + (double)i / RATE_HZ;
        f->force_n[i] = 0.1 * sh_random_get_normal(&random);
    }
    add_level(f, 0.0, 1.0, rest_n);
    add_level(f, 1.0, 5.0, 150.0);
    add_level(f, 5.0, 7.0, rest_n);
    add_level(f, 7.0, 10.0, rest_n + preload_n);
    add_level(f, 10.0, 13.0, 150.0);
    add_level(f, 13.0, 16.0, after_n);
    f->stream = (struct sh_shot_stream){.stream = &f->described,
                                        .n_frames = N,
                                        .time_s = f->time_s,
                                        .value = {f->force_n},
                                        .flags = f->flags};
    f->span = (struct sh_levels_span){.low_s = T0_S + 10.0,
                                      .has_after = true,
                                      .fall_s = T0_S + 13.0,
                                      .until_s = T0_S + 16.0,
                                      .n_skips = 1,
                                      .skip = {{T0_S + 1.0, T0_S + 5.0}}};
}

static struct sh_rest_level find(struct fixture *f)
{
    struct sh_rest_level level;
    sh_levels_find(&f->stream, f->force_n, 0.01, &f->span, f->work, &level);
    assert_true(sh_quantity_is_known(&level.level_n));
    return level;
}

static void test_rest_before_the_preload(void **state)
{
    struct fixture f;
    fill(&f, 2.0, 20.0, 2.2);
    const struct sh_rest_level level = find(&f);
    assert_near(level.level_n.value, 2.0, 0.05, 0.0);
    assert_near(level.white_n, 0.1, 0.0, 0.1);
    assert_true(level.level_n.u > 0.2 / sqrt(12.0) * 0.9);
    f.span.has_after = false;
    assert_near(find(&f).level_n.value, 2.0, 0.05, 0.0);
    assert_true(find(&f).level_n.u < 0.03);
}

/* The level after the release tells a moved zero from a preload; an uneven one does not, nor
 * one that is too short. */
static void test_level_after_decides(void **state)
{
    struct fixture f;
    fill(&f, 2.0, 20.0, 22.1);
    assert_near(find(&f).level_n.value, 22.0, 0.05, 0.0);
    f.span.until_s = T0_S + 13.9;
    assert_near(find(&f).level_n.value, 2.0, 0.05, 0.0);
    f.span.until_s = T0_S + 14.1;
    assert_near(find(&f).level_n.value, 22.0, 0.05, 0.0);
    f.span.until_s = T0_S + 16.0;
    for (size_t i = 13000; i < N; i++) {
        f.force_n[i] += i % 2 == 0 ? 4.0 : -4.0;
    }
    assert_near(find(&f).level_n.value, 2.0, 0.05, 0.0);
}

/* A lost second that was filled up is no level. */
static void test_filled_frames_do_not_count(void **state)
{
    struct fixture f;
    fill(&f, 2.0, 20.0, 22.1);
    for (size_t i = 13600; i < N; i++) {
        f.flags[i] = SH_SHOT_FLAG_FILLED;
    }
    assert_near(find(&f).level_n.value, 2.0, 0.05, 0.0);
}

/* An earlier draw that is not skipped, held longer than a preload, would pass for rest. */
static void test_skips_matter(void **state)
{
    struct fixture f;
    fill(&f, 2.0, 0.0, 2.0);
    add_level(&f, 5.0, 9.8, 148.0); /* it went on until 9.8 s */
    f.span.has_after = false;
    f.span.skip[0].until_s = T0_S + 9.8;
    assert_near(find(&f).level_n.value, 2.0, 0.05, 0.0);
    f.span.n_skips = 0;
    assert_near(find(&f).level_n.value, 150.0, 0.05, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rest_before_the_preload),
        cmocka_unit_test(test_level_after_decides),
        cmocka_unit_test(test_filled_frames_do_not_count),
        cmocka_unit_test(test_skips_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
