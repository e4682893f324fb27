/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "sensor/assembler.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Bytes that come late because something was held up: the listener, the device, a stream. */

#define START_US   7000000.0
#define FRAMES_MAX 20000u

/* What came of one stream. */
struct track {
    size_t n_frames;
    double first_channel[FRAMES_MAX];
};

struct rig {
    struct sh_stream streams[2];
    struct track tracks[2];
    struct sh_assembler *assembler;
};

static enum sh_status
keep_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct rig *rig = context;
    struct track *track = &rig->tracks[block->stream];
    assert_int_equal(block->first_frame, track->n_frames);
    assert_true(track->n_frames + block->n_frames <= FRAMES_MAX);
    for (size_t i = 0; i < block->n_frames; i++) {
        track->first_channel[track->n_frames++] = block->raw[i * block->n_channels];
    }
    return SH_OK;
}

static enum sh_status
keep_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    const struct rig *rig = context;
    assert_int_equal(anchor->frame, rig->tracks[stream].n_frames);
    return SH_OK;
}

static struct rig *open_rig(void)
{
    struct rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    rig->streams[0].rate_hz = 1000.0;
    rig->streams[0].n_channels = 1;
    rig->streams[1].rate_hz = 80.0;
    rig->streams[1].n_channels = 2;
    const struct sh_assembler_config config = {.streams = rig->streams,
                                               .n_streams = 2,
                                               .start_host_us = (int64_t)START_US,
                                               .clock = sh_device_clock_config_default(),
                                               .sink = {keep_block, keep_anchor, rig}};
    assert_int_equal(sh_assembler_open(&config, &rig->assembler, NULL), SH_OK);
    return rig;
}

static void close_rig(struct rig *rig)
{
    sh_assembler_close(&rig->assembler);
    free(rig);
}

static void push(struct rig *rig, size_t stream, double device_us, int32_t count)
{
    struct sh_frame frame = {.device_time_us = (uint32_t)(int64_t)device_us,
                             .n_channels = stream + 1,
                             .stream = stream};
    frame.counts[0] = count;
    assert_int_equal(sh_assembler_push(rig->assembler, &frame, NULL), SH_OK);
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

static void listen(struct rig *rig, struct listener *at, double host_us, bool does_listen)
{
    at->listened_us += does_listen ? host_us - at->host_us : 0.0;
    at->host_us = host_us;
    sh_assembler_arrive(rig->assembler, (int64_t)(START_US + host_us),
                        (int64_t)at->listened_us);
}

static void push_sampled(struct rig *rig, size_t stream, double *next_us, double until_us)
{
    double period_us = stream == 0 ? 1000.0 : 12500.0;
    while (*next_us < until_us) {
        push(rig, stream, *next_us, (int32_t)(int64_t)(*next_us / period_us));
        *next_us += period_us;
    }
}

/* What was held up comes in bits. */
static void push_backlog(struct rig *rig, double next_us[2], double until_us)
{
    while (next_us[0] < until_us) {
        push_sampled(rig, 0, &next_us[0], fmin(next_us[0] + 4000.0, until_us));
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
        push_sampled(rig, 1, &next_us[1], next_us[0] - BEHIND_US);
    }
}

static void play_hold_up(struct rig *rig, const struct hold_up *hold_up)
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
    struct rig *rig = open_rig();
    play_hold_up(rig, hold_up);
    for (size_t i = 0; i < 2; i++) {
        const struct track *track = &rig->tracks[i];
        const struct sh_frame_counts counts = sh_assembler_get_counts(rig->assembler, i);
        assert_int_equal(counts.lost + counts.late + counts.repeated, 0);
        assert_true((double)track->n_frames > 13.5 * rig->streams[i].rate_hz);
        for (size_t k = 0; k < track->n_frames; k++) {
            assert_near(track->first_channel[k], (double)k, 0.0, 0.0);
        }
    }
    close_rig(rig);
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
    struct rig *rig = open_rig();
    play_hold_up(rig, &(struct hold_up){.held_us = 6e6, .does_listen = true});
    const struct sh_frame_counts counts = sh_assembler_get_counts(rig->assembler, 0);
    assert_in_range(counts.lost, 4980, 5030); /* up to a second before the end of it */
    assert_int_equal(counts.late, counts.lost);
    assert_in_range(rig->tracks[0].n_frames, 13960, 14000);
    close_rig(rig);
}

/* Both streams are silent from 4 s on; how far the first has come by host_us. */
static size_t fall_silent(struct rig *rig, bool does_hang_up, double host_us)
{
    double next_us[2] = {0.0, 0.0};
    for (int i = 0; HELD_STEP_US * i <= host_us; i++) {
        double now_us = HELD_STEP_US * i;
        sh_assembler_arrive(rig->assembler, (int64_t)(START_US + now_us), (int64_t)now_us);
        push_sampled(rig, 0, &next_us[0], fmin(now_us, 4e6));
        push_sampled(rig, 1, &next_us[1], fmin(now_us, 4e6));
        if (does_hang_up && now_us >= 4e6) {
            sh_assembler_hang_up(rig->assembler);
        }
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
    }
    return rig->tracks[0].n_frames;
}

/* From a port that has ended nothing is on its way: its streams go on a second behind. */
static void test_a_port_that_has_ended(void **state)
{
    struct rig *rig = open_rig();
    assert_int_equal(fall_silent(rig, false, 6e6), 4000);
    close_rig(rig);
    rig = open_rig();
    assert_in_range(fall_silent(rig, true, 6e6), 4980, 5020);
    /* it is back: its frames go on, and its next silence may be their way again */
    sh_assembler_arrive(rig->assembler, (int64_t)(START_US + 6e6), 6000000);
    push(rig, 0, 5.9e6, 1);
    sh_assembler_arrive(rig->assembler, (int64_t)(START_US + 10e6), 10000000);
    assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
    assert_int_equal(rig->tracks[0].n_frames, 5901);
    close_rig(rig);
}

/* A stream that speaks is not filled, however late it is; one that does not beside it is. */
static void test_a_stream_that_speaks_late(void **state)
{
    struct rig *rig = open_rig();
    double next_us[2] = {0.0, 0.0};
    for (int i = 0; HELD_STEP_US * i < 20e6; i++) {
        double now_us = HELD_STEP_US * i;
        double late_us = fmin(0.3 * now_us, 4e6);
        sh_assembler_arrive(rig->assembler, (int64_t)(START_US + now_us), (int64_t)now_us);
        push_sampled(rig, 0, &next_us[0], now_us - late_us);
        push_sampled(rig, 1, &next_us[1], fmin(now_us - late_us, 5e6));
        assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
    }
    const struct sh_frame_counts first = sh_assembler_get_counts(rig->assembler, 0);
    const struct sh_frame_counts second = sh_assembler_get_counts(rig->assembler, 1);
    assert_int_equal(first.lost + first.late + first.repeated, 0);
    assert_in_range(first.good, 15970, 16000);
    assert_int_equal(second.good, 400);
    assert_in_range(second.lost, 1000, 1150); /* on to 18 to 19 s by the host */
    close_rig(rig);
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
