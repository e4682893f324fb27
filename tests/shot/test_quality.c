/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/quality.h"

#include <string.h>

#include "support/cmocka_all.h"

#define N 100u

/* A force and a contact on one stream, an axis of acceleration on another; 10 Hz from 0 s. */
struct fixture {
    double time_s[N];
    double force_n[N];
    double contact[N];
    double accel_m_s2[N];
    unsigned char flags[2][N];
    struct sh_stream stream[2];
    struct sh_shot_view view;
    struct sh_quality quality;
};

static void fill(struct fixture *f)
{
    *f = (struct fixture){.view = {.n_streams = 2}};
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = 0.1 * (double)i;
        f->force_n[i] = (double)i;
        f->contact[i] = 1.0;
        f->accel_m_s2[i] = (double)(i % 3);
    }
    f->stream[0] = (struct sh_stream){.rate_hz = 10.0, .n_channels = 2};
    f->stream[0].channel[0].role = SH_ROLE_STRING_FORCE;
    f->stream[0].channel[1].role = SH_ROLE_CLICKER_CONTACT;
    f->stream[1] = (struct sh_stream){.rate_hz = 10.0, .n_channels = 1};
    f->stream[1].channel[0].role = SH_ROLE_BOW_ACCELERATION;
    for (size_t s = 0; s < 2; s++) {
        f->view.stream[s] = (struct sh_shot_stream){
            .stream = &f->stream[s], .n_frames = N, .time_s = f->time_s, .flags = f->flags[s]};
    }
    f->view.stream[0].value[0] = f->force_n;
    f->view.stream[0].value[1] = f->contact;
    f->view.stream[1].value[0] = f->accel_m_s2;
    f->view.force = (struct sh_shot_force){.is_present = true, .n_channels = 1};
    sh_quality_init(&f->quality);
}

static struct sh_shot judge(struct fixture *f, double noise_n)
{
    struct sh_shot shot = {.rest_noise_n = noise_n};
    sh_quality_judge(&f->quality, &f->view, 2.0, 5.0, &shot);
    return shot;
}

static void test_nothing_wrong(void **state)
{
    struct fixture f;
    fill(&f);
    const struct sh_shot shot = judge(&f, 0.1);
    assert_false(shot.has_gap || shot.is_clipped || shot.is_noisy || shot.has_dead_channel);
}

/* Only what lies between the two times counts, in any stream. */
static void test_flags_inside_the_span(void **state)
{
    struct fixture f;
    fill(&f);
    f.flags[0][19] = SH_SHOT_FLAG_FILLED;
    f.flags[0][51] = SH_SHOT_FLAG_CLIPPED;
    assert_false(judge(&f, 0.1).has_gap);
    assert_false(judge(&f, 0.1).is_clipped);
    f.flags[1][20] = SH_SHOT_FLAG_FILLED;
    assert_true(judge(&f, 0.1).has_gap);
    assert_false(judge(&f, 0.1).is_clipped);
    f.flags[0][50] = SH_SHOT_FLAG_CLIPPED;
    assert_true(judge(&f, 0.1).is_clipped);
}

static void test_dead_where_others_move(void **state)
{
    struct fixture f;
    fill(&f);
    memset(f.accel_m_s2, 0, sizeof f.accel_m_s2);
    assert_true(judge(&f, 0.1).has_dead_channel);
    f.accel_m_s2[60] = 1.0; /* outside */
    assert_true(judge(&f, 0.1).has_dead_channel);
    f.accel_m_s2[50] = 1.0;
    assert_false(judge(&f, 0.1).has_dead_channel);
    memset(f.accel_m_s2, 0, sizeof f.accel_m_s2);
    memset(f.force_n, 0, sizeof f.force_n);
    assert_false(judge(&f, 0.1).has_dead_channel); /* nothing moves at all */
}

/* Against the stated noise; else against the median of five or more shots before. */
static void test_noisy(void **state)
{
    struct fixture f;
    fill(&f);
    f.stream[0].channel[0].noise = 0.1;
    assert_false(judge(&f, 0.499).is_noisy);
    assert_true(judge(&f, 0.501).is_noisy);
    fill(&f);
    for (int i = 0; i < 4; i++) {
        assert_false(judge(&f, i == 0 ? 0.1 : 0.2).is_noisy);
    }
    assert_false(judge(&f, 9.0).is_noisy); /* four are not enough */
    assert_false(judge(&f, 0.99).is_noisy);
    assert_true(judge(&f, 1.01).is_noisy);
    for (unsigned i = 0; i < 2 * SH_QUALITY_USUAL_MAX; i++) {
        (void)judge(&f, 2.0);
    }
    assert_false(judge(&f, 9.9).is_noisy); /* the old ones are forgotten */
    assert_true(judge(&f, 10.1).is_noisy);
}

static void test_empty_stream(void **state)
{
    struct fixture f;
    fill(&f);
    f.view.stream[1].n_frames = 0;
    const struct sh_shot shot = judge(&f, 0.1);
    assert_false(shot.has_gap || shot.is_clipped || shot.has_dead_channel);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_wrong),
        cmocka_unit_test(test_flags_inside_the_span),
        cmocka_unit_test(test_dead_where_others_move),
        cmocka_unit_test(test_noisy),
        cmocka_unit_test(test_empty_stream),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
