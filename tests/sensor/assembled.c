/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/assembled.h"

#include <math.h>

#include "support/cmocka_all.h"

#define READ_US         16003.7
#define DEVICE_START_US 4294000000.0
#define DEVICE_RATIO    (1.0 / 1.00015)

static enum sh_status
keep_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct assembled_kept *kept = context;
    struct assembled_track *track = &kept->tracks[block->stream];
    if (++kept->n_blocks == kept->fail_block) {
        return sh_error_set(err, SH_ERR_FULL, NULL, NULL, "no more room");
    }
    assert_int_equal(block->first_frame, track->n_frames);
    assert_true(block->n_frames >= 1 && block->n_frames <= SH_ASSEMBLER_BLOCK_FRAMES);
    assert_true(track->timebase.n_anchors >= 1);
    for (size_t i = 0; i < block->n_frames; i++) {
        assert_true(track->n_frames < ASSEMBLED_FRAMES_MAX);
        track->first_channel[track->n_frames] = block->raw[i * block->n_channels];
        track->is_filled[track->n_frames++] = block->is_filled;
    }
    track->n_filled += block->is_filled ? block->n_frames : 0;
    return SH_OK;
}

static enum sh_status
keep_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct assembled_kept *kept = context;
    struct assembled_track *track = &kept->tracks[stream];
    if (++kept->n_anchors == kept->fail_anchor) {
        return sh_error_set(err, SH_ERR_IO, NULL, NULL, "no anchor");
    }
    /* before the frame it counts for, behind all others */
    assert_int_equal(anchor->frame, track->n_frames);
    assert_int_equal(sh_timebase_append(&track->timebase, anchor), SH_OK);
    return SH_OK;
}

struct assembled assembled_make(bool is_replay)
{
    struct assembled rig = {.kept = test_calloc(1, sizeof *rig.kept)};
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
                                              .start_host_us = (int64_t)ASSEMBLED_START_US,
                                              .is_replay = is_replay,
                                              .clock = sh_device_clock_config_default(),
                                              .sink = {keep_block, keep_anchor, rig.kept}};
    return rig;
}

void assembled_open(struct assembled *rig)
{
    rig->config.streams = rig->streams;
    assert_int_equal(sh_assembler_open(&rig->config, &rig->assembler, NULL), SH_OK);
}

void assembled_close(struct assembled *rig)
{
    sh_assembler_close(&rig->assembler);
    for (size_t i = 0; i < 2; i++) {
        sh_timebase_close(&rig->kept->tracks[i].timebase);
    }
    test_free(rig->kept);
}

void assembled_arrive(struct assembled *rig, int64_t host_us)
{
    sh_assembler_arrive(rig->assembler, host_us, host_us - 1000);
}

enum sh_status
assembled_push(struct assembled *rig, size_t stream, double device_us, int32_t count)
{
    struct sh_frame frame = {.device_time_us = (uint32_t)(int64_t)device_us,
                             .n_channels = stream + 1,
                             .stream = stream};
    frame.counts[0] = count;
    return sh_assembler_push(rig->assembler, &frame, NULL);
}

void assembled_advance(struct assembled *rig, double host_us)
{
    assembled_arrive(rig, (int64_t)host_us);
    assert_int_equal(sh_assembler_advance(rig->assembler, NULL), SH_OK);
}

/* Pushes the frames of a stream that were sampled by now. */
static void push_until(struct assembled *rig,
                       const struct assembled_play *play,
                       size_t stream,
                       uint64_t *next,
                       double now_us)
{
    double period_us = stream == 0 ? 1000.0 : 1e6 / ASSEMBLED_SECOND_HZ;
    for (; period_us * (double)*next < now_us; (*next)++) {
        double true_us = period_us * (double)*next;
        bool is_quiet = stream == 0 ? *next >= play->quiet_from && *next < play->quiet_to
                                    : true_us >= 1e6 * play->second_quiet_s;
        if (!is_quiet) {
            double device_us = DEVICE_START_US + true_us * DEVICE_RATIO;
            assert_int_equal(assembled_push(rig, stream, device_us, (int32_t)(*next % 1000)),
                             SH_OK);
        }
    }
}

void assembled_run(struct assembled *rig, const struct assembled_play *play)
{
    uint64_t next[2] = {0, 0};
    for (int i = 0; READ_US * i < 1e6 * play->length_s; i++) {
        double now_us = READ_US * i;
        assembled_arrive(rig, (int64_t)(ASSEMBLED_START_US + now_us));
        push_until(rig, play, 0, &next[0], now_us);
        push_until(rig, play, 1, &next[1], now_us);
        assembled_advance(rig, ASSEMBLED_START_US + now_us);
    }
    assert_int_equal(sh_assembler_flush(rig->assembler, NULL), SH_OK);
}

double assembled_get_largest_error_s(const struct assembled_track *track,
                                     double rate_hz,
                                     enum sh_timebase_reading reading)
{
    double largest_s = 0.0;
    for (uint64_t i = 0; i < track->n_frames; i++) {
        double time_s = sh_timebase_time(&track->timebase, reading, (double)i, NULL);
        largest_s = fmax(largest_s, fabs(time_s - (double)i / rate_hz));
    }
    return largest_s;
}

void assembled_check_anchors(const struct assembled_track *track, double rate_hz)
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
