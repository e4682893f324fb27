/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames that an assembler misses, or gets where they do not belong. */
#include <math.h>

#include "sensor/assembled.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A hole shorter than a stall: as many filled frames as were lost, at their place. */
static void test_lost_frames_are_filled(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assembled_run(&rig, &(struct assembled_play){.quiet_from = 5000,
                                                 .quiet_to = 5418,
                                                 .second_quiet_s = 1e9,
                                                 .length_s = 20.0});
    const struct assembled_track *first = &rig.kept->tracks[0];
    for (uint64_t i = 0; i < first->n_frames; i++) {
        bool is_lost = i >= 5000 && i < 5418;
        assert_int_equal(first->is_filled[i], is_lost);
        double expected = is_lost ? 999.0 : (double)(i % 1000);
        assert_near(first->first_channel[i], expected, 0.0, 0.0);
    }
    assert_int_equal(sh_assembler_get_counts(rig.assembler, 0).lost, 418);
    assert_int_equal(sh_assembler_get_counts(rig.assembler, 1).lost, 0);
    assert_true(assembled_get_largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN) < 0.001);
    assembled_close(&rig);
}

/* Streams that stall keep moving a second behind the host, and go on in step. */
static void test_stalled_streams_move_on(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assembled_run(&rig, &(struct assembled_play){.quiet_from = 12000,
                                                 .quiet_to = 33500,
                                                 .second_quiet_s = 15.0,
                                                 .length_s = 40.0});
    const struct assembled_track *first = &rig.kept->tracks[0];
    const struct assembled_track *second = &rig.kept->tracks[1];
    for (uint64_t i = 0; i < first->n_frames; i++) {
        bool is_lost = i >= 12000 && i < 33500;
        assert_int_equal(first->is_filled[i], is_lost);
    }
    assembled_check_anchors(first, 1000.0);
    assembled_check_anchors(second, ASSEMBLED_SECOND_HZ);
    assert_true(assembled_get_largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN) < 0.002);
    assert_true(assembled_get_largest_error_s(second, ASSEMBLED_SECOND_HZ,
                                              SH_TIMEBASE_BETWEEN) < 0.003);
    double second_end_s = (double)second->n_frames / ASSEMBLED_SECOND_HZ;
    assert_near(second_end_s, 39.0, 0.05, 0.0);
    assert_int_equal(second->n_filled, sh_assembler_get_counts(rig.assembler, 1).lost);
    assembled_close(&rig);
}

/* A stream that never speaks is filled with its zero from the start. */
static void test_a_silent_stream(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assembled_run(&rig, &(struct assembled_play){.second_quiet_s = 0.0, .length_s = 12.0});
    const struct assembled_track *second = &rig.kept->tracks[1];
    assert_near((double)second->n_frames, 11.0 * 80.0, 3.0, 0.0);
    assert_int_equal(second->n_filled, second->n_frames);
    assert_near(second->first_channel[0], -5.0, 0.0, 0.0);
    assert_near(second->first_channel[second->n_frames - 1], -5.0, 0.0, 0.0);
    assert_near(second->timebase.anchors[0].time_s, 0.0, 0.005, 0.0);
    assembled_close(&rig);
}

static void test_late_repeated_and_strange_frames(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assembled_advance(&rig, ASSEMBLED_START_US);
    for (int i = 0; i < 3000; i++) {
        assembled_arrive(&rig, (int64_t)(ASSEMBLED_START_US + 1000.0 * i));
        assert_int_equal(assembled_push(&rig, 0, 1000.0 * i, i), SH_OK);
    }
    assert_int_equal(assembled_push(&rig, 0, 2999000.0, 1), SH_OK); /* repeated */
    assert_int_equal(assembled_push(&rig, 0, 2995000.0, 1), SH_OK); /* repeated */
    assert_int_equal(assembled_push(&rig, 0, 2995500.0, 1), SH_OK); /* late */
    struct sh_frame strange = {.stream = 2, .n_channels = 1};
    assert_int_equal(sh_assembler_push(rig.assembler, &strange, NULL), SH_OK);
    strange = (struct sh_frame){.stream = 0, .n_channels = 2};
    assert_int_equal(sh_assembler_push(rig.assembler, &strange, NULL), SH_OK);
    assert_int_equal(sh_assembler_get_strange(rig.assembler), 2);

    /* nothing for 5 s: filled to one second ago; then frames that were only late come */
    assembled_advance(&rig, ASSEMBLED_START_US + 7.99e6);
    assert_int_equal(rig.kept->tracks[0].n_frames, 3000);
    assembled_advance(&rig, ASSEMBLED_START_US + 8e6);
    assert_in_range(rig.kept->tracks[0].n_frames, 6999, 7001);
    assert_int_equal(assembled_push(&rig, 0, 3000000.0, 7), SH_OK);
    assert_int_equal(assembled_push(&rig, 0, 7500000.0, 8), SH_OK);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    struct sh_frame_counts counts = sh_assembler_get_counts(rig.assembler, 0);
    assert_int_equal(rig.kept->tracks[0].n_frames, 7501);
    assert_int_equal(counts.good, 3001);
    assert_int_equal(counts.repeated, 2);
    assert_int_equal(counts.late, 2);
    assert_int_equal(counts.lost, 4500);
    assert_near(rig.kept->tracks[0].first_channel[7500], 8.0, 0.0, 0.0);
    assert_near(rig.kept->tracks[0].first_channel[7499], 2999.0, 0.0, 0.0);
    assembled_close(&rig);
}

/*
 * All of the first second waited 20 s: times that were taken from it were 20 s too late, and
 * those that follow are right. Anchors go up all the same (the timebase refuses others).
 */
static void test_times_do_not_go_back(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    for (int i = 0; i < 60000; i++) {
        double host_us = i < 1200 ? 20e6 + 1000.0 * i : fmax(21.2e6, 1000.0 * i);
        assembled_arrive(&rig, (int64_t)(ASSEMBLED_START_US + host_us));
        assert_int_equal(assembled_push(&rig, 0, 1000.0 * i, i), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    const struct sh_timebase *timebase = &rig.kept->tracks[0].timebase;
    assert_near(timebase->anchors[0].time_s, 20.0, 1e-3, 0.0);
    for (int frame = 25000; frame < 60000; frame += 500) {
        double time_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, frame, NULL);
        assert_near(time_s, 1e-3 * frame, 1e-3, 0.0);
    }
    assert_int_equal(sh_assembler_get_restarts(rig.assembler), 0);
    assembled_close(&rig);
}

/* A device that begins anew leaves a hole as long as the host saw it. */
static void test_a_restart(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    for (int i = 0; i < 40000; i++) {
        double counter_us = i < 20000 ? 3e9 + 1000.0 * i : 1000.0 * (i - 25000);
        if (i >= 20000 && i < 25000) {
            continue;
        }
        assembled_arrive(&rig, (int64_t)(ASSEMBLED_START_US + 1000.0 * i));
        assert_int_equal(assembled_push(&rig, 0, counter_us, i), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_get_restarts(rig.assembler), 1);
    const struct assembled_track *first = &rig.kept->tracks[0];
    assert_in_range(first->n_frames, 39999, 40001);
    assert_in_range(first->n_filled, 4999, 5001);
    assert_near(first->first_channel[first->n_frames - 1], 39999.0, 0.0, 0.0);
    assert_true(assembled_get_largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN) < 0.002);
    assembled_close(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lost_frames_are_filled),
        cmocka_unit_test(test_stalled_streams_move_on),
        cmocka_unit_test(test_a_silent_stream),
        cmocka_unit_test(test_late_repeated_and_strange_frames),
        cmocka_unit_test(test_times_do_not_go_back),
        cmocka_unit_test(test_a_restart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
