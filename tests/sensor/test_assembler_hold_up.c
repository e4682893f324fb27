/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "sensor/assembled.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Bytes that come late because something was held up: the listener, the device, a stream. */

static void push(struct assembled *rig, size_t stream, double device_us, int32_t count)
{
    assert_int_equal(assembled_push(rig, stream, device_us, count), SH_OK);
}

/*
 * Both streams at 1000 and 80 Hz, read every 20 ms, until frames stop coming at HELD_FROM_US
 * for held_us; after that what has been sampled meanwhile comes 4 frames of the first stream at
 * a time, with an advance after each. The second stream is always BEHIND_US behind the first.
 */
struct hold_up {
    double held_us;
    bool does_listen; /* meanwhile: the sensor was held up, not its listener */
};

#define HELD_FROM_US   6e6
#define HELD_STEP_US   20000.0
#define HELD_LENGTH_US 14e6
#define BEHIND_US      400000.0

struct listener {
    double host_us;
    double listened_us;
};

static void listen(struct assembled *rig, struct listener *at, double host_us, bool does_listen)
{
    at->listened_us += does_listen ? host_us - at->host_us : 0.0;
    at->host_us = host_us;
    sh_assembler_arrive(rig->assembler, (int64_t)(ASSEMBLED_START_US + host_us),
                        (int64_t)at->listened_us);
}

static void push_sampled(struct assembled *rig, size_t stream, double *next_us, double until_us)
{
    double period_us = stream == 0 ? 1000.0 : 12500.0;
    while (*next_us < until_us) {
        push(rig, stream, *next_us, (int32_t)(int64_t)(*next_us / period_us));
        *next_us += period_us;
    }
}

/* What was held up comes in bits. */
static void push_backlog(struct assembled *rig, double next_us[2], double until_us)
{
    while (next_us[0] < until_us) {
        push_sampled(rig, 0, &next_us[0], fmin(next_us[0] + 4000.0, until_us));
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
        push_sampled(rig, 1, &next_us[1], next_us[0] - BEHIND_US);
    }
}

static void play_hold_up(struct assembled *rig, const struct hold_up *hold_up)
{
    double next_us[2] = {0.0, 0.0};
    struct listener at = {0};
    for (int i = 0; HELD_STEP_US * i < HELD_LENGTH_US; i++) {
        double now_us = HELD_STEP_US * i;
        bool is_held = now_us >= HELD_FROM_US && now_us < HELD_FROM_US + hold_up->held_us;
        if (is_held && !hold_up->does_listen) {
            continue;
        }
        bool has_slept =
            !hold_up->does_listen && now_us - at.host_us > HELD_STEP_US + 0.5 * HELD_STEP_US;
        listen(rig, &at, now_us, !has_slept);
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK); /* nothing yet */
        if (!is_held) {
            push_backlog(rig, next_us, now_us);
        }
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(rig->assembler, NULL), SH_OK);
}

static void check_nothing_lost(const struct hold_up *hold_up)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    play_hold_up(&rig, hold_up);
    for (size_t i = 0; i < 2; i++) {
        const struct assembled_track *track = &rig.kept->tracks[i];
        const struct sh_frame_counts counts = sh_assembler_get_counts(rig.assembler, i);
        assert_int_equal(counts.lost + counts.late + counts.repeated, 0);
        assert_true((double)track->n_frames > 13.5 * rig.streams[i].rate_hz);
        for (size_t k = 0; k < track->n_frames; k++) {
            assert_near(track->first_channel[k], (double)k, 0.0, 0.0);
        }
    }
    assembled_close(&rig);
}

/* The host's clock has gone on and nobody listened: what waited is not taken for late. */
static void test_a_listener_that_was_held_up(void **state)
{
    check_nothing_lost(&(struct hold_up){.held_us = 3e6, .does_listen = false});
    check_nothing_lost(&(struct hold_up){.held_us = 7e6, .does_listen = false});
}

/* A silence of the whole device, heard from end to end, may be its bytes' way. */
static void test_a_device_that_was_held_up(void **state)
{
    check_nothing_lost(&(struct hold_up){.held_us = 1.2e6, .does_listen = true});
    check_nothing_lost(&(struct hold_up){.held_us = 4.9e6, .does_listen = true});
}

/* After 5 s of it the streams go on without the device, and what comes then is late. */
static void test_a_device_that_was_held_up_for_too_long(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    play_hold_up(&rig, &(struct hold_up){.held_us = 6e6, .does_listen = true});
    const struct sh_frame_counts counts = sh_assembler_get_counts(rig.assembler, 0);
    assert_in_range(counts.lost, 4980, 5030); /* up to a second before the end of it */
    assert_int_equal(counts.late, counts.lost);
    assert_in_range(rig.kept->tracks[0].n_frames, 13960, 14000);
    assembled_close(&rig);
}

/* Both streams are silent from 4 s on; how far the first has come by host_us. */
static size_t fall_silent(struct assembled *rig, bool does_hang_up, double host_us)
{
    double next_us[2] = {0.0, 0.0};
    for (int i = 0; HELD_STEP_US * i <= host_us; i++) {
        double now_us = HELD_STEP_US * i;
        sh_assembler_arrive(rig->assembler, (int64_t)(ASSEMBLED_START_US + now_us),
                            (int64_t)now_us);
        push_sampled(rig, 0, &next_us[0], fmin(now_us, 4e6));
        push_sampled(rig, 1, &next_us[1], fmin(now_us, 4e6));
        if (does_hang_up && now_us >= 4e6) {
            sh_assembler_hang_up(rig->assembler);
        }
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
    }
    return rig->kept->tracks[0].n_frames;
}

/* From a port that has ended nothing is on its way: its streams go on a second behind. */
static void test_a_port_that_has_ended(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    assert_int_equal(fall_silent(&rig, false, 6e6), 4000);
    assembled_close(&rig);
    rig = assembled_make(false);
    assembled_open(&rig);
    assert_in_range(fall_silent(&rig, true, 6e6), 4980, 5020);
    /* it is back: its frames go on, and its next silence may be their way again */
    sh_assembler_arrive(rig.assembler, (int64_t)(ASSEMBLED_START_US + 6e6), 6000000);
    push(&rig, 0, 5.9e6, 1);
    sh_assembler_arrive(rig.assembler, (int64_t)(ASSEMBLED_START_US + 10e6), 10000000);
    assert_int_equal(sh_assembler_advance(rig.assembler, NULL), SH_OK);
    assert_int_equal(rig.kept->tracks[0].n_frames, 5901);
    assembled_close(&rig);
}

/* A stream that speaks is not filled, however late it is; one that does not beside it is. */
static void test_a_stream_that_speaks_late(void **state)
{
    struct assembled rig = assembled_make(false);
    assembled_open(&rig);
    double next_us[2] = {0.0, 0.0};
    for (int i = 0; HELD_STEP_US * i < 20e6; i++) {
        double now_us = HELD_STEP_US * i;
        double late_us = fmin(0.3 * now_us, 4e6);
        sh_assembler_arrive(rig.assembler, (int64_t)(ASSEMBLED_START_US + now_us),
                            (int64_t)now_us);
        push_sampled(&rig, 0, &next_us[0], now_us - late_us);
        push_sampled(&rig, 1, &next_us[1], fmin(now_us - late_us, 5e6));
        assert_int_equal(sh_assembler_advance(rig.assembler, NULL), SH_OK);
    }
    const struct sh_frame_counts first = sh_assembler_get_counts(rig.assembler, 0);
    const struct sh_frame_counts second = sh_assembler_get_counts(rig.assembler, 1);
    assert_int_equal(first.lost + first.late + first.repeated, 0);
    assert_in_range(first.good, 15970, 16000);
    assert_int_equal(second.good, 400);
    assert_in_range(second.lost, 1000, 1150); /* on to 18 to 19 s by the host */
    assembled_close(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_listener_that_was_held_up),
        cmocka_unit_test(test_a_device_that_was_held_up),
        cmocka_unit_test(test_a_device_that_was_held_up_for_too_long),
        cmocka_unit_test(test_a_port_that_has_ended),
        cmocka_unit_test(test_a_stream_that_speaks_late),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
