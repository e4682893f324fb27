/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/segmenter.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rig.h"
#include "sim/archer.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void check_event(const struct sh_shot *shot, enum sh_event event, double truth_s)
{
    const struct sh_quantity *time_s = &shot->event_s[event];
    assert_true(sh_quantity_is_known(time_s));
    assert_near(time_s->value, truth_s, 0.001 + 4.0 * time_s->u, 0.0);
}

static void check_against_truth(const struct rig *rig, const struct rig_result *result)
{
    assert_int_equal(result->n_shots, rig->n_draws);
    for (size_t k = 0; k < rig->n_draws; k++) {
        const struct sh_shot *shot = &result->shot[k];
        const struct rig_draw *draw = &rig->draw[k];
        assert_int_equal(shot->n, k + 1);
        assert_int_equal(shot->kind, draw->is_let_down ? SH_SHOT_LET_DOWN : SH_SHOT_SHOT);
        check_event(shot, SH_EVENT_DRAW_START, draw->draw_start_s);
        check_event(shot, SH_EVENT_FULL_DRAW, draw->full_draw_s);
        if (!draw->is_let_down) {
            check_event(shot, SH_EVENT_RELEASE, draw->release_s);
        }
        assert_near(shot->rest_n.value, 0.0, 0.2, 0.0);
        const struct sh_quantity *end_s = &shot->event_s[SH_EVENT_END];
        assert_true(sh_quantity_is_known(end_s));
        assert_false(shot->has_gap);
        assert_false(shot->is_clipped);
        assert_false(shot->has_dead_channel);
        assert_false(shot->is_noisy);
    }
}

static void test_finds_all_draws(void **state)
{
    static const double rates_hz[] = {80.0, 500.0, 1000.0, 3200.0};
    static const double weights_n[] = {0.0, 178.0};
    for (size_t r = 0; r < 4; r++) {
        struct rig rig;
        rig_open(&rig, rig_some_draws, 4, rates_hz[r], 0.2);
        for (size_t w = 0; w < 2; w++) {
            const struct sh_segmenter_config config = rig_get_config(weights_n[w]);
            const struct rig_result result =
                rig_run(&rig, &config, &(struct rig_cut){.block_frames = {100}});
            check_against_truth(&rig, &result);
        }
        rig_close(&rig);
    }
}

/* A release that takes 80 ms. */
static void stretch_release(struct rig *rig)
{
    struct rig_stream *force = &rig->stream[0];
    for (size_t i = 0; i < force->n_frames; i++) {
        const double after_s = (double)i / 1000.0 - rig->draw[0].release_s;
        if (after_s > -0.001) {
            force->raw[i] = 812.0 + fmax(0.0, 178.0 * (1.0 - after_s / 0.1)) / 0.0125;
        }
    }
}

/* With a bow that feels the shock it is a shot, with one that does not a let-down, without one
 * unresolved. */
static void test_the_shock_decides(void **state)
{
    static const enum sh_shot_kind kinds[] = {SH_SHOT_UNRESOLVED, SH_SHOT_LET_DOWN,
                                              SH_SHOT_SHOT};
    const struct sh_segmenter_config config = rig_get_config(178.0);
    for (int with = 0; with < 3; with++) {
        struct rig rig;
        rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
        stretch_release(&rig);
        rig.draw[0].is_let_down = with == 1; /* the bow of the rig feels no shock then */
        if (with > 0) {
            rig_add_bow(&rig, 1600.0);
        }
        const struct rig_result result =
            rig_run(&rig, &config, &(struct rig_cut){.block_frames = {100, 160}});
        assert_int_equal(result.n_shots, 1);
        assert_int_equal(result.shot[0].kind, kinds[with]);
        rig_close(&rig);
    }
}

static void
set_frames(struct rig *rig, double from_s, double until_s, bool is_filled, double raw)
{
    struct rig_stream *stream = &rig->stream[0];
    for (size_t i = (size_t)(from_s * stream->described.rate_hz);
         i < (size_t)(until_s * stream->described.rate_hz); i++) {
        stream->is_filled[i] = is_filled;
        stream->raw[i] = raw;
    }
}

/* A gap over the release leaves the draw unresolved; one in the hold only marks it. */
static void test_gaps(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    const double release_s = rig.draw[0].release_s;
    const size_t last = (size_t)((release_s - 0.02) * 1000.0);
    set_frames(&rig, release_s - 0.02, release_s + 0.03, true, rig.stream[0].raw[last]);
    const struct sh_segmenter_config config = rig_get_config(178.0);
    const struct rig_cut cut = {.block_frames = {100}};
    struct rig_result result = rig_run(&rig, &config, &cut);
    assert_int_equal(result.n_shots, 1);
    assert_int_equal(result.shot[0].kind, SH_SHOT_UNRESOLVED);
    assert_int_equal(result.shot[0].event_s[SH_EVENT_RELEASE].why, SH_WHY_GAP);
    assert_true(result.shot[0].has_gap);
    rig_close(&rig);

    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    const double hold_s = rig.draw[0].full_draw_s + 0.5;
    const size_t held = (size_t)(hold_s * 1000.0);
    set_frames(&rig, hold_s, hold_s + 0.05, true, rig.stream[0].raw[held]);
    result = rig_run(&rig, &config, &cut);
    assert_int_equal(result.shot[0].kind, SH_SHOT_SHOT);
    assert_true(result.shot[0].has_gap);
    check_event(&result.shot[0], SH_EVENT_RELEASE, release_s);
    rig_close(&rig);
}

static void test_clipping_is_marked(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    rig.stream[0].described.channel[0].range_high = 812.0 + 170.0 / 0.0125;
    for (size_t i = 0; i < rig.stream[0].n_frames; i++) {
        rig.stream[0].raw[i] =
            fmin(rig.stream[0].raw[i], rig.stream[0].described.channel[0].range_high);
    }
    const struct sh_segmenter_config config = rig_get_config(178.0);
    const struct rig_result result =
        rig_run(&rig, &config, &(struct rig_cut){.block_frames = {100}});
    assert_int_equal(result.n_shots, 1);
    assert_true(result.shot[0].is_clipped);
    rig_close(&rig);
}

/* The recording ends in the hold: the draw counts, its end was not seen. */
static void test_ends_in_the_hold(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    rig.stream[0].n_frames = (size_t)((rig.draw[0].release_s - 0.5) * 1000.0);
    const struct sh_segmenter_config config = rig_get_config(178.0);
    const struct rig_result result =
        rig_run(&rig, &config, &(struct rig_cut){.block_frames = {100}});
    assert_int_equal(result.n_shots, 1);
    assert_int_equal(result.shot[0].kind, SH_SHOT_UNRESOLVED);
    check_event(&result.shot[0], SH_EVENT_FULL_DRAW, rig.draw[0].full_draw_s);
    assert_int_equal(result.shot[0].event_s[SH_EVENT_RELEASE].why, SH_WHY_NOT_SEEN);
    assert_int_equal(result.shot[0].event_s[SH_EVENT_END].why, SH_WHY_NOT_SEEN);
    rig_close(&rig);
}

/* The median draw stands in for an unknown weight: a preload of 20 % no longer counts. */
static void test_median_draw_sets_the_threshold(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    for (size_t i = 0; i < rig.stream[0].n_frames; i++) {
        const double force_n = (rig.stream[0].raw[i] - 812.0) * 0.0125;
        rig.stream[0].raw[i] = 812.0 + fmin(force_n, 40.0) / 0.0125; /* drawn to 40 N only */
    }
    struct sh_segmenter_config config = rig_get_config(0.0);
    const struct rig_cut cut = {.block_frames = {100}};
    assert_int_equal(rig_run(&rig, &config, &cut).n_shots, 1);
    config.median_draw_n = 178.0;
    assert_int_equal(rig_run(&rig, &config, &cut).n_shots, 0);
    rig_close(&rig);
}

/* Finger forces in place of the string's: their sum, and each with its own rest level. */
static void test_finger_sum(void **state)
{
    struct rig rig;
    rig_open(&rig, rig_some_draws, 1, 500.0, 0.2);
    struct rig_stream *stream = &rig.stream[0];
    const double *string = stream->raw;
    double *fingers = calloc(3 * stream->n_frames, sizeof *fingers);
    assert_non_null(fingers);
    for (size_t i = 0; i < stream->n_frames; i++) {
        const double force_n = (string[i] - 812.0) * 0.0125;
        fingers[3 * i] = 0.4 * force_n + 1.0;
        fingers[3 * i + 1] = 0.4 * force_n + 2.0;
        fingers[3 * i + 2] = 0.2 * force_n + 3.0;
    }
    free(stream->raw);
    stream->raw = fingers;
    stream->described.n_channels = 3;
    for (size_t c = 0; c < 3; c++) {
        stream->described.channel[c] =
            (struct sh_channel){.role = SH_ROLE_FINGER_FORCE,
                                .finger = (enum sh_finger)((int)SH_FINGER_INDEX + (int)c),
                                .is_physical = true,
                                .delay_s = 0.0005};
    }
    const struct sh_segmenter_config config = rig_get_config(178.0);
    const struct rig_result result =
        rig_run(&rig, &config, &(struct rig_cut){.block_frames = {100}});
    assert_int_equal(result.n_shots, 1);
    assert_int_equal(result.shot[0].kind, SH_SHOT_SHOT);
    assert_near(result.shot[0].rest_n.value, 6.0, 0.2, 0.0);
    check_event(&result.shot[0], SH_EVENT_RELEASE, rig.draw[0].release_s);
    rig_close(&rig);
}

static void test_state_for_the_live_line(void **state)
{
    struct rig rig;
    struct rig_result result;
    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    const struct sh_segmenter_config config = rig_get_config(178.0);
    struct sh_segmenter *segmenter = rig_open_segmenter(&rig, &config, &result);
    struct sh_segmenter_state live;
    sh_segmenter_get_state(segmenter, &live);
    assert_int_equal(live.phase, SH_SEGMENTER_REST);
    const size_t until = (size_t)((rig.draw[0].release_s - 0.1) * 1000.0);
    struct sh_block block = {.n_frames = until, .n_channels = 1, .raw = rig.stream[0].raw};
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_OK);
    sh_segmenter_get_state(segmenter, &live);
    assert_int_equal(live.phase, SH_SEGMENTER_HOLD);
    assert_near(live.since_s, rig.draw[0].full_draw_s, 0.4, 0.0);
    assert_near(live.now_s, rig.draw[0].release_s - 0.1, 0.002, 0.0);
    assert_near(live.force_n, 178.0, 5.0, 0.0);
    assert_int_equal(live.n_shots, 0);
    block.first_frame = until;
    block.raw += until;
    block.n_frames = 600;
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_OK);
    sh_segmenter_get_state(segmenter, &live);
    assert_int_equal(live.phase, SH_SEGMENTER_REST);
    assert_int_equal(live.n_pending, 1);
    block.first_frame += 600;
    block.raw += 600;
    block.n_frames = 2300;
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_OK);
    sh_segmenter_get_state(segmenter, &live);
    assert_int_equal(live.n_shots, 1);
    assert_int_equal(live.n_pending, 0);
    assert_int_equal(result.n_shots, 1);
    sh_segmenter_close(&segmenter);
    rig_close(&rig);
}

/* A sink that says no stops the push, and its status comes back. */
static void test_sink_stops_the_push(void **state)
{
    struct rig rig;
    struct rig_result result;
    rig_open(&rig, rig_some_draws, 1, 1000.0, 0.2);
    const struct sh_segmenter_config config = rig_get_config(178.0);
    struct sh_segmenter *segmenter = rig_open_segmenter(&rig, &config, &result);
    result.answer = SH_ERR_IO;
    const struct sh_block block = {
        .n_frames = rig.stream[0].n_frames, .n_channels = 1, .raw = rig.stream[0].raw};
    struct sh_error err = {0};
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, &err), SH_ERR_IO);
    assert_int_equal(err.status, SH_ERR_IO);
    sh_segmenter_close(&segmenter);
    rig_close(&rig);
}

static void test_refuses(void **state)
{
    struct rig rig;
    struct rig_result result;
    rig_open(&rig, rig_some_draws, 1, 100.0, 0.2);
    struct sh_segmenter_config config = rig_get_config(178.0);
    const struct sh_shot_sink sink = rig_sink(&result);
    struct sh_segmenter *segmenter = NULL;
    assert_int_equal(sh_segmenter_open(&config, &sink, &segmenter, NULL), SH_ERR_ARGUMENT);
    config.n_streams = 1;
    config.stream[0] = &rig.stream[0].described;
    config.bow.draw_weight_n.value = 0.0;
    assert_int_equal(sh_segmenter_open(&config, &sink, &segmenter, NULL), SH_ERR_ARGUMENT);
    config.bow.draw_weight_n.value = 178.0;
    config.median_draw_n = -1.0;
    assert_int_equal(sh_segmenter_open(&config, &sink, &segmenter, NULL), SH_ERR_ARGUMENT);
    config.median_draw_n = 0.0;
    rig.stream[0].described.channel[0].role = SH_ROLE_SOUND;
    assert_int_equal(sh_segmenter_open(&config, &sink, &segmenter, NULL), SH_ERR_ARGUMENT);
    rig.stream[0].described.channel[0].role = SH_ROLE_STRING_FORCE;
    rig.stream[0].described.rate_hz = 5.0;
    assert_int_equal(sh_segmenter_open(&config, &sink, &segmenter, NULL), SH_ERR_ARGUMENT);
    rig.stream[0].described.rate_hz = 100.0;
    assert_null(segmenter);

    segmenter = rig_open_segmenter(&rig, &config, &result);
    double raw[4] = {812.0, 812.0, (double)NAN, 812.0};
    struct sh_block block = {.stream = 1, .n_frames = 4, .n_channels = 1, .raw = raw};
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_ERR_ARGUMENT);
    block.stream = 0;
    block.n_channels = 2;
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_ERR_ARGUMENT);
    block.n_channels = 1;
    block.first_frame = 70; /* the first block may begin anywhere */
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_ERR_NOT_FINITE);
    block.n_frames = 2;
    block.first_frame = 73;
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_ERR_ARGUMENT);
    block.first_frame = 72;
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_OK);
    struct sh_anchor anchor = {73, 1.0, 0.001};
    assert_int_equal(sh_segmenter_push_anchor(segmenter, 0, &anchor, NULL), SH_ERR_ARGUMENT);
    anchor.frame = 74;
    assert_int_equal(sh_segmenter_push_anchor(segmenter, 1, &anchor, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_segmenter_push_anchor(segmenter, 0, &anchor, NULL), SH_OK);
    assert_int_equal(sh_segmenter_push_anchor(segmenter, 0, &anchor, NULL), SH_ERR_ARGUMENT);
    sh_segmenter_close(&segmenter);
    config.reading = SH_TIMEBASE_BETWEEN;
    segmenter = rig_open_segmenter(&rig, &config, &result);
    block.first_frame = 0;
    assert_int_equal(sh_segmenter_push_block(segmenter, &block, NULL), SH_OK);
    assert_int_equal(sh_segmenter_push_anchor(segmenter, 0, &anchor, NULL), SH_ERR_ARGUMENT);
    sh_segmenter_close(&segmenter);
    rig_close(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_finds_all_draws),
        cmocka_unit_test(test_the_shock_decides),
        cmocka_unit_test(test_gaps),
        cmocka_unit_test(test_clipping_is_marked),
        cmocka_unit_test(test_ends_in_the_hold),
        cmocka_unit_test(test_median_draw_sets_the_threshold),
        cmocka_unit_test(test_finger_sum),
        cmocka_unit_test(test_state_for_the_live_line),
        cmocka_unit_test(test_sink_stops_the_push),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
