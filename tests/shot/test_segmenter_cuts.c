/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/segmenter.h"

#include "rig.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* What must not matter to the shots: how the samples come in, the clock's zero, the gain. */

/* Every cut and every interleaving gives the same bits, in both readings of the clock. */
static void test_cuts_do_not_matter(void **state)
{
    static const struct rig_cut cuts[] = {{.block_frames = {1, 1}},
                                          {.block_frames = {2, 3}},
                                          {.block_frames = {37, 1000}},
                                          {.block_frames = {256, 257}},
                                          {.block_frames = {5000, 11}},
                                          {.block_frames = {1000, 4096}},
                                          {.block_frames = {0, 50}},
                                          {.block_frames = {50, 50}, .ahead_s = {8.0, 0.0}},
                                          {.block_frames = {13, 70}, .ahead_s = {0.0, 8.0}}};
    struct rig rig;
    rig_open(&rig, rig_some_draws, 3, 250.0, 0.2);
    rig.stream[0].described.offset_s = 0.25;
    const size_t bow = rig_add_bow(&rig, 800.0);
    rig_add_anchors(&rig, 0, 2e-5);
    rig_add_anchors(&rig, bow, -4e-5);
    for (int reading = 0; reading < 2; reading++) {
        struct sh_segmenter_config config = rig_get_config(178.0);
        config.reading = reading == 0 ? SH_TIMEBASE_FORWARD : SH_TIMEBASE_BETWEEN;
        const struct rig_result whole =
            rig_run(&rig, &config, &(struct rig_cut){.block_frames = {10, 32}});
        assert_int_equal(whole.n_shots, 3);
        for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
            const struct rig_result result = rig_run(&rig, &config, &cuts[i]);
            assert_int_equal(result.n_shots, 3);
            assert_true(result.digest == whole.digest);
        }
    }
    rig_close(&rig);
}

/* The same where the acceleration alone shows shots. */
static void test_cuts_do_not_matter_without_a_force(void **state)
{
    static const size_t cuts[] = {1, 7, 100, 800, 5000};
    struct rig rig;
    struct rig bow;
    rig_open(&rig, rig_some_draws, 3, 100.0, 0.2);
    const size_t s = rig_add_bow(&rig, 800.0);
    rig_add_anchors(&rig, s, -4e-5);
    bow = rig;
    bow.n_streams = 1;
    bow.stream[0] = rig.stream[s];
    const struct sh_segmenter_config config = rig_get_config(0.0);
    const struct rig_result whole =
        rig_run(&bow, &config, &(struct rig_cut){.block_frames = {0}});
    assert_int_equal(whole.n_shots, 2); /* the let-down does not show */
    assert_int_equal(whole.shot[0].n, 1);
    assert_near(whole.shot[0].event_s[SH_EVENT_RELEASE].value, rig.draw[0].release_s, 0.004,
                0.0);
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        const struct rig_result result =
            rig_run(&bow, &config, &(struct rig_cut){.block_frames = {cuts[i]}});
        assert_true(result.digest == whole.digest);
    }
    struct rig_result result;
    struct sh_segmenter *segmenter = rig_open_segmenter(&bow, &config, &result);
    struct sh_segmenter_state live;
    rig_push(&bow, &(struct rig_cut){.block_frames = {100}}, segmenter);
    sh_segmenter_get_state(segmenter, &live);
    assert_int_equal(live.phase, SH_SEGMENTER_UNKNOWN);
    assert_int_equal(live.n_shots, 2);
    assert_near(live.now_s, rig.length_s, 0.01, 0.0);
    sh_segmenter_close(&segmenter);
    rig_close(&rig);
}

/* One stream, cut in two at many places. */
static void test_every_cut_in_two(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 1, 100.0, 0.2);
    const struct sh_segmenter_config config = rig_get_config(0.0);
    const struct rig_result whole =
        rig_run(&rig, &config, &(struct rig_cut){.block_frames = {0}});
    assert_int_equal(whole.n_shots, 1);
    const size_t n = rig.stream[0].n_frames;
    for (size_t first = 1; first < n; first += 3) {
        struct rig_result result;
        struct sh_segmenter *segmenter = rig_open_segmenter(&rig, &config, &result);
        const struct sh_block blocks[] = {
            {.n_frames = first, .n_channels = 1, .raw = rig.stream[0].raw},
            {.first_frame = first,
             .n_frames = n - first,
             .n_channels = 1,
             .raw = rig.stream[0].raw + first}};
        assert_int_equal(sh_segmenter_push_block(segmenter, &blocks[0], NULL), SH_OK);
        assert_int_equal(sh_segmenter_push_block(segmenter, &blocks[1], NULL), SH_OK);
        assert_int_equal(sh_segmenter_flush(segmenter, NULL), SH_OK);
        assert_true(result.digest == whole.digest);
        sh_segmenter_close(&segmenter);
    }
    rig_close(&rig);
}

static void test_reset_is_fresh_and_flush_adds_nothing(void **state)
{
    struct rig rig;
    struct rig_result result;
    rig_open(&rig, rig_some_draws, 3, 250.0, 0.2);
    rig_add_anchors(&rig, 0, 1e-5);
    const struct sh_segmenter_config config = rig_get_config(178.0);
    const struct rig_cut cut = {.block_frames = {64}};
    struct sh_segmenter *segmenter = rig_open_segmenter(&rig, &config, &result);
    rig_push(&rig, &cut, segmenter);
    assert_int_equal(sh_segmenter_flush(segmenter, NULL), SH_OK);
    const struct rig_result once = result;
    assert_int_equal(once.n_shots, 3);
    assert_int_equal(sh_segmenter_flush(segmenter, NULL), SH_OK);
    assert_int_equal(result.n_shots, 3);
    const struct sh_block block = {.n_frames = 1, .n_channels = 1, .raw = rig.stream[0].raw};
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_ERR_ARGUMENT);
    sh_segmenter_reset(segmenter);
    (void)rig_sink(&result);
    rig_push(&rig, &cut, segmenter);
    assert_int_equal(sh_segmenter_flush(segmenter, NULL), SH_OK);
    assert_true(result.digest == once.digest);
    sh_segmenter_close(&segmenter);
    sh_segmenter_close(&segmenter);
    sh_segmenter_close(NULL);
    rig_close(&rig);
}

/* A shift of the clock moves times only; a gain scales forces only. */
static void test_shift_and_gain(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 2, 500.0, 0.2);
    const struct sh_segmenter_config config = rig_get_config(178.0);
    const struct rig_cut cut = {.block_frames = {100}};
    const struct rig_result plain = rig_run(&rig, &config, &cut);
    rig.stream[0].described.offset_s = 1024.0;
    const struct rig_result shifted = rig_run(&rig, &config, &cut);
    rig.stream[0].described.offset_s = 0.0;
    rig.stream[0].described.channel[0].scale *= 1.25;
    const struct sh_segmenter_config heavier = rig_get_config(1.25 * 178.0);
    const struct rig_result scaled = rig_run(&rig, &heavier, &cut);
    assert_int_equal(plain.n_shots, 2);
    for (size_t k = 0; k < 2; k++) {
        for (int e = 0; e < SH_EVENT_COUNT; e++) {
            const struct sh_quantity *at = &plain.shot[k].event_s[e];
            assert_int_equal(shifted.shot[k].event_s[e].why, at->why);
            assert_int_equal(scaled.shot[k].event_s[e].why, at->why);
            if (sh_quantity_is_known(at)) {
                assert_near(shifted.shot[k].event_s[e].value - 1024.0, at->value, 1e-9, 0.0);
                assert_near(scaled.shot[k].event_s[e].value, at->value, 1e-5, 0.0);
            }
        }
        assert_near(scaled.shot[k].rest_noise_n, 1.25 * plain.shot[k].rest_noise_n, 0.0, 0.01);
    }
    assert_near(scaled.shot[0].drop_n.value, 1.25 * plain.shot[0].drop_n.value, 0.0, 1e-4);
    rig_close(&rig);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cuts_do_not_matter),
        cmocka_unit_test(test_cuts_do_not_matter_without_a_force),
        cmocka_unit_test(test_every_cut_in_two),
        cmocka_unit_test(test_reset_is_fresh_and_flush_adds_nothing),
        cmocka_unit_test(test_shift_and_gain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
