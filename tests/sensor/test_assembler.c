/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/assembler.h"

#include <string.h>

#include "sensor/assembled.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/scarce_heap.h"

static void test_undisturbed(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assembled_run(&rig, &(struct assembled_play){.second_quiet_s = 1e9, .length_s = 60.0});
    const struct assembled_track *first = &rig.kept->tracks[0];
    const struct assembled_track *second = &rig.kept->tracks[1];
    assert_in_range(first->n_frames, 59970, 60000);
    assert_in_range(second->n_frames, 4938, 4944);
    assert_int_equal(first->n_filled + second->n_filled, 0);
    for (uint64_t i = 0; i < first->n_frames; i++) {
        assert_near(first->first_channel[i], (double)(i % 1000), 0.0, 0.0);
    }
    assembled_check_anchors(first, 1000.0);
    assembled_check_anchors(second, ASSEMBLED_SECOND_HZ);
    double forward_s = assembled_get_largest_error_s(first, 1000.0, SH_TIMEBASE_FORWARD);
    double between_s = assembled_get_largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN);
    double second_s =
        assembled_get_largest_error_s(second, ASSEMBLED_SECOND_HZ, SH_TIMEBASE_BETWEEN);
    print_message("largest error: forward %.6f, between %.6f, second stream %.6f s\n",
                  forward_s, between_s, second_s);
    /* until the rate is known at 9 s, 150 ppm make 1.35 ms */
    assert_true(forward_s < 0.0025);
    assert_true(between_s < 0.001);
    assert_true(second_s < 0.002);
    struct sh_frame_counts counts = sh_assembler_get_counts(rig.assembler, 0);
    assert_int_equal(counts.good, first->n_frames);
    assert_int_equal(counts.repeated + counts.late + counts.lost + counts.damaged, 0);
    assert_near(sh_assembler_get_rate_hz(rig.assembler, 1), ASSEMBLED_SECOND_HZ * 1.00015, 0.0,
                1e-5);
    assembled_close(&rig);
}

/* The first second is held back; the anchor of frame 0 rests on all of it. */
static void test_nothing_leaves_before_a_second(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    double late_us = 14000.0;
    for (int i = 0; i < 1000; i++) {
        late_us = i < 500 ? 14000.0 : 0.0;
        assembled_arrive(&rig, (int64_t)(ASSEMBLED_START_US + 1000.0 * i + late_us));
        assert_int_equal(assembled_push(&rig, 0, 1000.0 * i, i), SH_OK);
        assert_int_equal(sh_assembler_advance(rig.assembler, NULL), SH_OK);
        assert_int_equal(rig.kept->n_blocks, 0);
    }
    assembled_advance(&rig, ASSEMBLED_START_US + 1014000.0);
    assert_int_equal(rig.kept->tracks[0].n_frames, 1000);
    assert_near(rig.kept->tracks[0].timebase.anchors[0].time_s, 0.0, 1e-5, 0.0);
    assembled_close(&rig);
}

/* Bytes of a file come all at once: the device's own clock gives the times. */
static void test_replay(void **state)
{
    struct assembled rig = assembled_make(true);
    assembled_open(&rig);
    for (int i = 0; i < 30000; i++) {
        if (i / 100 % 50 == 7) {
            continue;
        }
        assert_int_equal(assembled_push(&rig, 0, 4290000000.0 + 1000.0 * i, i % 1000), SH_OK);
        assert_int_equal(assembled_push(&rig, 0, 4290000000.0 + 1000.0 * i, 0), SH_OK);
    }
    assert_int_equal(assembled_push(&rig, 0, 5000.0, 1), SH_OK); /* begins anew */
    assert_int_equal(assembled_push(&rig, 0, 6000.0, 2), SH_OK);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    const struct assembled_track *first = &rig.kept->tracks[0];
    assert_int_equal(first->n_frames, 30002);
    assert_int_equal(first->n_filled, 600);
    assert_int_equal(sh_assembler_get_counts(rig.assembler, 0).repeated, 29400);
    assert_int_equal(sh_assembler_get_restarts(rig.assembler), 1);
    assert_near(assembled_get_largest_error_s(first, 1000.0, SH_TIMEBASE_FORWARD), 0.0, 2e-3,
                0.0);
    assembled_close(&rig);
}

/* Fewer frames than a second of them leave with the flush. */
static void test_a_short_session(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_advance(rig.assembler, NULL), SH_OK);
    assert_int_equal(rig.kept->n_blocks, 0);
    assembled_arrive(&rig, (int64_t)ASSEMBLED_START_US + 5000);
    assert_int_equal(assembled_push(&rig, 0, 17.0, 4), SH_OK);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(rig.kept->tracks[0].n_frames, 1);
    assert_int_equal(rig.kept->tracks[1].n_frames, 0);
    assert_near(rig.kept->tracks[0].timebase.anchors[0].time_s, 0.005, 1e-9, 0.0);
    assembled_close(&rig);
}

/* Advancing after each frame or never gives the same frames and anchors. */
static void test_advance_does_not_change_frames(void **state)
{
    struct assembled often = assembled_make(false);
    struct assembled rarely = assembled_make(false);
    assembled_open(&often);
    assembled_open(&rarely);
    struct sh_random random;
    sh_random_init(&random, 3);
    for (int i = 0; i < 25000; i++) {
        if (sh_random_get_uniform(&random) < 0.05) {
            continue;
        }
        double host_us =
            ASSEMBLED_START_US + 1000.0 * i + 9000.0 * sh_random_get_uniform(&random);
        assembled_arrive(&often, (int64_t)host_us);
        assembled_arrive(&rarely, (int64_t)host_us);
        assert_int_equal(assembled_push(&often, 0, 1000.0 * i, i), SH_OK);
        assert_int_equal(assembled_push(&rarely, 0, 1000.0 * i, i), SH_OK);
        assert_int_equal(sh_assembler_advance(often.assembler, NULL), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(often.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_flush(rarely.assembler, NULL), SH_OK);
    const struct assembled_track *a = &often.kept->tracks[0];
    const struct assembled_track *b = &rarely.kept->tracks[0];
    assert_int_equal(a->n_frames, b->n_frames);
    assert_true(a->n_filled > 1000);
    assert_memory_equal(a->first_channel, b->first_channel, sizeof a->first_channel);
    assert_memory_equal(a->is_filled, b->is_filled, sizeof a->is_filled);
    assert_int_equal(a->timebase.n_anchors, b->timebase.n_anchors);
    for (size_t i = 0; i < a->timebase.n_anchors; i++) {
        assert_memory_equal(&a->timebase.anchors[i], &b->timebase.anchors[i],
                            sizeof a->timebase.anchors[i]);
    }
    assembled_close(&often);
    assembled_close(&rarely);
}

/* The sink's status and words come back from whichever call hands on. */
static void check_refusal(size_t fail_block, size_t fail_anchor, enum sh_status expected)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    rig.kept->fail_block = fail_block;
    rig.kept->fail_anchor = fail_anchor;
    struct sh_error err = {0};
    enum sh_status status = SH_OK;
    for (int i = 0; i < 9000 && status == SH_OK; i++) {
        assembled_arrive(&rig, (int64_t)(ASSEMBLED_START_US + 1000.0 * i));
        struct sh_frame frame = {.device_time_us = 1000u * (uint32_t)i, .n_channels = 1};
        status = i % 700 < 5 ? SH_OK : sh_assembler_push(rig.assembler, &frame, &err);
        if (status == SH_OK && i % 20 == 0) {
            status = sh_assembler_advance(rig.assembler, &err);
        }
    }
    if (status == SH_OK) {
        status = sh_assembler_flush(rig.assembler, &err);
    }
    assert_int_equal(status, expected);
    assert_int_equal(err.status, expected);
    assembled_close(&rig);
}

static void test_the_sinks_status_comes_back(void **state)
{
    for (size_t i = 1; i < 60; i++) {
        check_refusal(i, 0, SH_ERR_FULL);
    }
    check_refusal(0, 1, SH_ERR_IO);
    check_refusal(0, 2, SH_ERR_IO);
    check_refusal(0, 0, SH_OK);
}

static void test_limits_of_open(void **state)
{
    struct assembled rig = assembled_make(false);
    rig.config.streams = rig.streams;
    struct sh_error err = {0};
    rig.config.n_streams = 0;
    assert_int_equal(sh_assembler_open(&rig.config, &rig.assembler, &err), SH_ERR_ARGUMENT);
    assert_non_null(strstr(err.todo, "1 to 8"));
    rig.config.n_streams = SH_STREAMS_MAX + 1;
    assert_int_equal(sh_assembler_open(&rig.config, &rig.assembler, NULL), SH_ERR_ARGUMENT);
    rig.config.n_streams = 2;
    rig.streams[1].n_channels = SH_STREAM_CHANNELS_MAX + 1;
    assert_int_equal(sh_assembler_open(&rig.config, &rig.assembler, NULL), SH_ERR_ARGUMENT);
    rig.streams[1].n_channels = 0;
    assert_int_equal(sh_assembler_open(&rig.config, &rig.assembler, NULL), SH_ERR_ARGUMENT);
    rig.streams[1].n_channels = 2;
    rig.streams[1].rate_hz = 0.5;
    assert_int_equal(sh_assembler_open(&rig.config, &rig.assembler, NULL), SH_ERR_ARGUMENT);
    rig.streams[1].rate_hz = 80.0;
    rig.config.clock.latency_s = -1.0;
    assert_int_equal(sh_assembler_open(&rig.config, &rig.assembler, NULL), SH_ERR_ARGUMENT);
    rig.config.clock.latency_s = 0.0;
    assert_null(rig.assembler);
    assembled_open(&rig);
    assembled_close(&rig);
}

static void test_each_allocation_fails(void **state)
{
    struct assembled rig = assembled_make(false);
    rig.config.streams = rig.streams;
    size_t n_failed = 0;
    enum sh_status status = SH_ERR_MEMORY;
    for (; status != SH_OK; n_failed++) {
        scarce_heap_begin(n_failed);
        status = sh_assembler_open(&rig.config, &rig.assembler, NULL);
        (void)scarce_heap_end();
        assert_true(status == SH_OK || status == SH_ERR_MEMORY);
        assert_int_equal(status == SH_OK, rig.assembler != NULL);
    }
    assert_int_equal(n_failed, 3);
    assembled_close(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_undisturbed),
        cmocka_unit_test(test_nothing_leaves_before_a_second),
        cmocka_unit_test(test_replay),
        cmocka_unit_test(test_a_short_session),
        cmocka_unit_test(test_advance_does_not_change_frames),
        cmocka_unit_test(test_the_sinks_status_comes_back),
        cmocka_unit_test(test_limits_of_open),
        cmocka_unit_test(test_each_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
