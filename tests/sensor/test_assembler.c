/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/assembler.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sensor/timebase.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define FRAMES_MAX 70000u

/* The linker sends the stage's calls here (--wrap); the count-down is the test's own state. */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static size_t n_left = SIZE_MAX;

void *__real_malloc(size_t n_bytes);
void *__real_calloc(size_t n, size_t n_bytes);
void *__wrap_malloc(size_t n_bytes);
void *__wrap_calloc(size_t n, size_t n_bytes);

void *__wrap_malloc(size_t n_bytes)
{
    return n_left-- == 0 ? NULL : __real_malloc(n_bytes);
}

void *__wrap_calloc(size_t n, size_t n_bytes)
{
    return n_left-- == 0 ? NULL : __real_calloc(n, n_bytes);
}
/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

/* All that came of one stream. */
struct track {
    uint64_t n_frames;
    uint64_t n_filled;
    double first_channel[FRAMES_MAX];
    bool is_filled[FRAMES_MAX];
    struct sh_timebase timebase;
};

struct kept {
    struct track tracks[2];
    size_t fail_block;  /* refuse this block, counted from 1; 0: none */
    size_t fail_anchor; /* refuse this anchor */
    size_t n_blocks;
    size_t n_anchors;
};

static enum sh_status
keep_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct kept *kept = context;
    struct track *track = &kept->tracks[block->stream];
    if (++kept->n_blocks == kept->fail_block) {
        return sh_error_set(err, SH_ERR_FULL, NULL, NULL, "no more room");
    }
    assert_int_equal(block->first_frame, track->n_frames);
    assert_true(block->n_frames >= 1 && block->n_frames <= SH_ASSEMBLER_BLOCK_FRAMES);
    assert_true(track->timebase.n_anchors >= 1);
    for (size_t i = 0; i < block->n_frames; i++) {
        assert_true(track->n_frames < FRAMES_MAX);
        track->first_channel[track->n_frames] = block->raw[i * block->n_channels];
        track->is_filled[track->n_frames++] = block->is_filled;
    }
    track->n_filled += block->is_filled ? block->n_frames : 0;
    return SH_OK;
}

static enum sh_status
keep_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct kept *kept = context;
    struct track *track = &kept->tracks[stream];
    if (++kept->n_anchors == kept->fail_anchor) {
        return sh_error_set(err, SH_ERR_IO, NULL, NULL, "no anchor");
    }
    /* before the frame it counts for, behind all others */
    assert_int_equal(anchor->frame, track->n_frames);
    assert_int_equal(sh_timebase_append(&track->timebase, anchor), SH_OK);
    return SH_OK;
}

struct rig {
    struct sh_stream streams[2];
    struct kept *kept;
    struct sh_assembler_config config;
    struct sh_assembler *assembler;
};

static struct rig make_rig(bool is_replay)
{
    struct rig rig = {.kept = test_calloc(1, sizeof *rig.kept)};
    rig.streams[0].rate_hz = 1000.0;
    rig.streams[0].n_channels = 1;
    rig.streams[0].channel[0].zero = 811.7;
    rig.streams[1].rate_hz = 80.0;
    rig.streams[1].n_channels = 2;
    rig.streams[1].channel[0].zero = -5.0;
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(
            sh_timebase_init(&rig.kept->tracks[i].timebase, rig.streams[i].rate_hz, 0.0, 0.0),
            SH_OK);
    }
    rig.config = (struct sh_assembler_config){.n_streams = 2,
                                              .start_host_us = 7000000,
                                              .is_replay = is_replay,
                                              .clock = sh_device_clock_config_default(),
                                              .sink = {keep_block, keep_anchor, rig.kept}};
    return rig;
}

static void open_rig(struct rig *rig)
{
    rig->config.streams = rig->streams;
    assert_int_equal(sh_assembler_open(&rig->config, &rig->assembler, NULL), SH_OK);
}

static void close_rig(struct rig *rig)
{
    sh_assembler_close(&rig->assembler);
    for (size_t i = 0; i < 2; i++) {
        sh_timebase_close(&rig->kept->tracks[i].timebase);
    }
    test_free(rig->kept);
}

/* Somebody listens all the time. */
static void arrive(struct sh_assembler *assembler, int64_t host_us)
{
    sh_assembler_arrive(assembler, host_us, host_us - 1000);
}

static enum sh_status push(struct rig *rig, size_t stream, double device_us, int32_t count)
{
    struct sh_frame frame = {.device_time_us = (uint32_t)(int64_t)device_us,
                             .n_channels = stream + 1,
                             .stream = stream};
    frame.counts[0] = count;
    return sh_assembler_push(rig->assembler, &frame, NULL);
}

static void advance(struct rig *rig, double host_us)
{
    arrive(rig->assembler, (int64_t)host_us);
    assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
}

/*
 * A device with two streams, 1000 Hz and 80 Hz nominal, whose clock is 150 ppm slow and whose
 * second converter is 3 % fast; bytes are read every 16.0037 ms. Frame i of the first stream
 * carries i mod 1000 as its count, so that a frame's true time can be told from its number.
 */
struct play {
    uint64_t quiet_from; /* frames of the first stream that do not come */
    uint64_t quiet_to;
    double second_quiet_s; /* from then on the second stream says nothing */
    double length_s;
};

#define START_US        7000000.0
#define READ_US         16003.7
#define DEVICE_START_US 4294000000.0
#define DEVICE_RATIO    (1.0 / 1.00015)
#define SECOND_HZ       82.4

/* Pushes the frames of a stream that were sampled by now. */
static void push_until(
    struct rig *rig, const struct play *play, size_t stream, uint64_t *next, double now_us)
{
    double period_us = stream == 0 ? 1000.0 : 1e6 / SECOND_HZ;
    for (; period_us * (double)*next < now_us; (*next)++) {
        double true_us = period_us * (double)*next;
        bool is_quiet = stream == 0 ? *next >= play->quiet_from && *next < play->quiet_to
                                    : true_us >= 1e6 * play->second_quiet_s;
        if (!is_quiet) {
            double device_us = DEVICE_START_US + true_us * DEVICE_RATIO;
            assert_int_equal(push(rig, stream, device_us, (int32_t)(*next % 1000)), SH_OK);
        }
    }
}

static void play(struct rig *rig, const struct play *play)
{
    uint64_t next[2] = {0, 0};
    for (int i = 0; READ_US * i < 1e6 * play->length_s; i++) {
        double now_us = READ_US * i;
        arrive(rig->assembler, (int64_t)(START_US + now_us));
        push_until(rig, play, 0, &next[0], now_us);
        push_until(rig, play, 1, &next[1], now_us);
        advance(rig, START_US + now_us);
    }
    assert_int_equal(sh_assembler_flush(rig->assembler, NULL), SH_OK);
}

/* Largest error of a frame's time, from the first frame on. */
static double
largest_error_s(const struct track *track, double rate_hz, enum sh_timebase_reading reading)
{
    double largest_s = 0.0;
    for (uint64_t i = 0; i < track->n_frames; i++) {
        double time_s = sh_timebase_time(&track->timebase, reading, (double)i, NULL);
        largest_s = fmax(largest_s, fabs(time_s - (double)i / rate_hz));
    }
    return largest_s;
}

static void check_anchors(const struct track *track, double rate_hz)
{
    const struct sh_timebase *timebase = &track->timebase;
    assert_int_equal(timebase->anchors[0].frame, 0);
    for (size_t i = 0; i < timebase->n_anchors; i++) {
        uint64_t next =
            i + 1 < timebase->n_anchors ? timebase->anchors[i + 1].frame : track->n_frames;
        assert_true((double)(next - timebase->anchors[i].frame) / rate_hz <= 10.0);
        assert_true(timebase->anchors[i].u_s > 0.0 && timebase->anchors[i].u_s < 0.004);
    }
}

static void test_undisturbed(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    play(&rig, &(struct play){.second_quiet_s = 1e9, .length_s = 60.0});
    const struct track *first = &rig.kept->tracks[0];
    const struct track *second = &rig.kept->tracks[1];
    assert_in_range(first->n_frames, 59970, 60000);
    assert_in_range(second->n_frames, 4938, 4944);
    assert_int_equal(first->n_filled + second->n_filled, 0);
    for (uint64_t i = 0; i < first->n_frames; i++) {
        assert_near(first->first_channel[i], (double)(i % 1000), 0.0, 0.0);
    }
    check_anchors(first, 1000.0);
    check_anchors(second, SECOND_HZ);
    double forward_s = largest_error_s(first, 1000.0, SH_TIMEBASE_FORWARD);
    double between_s = largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN);
    double second_s = largest_error_s(second, SECOND_HZ, SH_TIMEBASE_BETWEEN);
    print_message("largest error: forward %.6f, between %.6f, second stream %.6f s\n",
                  forward_s, between_s, second_s);
    /* until the rate is known at 9 s, 150 ppm make 1.35 ms */
    assert_true(forward_s < 0.0025);
    assert_true(between_s < 0.001);
    assert_true(second_s < 0.002);
    struct sh_frame_counts counts = sh_assembler_get_counts(rig.assembler, 0);
    assert_int_equal(counts.good, first->n_frames);
    assert_int_equal(counts.repeated + counts.late + counts.lost + counts.damaged, 0);
    assert_near(sh_assembler_get_rate_hz(rig.assembler, 1), SECOND_HZ * 1.00015, 0.0, 1e-5);
    close_rig(&rig);
}

/* A hole shorter than a stall: as many filled frames as were lost, at their place. */
static void test_lost_frames_are_filled(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    play(&rig,
         &(struct play){
             .quiet_from = 5000, .quiet_to = 5418, .second_quiet_s = 1e9, .length_s = 20.0});
    const struct track *first = &rig.kept->tracks[0];
    for (uint64_t i = 0; i < first->n_frames; i++) {
        bool is_lost = i >= 5000 && i < 5418;
        assert_int_equal(first->is_filled[i], is_lost);
        double expected = is_lost ? 999.0 : (double)(i % 1000);
        assert_near(first->first_channel[i], expected, 0.0, 0.0);
    }
    assert_int_equal(sh_assembler_get_counts(rig.assembler, 0).lost, 418);
    assert_int_equal(sh_assembler_get_counts(rig.assembler, 1).lost, 0);
    assert_true(largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN) < 0.001);
    close_rig(&rig);
}

/* Streams that stall keep moving a second behind the host, and go on in step. */
static void test_stalled_streams_move_on(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    play(&rig,
         &(struct play){
             .quiet_from = 12000, .quiet_to = 33500, .second_quiet_s = 15.0, .length_s = 40.0});
    const struct track *first = &rig.kept->tracks[0];
    const struct track *second = &rig.kept->tracks[1];
    for (uint64_t i = 0; i < first->n_frames; i++) {
        bool is_lost = i >= 12000 && i < 33500;
        assert_int_equal(first->is_filled[i], is_lost);
    }
    check_anchors(first, 1000.0);
    check_anchors(second, SECOND_HZ);
    assert_true(largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN) < 0.002);
    assert_true(largest_error_s(second, SECOND_HZ, SH_TIMEBASE_BETWEEN) < 0.003);
    double second_end_s = (double)second->n_frames / SECOND_HZ;
    assert_near(second_end_s, 39.0, 0.05, 0.0);
    assert_int_equal(second->n_filled, sh_assembler_get_counts(rig.assembler, 1).lost);
    close_rig(&rig);
}

/* A stream that never speaks is filled with its zero from the start. */
static void test_a_silent_stream(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    play(&rig, &(struct play){.second_quiet_s = 0.0, .length_s = 12.0});
    const struct track *second = &rig.kept->tracks[1];
    assert_near((double)second->n_frames, 11.0 * 80.0, 3.0, 0.0);
    assert_int_equal(second->n_filled, second->n_frames);
    assert_near(second->first_channel[0], -5.0, 0.0, 0.0);
    assert_near(second->first_channel[second->n_frames - 1], -5.0, 0.0, 0.0);
    assert_near(second->timebase.anchors[0].time_s, 0.0, 0.005, 0.0);
    close_rig(&rig);
}

static void test_late_repeated_and_strange_frames(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    advance(&rig, START_US);
    for (int i = 0; i < 3000; i++) {
        arrive(rig.assembler, (int64_t)(START_US + 1000.0 * i));
        assert_int_equal(push(&rig, 0, 1000.0 * i, i), SH_OK);
    }
    assert_int_equal(push(&rig, 0, 2999000.0, 1), SH_OK); /* repeated */
    assert_int_equal(push(&rig, 0, 2995000.0, 1), SH_OK); /* repeated */
    assert_int_equal(push(&rig, 0, 2995500.0, 1), SH_OK); /* late */
    struct sh_frame strange = {.stream = 2, .n_channels = 1};
    assert_int_equal(sh_assembler_push(rig.assembler, &strange, NULL), SH_OK);
    strange = (struct sh_frame){.stream = 0, .n_channels = 2};
    assert_int_equal(sh_assembler_push(rig.assembler, &strange, NULL), SH_OK);
    assert_int_equal(sh_assembler_get_strange(rig.assembler), 2);

    /* nothing for 5 s: filled to one second ago; then frames that were only late come */
    advance(&rig, START_US + 7.99e6);
    assert_int_equal(rig.kept->tracks[0].n_frames, 3000);
    advance(&rig, START_US + 8e6);
    assert_in_range(rig.kept->tracks[0].n_frames, 6999, 7001);
    assert_int_equal(push(&rig, 0, 3000000.0, 7), SH_OK);
    assert_int_equal(push(&rig, 0, 7500000.0, 8), SH_OK);
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
    close_rig(&rig);
}

/* The first second is held back; the anchor of frame 0 rests on all of it. */
static void test_nothing_leaves_before_a_second(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    double late_us = 14000.0;
    for (int i = 0; i < 1000; i++) {
        late_us = i < 500 ? 14000.0 : 0.0;
        arrive(rig.assembler, (int64_t)(START_US + 1000.0 * i + late_us));
        assert_int_equal(push(&rig, 0, 1000.0 * i, i), SH_OK);
        assert_int_equal(sh_assembler_advance(rig.assembler, NULL), SH_OK);
        assert_int_equal(rig.kept->n_blocks, 0);
    }
    advance(&rig, START_US + 1014000.0);
    assert_int_equal(rig.kept->tracks[0].n_frames, 1000);
    assert_near(rig.kept->tracks[0].timebase.anchors[0].time_s, 0.0, 1e-5, 0.0);
    close_rig(&rig);
}

/*
 * All of the first second waited 20 s: times that were taken from it were 20 s too late, and
 * those that follow are right. Anchors go up all the same (the timebase refuses others).
 */
static void test_times_do_not_go_back(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    for (int i = 0; i < 60000; i++) {
        double host_us = i < 1200 ? 20e6 + 1000.0 * i : fmax(21.2e6, 1000.0 * i);
        arrive(rig.assembler, (int64_t)(START_US + host_us));
        assert_int_equal(push(&rig, 0, 1000.0 * i, i), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    const struct sh_timebase *timebase = &rig.kept->tracks[0].timebase;
    assert_near(timebase->anchors[0].time_s, 20.0, 1e-3, 0.0);
    for (int frame = 25000; frame < 60000; frame += 500) {
        double time_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, frame, NULL);
        assert_near(time_s, 1e-3 * frame, 1e-3, 0.0);
    }
    assert_int_equal(sh_assembler_get_restarts(rig.assembler), 0);
    close_rig(&rig);
}

/* A device that begins anew leaves a hole as long as the host saw it. */
static void test_a_restart(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    for (int i = 0; i < 40000; i++) {
        double counter_us = i < 20000 ? 3e9 + 1000.0 * i : 1000.0 * (i - 25000);
        if (i >= 20000 && i < 25000) {
            continue;
        }
        arrive(rig.assembler, (int64_t)(START_US + 1000.0 * i));
        assert_int_equal(push(&rig, 0, counter_us, i), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_get_restarts(rig.assembler), 1);
    const struct track *first = &rig.kept->tracks[0];
    assert_in_range(first->n_frames, 39999, 40001);
    assert_in_range(first->n_filled, 4999, 5001);
    assert_near(first->first_channel[first->n_frames - 1], 39999.0, 0.0, 0.0);
    assert_true(largest_error_s(first, 1000.0, SH_TIMEBASE_BETWEEN) < 0.002);
    close_rig(&rig);
}

/* Bytes of a file come all at once: the device's own clock gives the times. */
static void test_replay(void **state)
{
    struct rig rig = make_rig(true);
    open_rig(&rig);
    for (int i = 0; i < 30000; i++) {
        if (i / 100 % 50 == 7) {
            continue;
        }
        assert_int_equal(push(&rig, 0, 4290000000.0 + 1000.0 * i, i % 1000), SH_OK);
        assert_int_equal(push(&rig, 0, 4290000000.0 + 1000.0 * i, 0), SH_OK);
    }
    assert_int_equal(push(&rig, 0, 5000.0, 1), SH_OK); /* begins anew */
    assert_int_equal(push(&rig, 0, 6000.0, 2), SH_OK);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    const struct track *first = &rig.kept->tracks[0];
    assert_int_equal(first->n_frames, 30002);
    assert_int_equal(first->n_filled, 600);
    assert_int_equal(sh_assembler_get_counts(rig.assembler, 0).repeated, 29400);
    assert_int_equal(sh_assembler_get_restarts(rig.assembler), 1);
    assert_near(largest_error_s(first, 1000.0, SH_TIMEBASE_FORWARD), 0.0, 2e-3, 0.0);
    close_rig(&rig);
}

/* Fewer frames than a second of them leave with the flush. */
static void test_a_short_session(void **state)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_advance(rig.assembler, NULL), SH_OK);
    assert_int_equal(rig.kept->n_blocks, 0);
    arrive(rig.assembler, (int64_t)START_US + 5000);
    assert_int_equal(push(&rig, 0, 17.0, 4), SH_OK);
    assert_int_equal(sh_assembler_flush(rig.assembler, NULL), SH_OK);
    assert_int_equal(rig.kept->tracks[0].n_frames, 1);
    assert_int_equal(rig.kept->tracks[1].n_frames, 0);
    assert_near(rig.kept->tracks[0].timebase.anchors[0].time_s, 0.005, 1e-9, 0.0);
    close_rig(&rig);
}

/* Advancing after each frame or never gives the same frames and anchors. */
static void test_advance_does_not_change_frames(void **state)
{
    struct rig often = make_rig(false);
    struct rig rarely = make_rig(false);
    open_rig(&often);
    open_rig(&rarely);
    struct sh_random random;
    sh_random_init(&random, 3);
    for (int i = 0; i < 25000; i++) {
        if (sh_random_get_uniform(&random) < 0.05) {
            continue;
        }
        double host_us = START_US + 1000.0 * i + 9000.0 * sh_random_get_uniform(&random);
        arrive(often.assembler, (int64_t)host_us);
        arrive(rarely.assembler, (int64_t)host_us);
        assert_int_equal(push(&often, 0, 1000.0 * i, i), SH_OK);
        assert_int_equal(push(&rarely, 0, 1000.0 * i, i), SH_OK);
        assert_int_equal(sh_assembler_advance(often.assembler, NULL), SH_OK);
    }
    assert_int_equal(sh_assembler_flush(often.assembler, NULL), SH_OK);
    assert_int_equal(sh_assembler_flush(rarely.assembler, NULL), SH_OK);
    const struct track *a = &often.kept->tracks[0];
    const struct track *b = &rarely.kept->tracks[0];
    assert_int_equal(a->n_frames, b->n_frames);
    assert_true(a->n_filled > 1000);
    assert_memory_equal(a->first_channel, b->first_channel, sizeof a->first_channel);
    assert_memory_equal(a->is_filled, b->is_filled, sizeof a->is_filled);
    assert_int_equal(a->timebase.n_anchors, b->timebase.n_anchors);
    for (size_t i = 0; i < a->timebase.n_anchors; i++) {
        assert_memory_equal(&a->timebase.anchors[i], &b->timebase.anchors[i],
                            sizeof a->timebase.anchors[i]);
    }
    close_rig(&often);
    close_rig(&rarely);
}

/* The sink's status and words come back from whichever call hands on. */
static void check_refusal(size_t fail_block, size_t fail_anchor, enum sh_status expected)
{
    struct rig rig = make_rig(false);
    open_rig(&rig);
    rig.kept->fail_block = fail_block;
    rig.kept->fail_anchor = fail_anchor;
    struct sh_error err = {0};
    enum sh_status status = SH_OK;
    for (int i = 0; i < 9000 && status == SH_OK; i++) {
        arrive(rig.assembler, (int64_t)(START_US + 1000.0 * i));
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
    close_rig(&rig);
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
    struct rig rig = make_rig(false);
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
    open_rig(&rig);
    close_rig(&rig);
}

static void test_each_allocation_fails(void **state)
{
    struct rig rig = make_rig(false);
    rig.config.streams = rig.streams;
    size_t n_failed = 0;
    enum sh_status status = SH_ERR_MEMORY;
    for (; status != SH_OK; n_failed++) {
        n_left = n_failed;
        status = sh_assembler_open(&rig.config, &rig.assembler, NULL);
        n_left = SIZE_MAX;
        assert_true(status == SH_OK || status == SH_ERR_MEMORY);
        assert_int_equal(status == SH_OK, rig.assembler != NULL);
    }
    assert_int_equal(n_failed, 3);
    close_rig(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_undisturbed),
        cmocka_unit_test(test_lost_frames_are_filled),
        cmocka_unit_test(test_stalled_streams_move_on),
        cmocka_unit_test(test_a_silent_stream),
        cmocka_unit_test(test_late_repeated_and_strange_frames),
        cmocka_unit_test(test_nothing_leaves_before_a_second),
        cmocka_unit_test(test_times_do_not_go_back),
        cmocka_unit_test(test_a_restart),
        cmocka_unit_test(test_replay),
        cmocka_unit_test(test_a_short_session),
        cmocka_unit_test(test_advance_does_not_change_frames),
        cmocka_unit_test(test_the_sinks_status_comes_back),
        cmocka_unit_test(test_limits_of_open),
        cmocka_unit_test(test_each_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
