/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/recall.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "recording/recording_writer.h"
#include "recording/scratch.h"
#include "shot/frame_flags.h"
#include "shot/rig.h"
#include "support/cmocka_all.h"

#define DRAWS        4u
#define SPARKS       5u /* single readings that are nonsense, in the draws */
#define SPARK_COUNTS 4000.0
#define LOST_FRAMES  40u

/* A recording of some draws on disk. */
struct evening {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct rig rig;
};

static void write_frame(const struct sh_block_sink *sink,
                        const struct rig_stream *stream,
                        size_t s,
                        size_t i)
{
    for (size_t k = 0; k < stream->n_anchors; k++) {
        if (stream->anchor[k].frame == i) {
            assert_int_equal(sink->anchor(sink->context, s, &stream->anchor[k], NULL), SH_OK);
        }
    }
    const struct sh_block block = {.stream = s,
                                   .first_frame = i,
                                   .n_frames = 1,
                                   .n_channels = stream->described.n_channels,
                                   .raw = stream->raw + i * stream->described.n_channels,
                                   .is_filled = stream->is_filled[i]};
    assert_int_equal(sink->block(sink->context, &block, NULL), SH_OK);
}

static void write_recording(const struct evening *evening, double share)
{
    struct sh_session session = {.n_streams = evening->rig.n_streams};
    struct sh_recording_writer_config config = sh_recording_writer_config_default();
    struct sh_recording_writer *writer = NULL;
    config.is_synced = false;
    for (size_t s = 0; s < session.n_streams; s++) {
        session.streams[s].stream = evening->rig.stream[s].described;
    }
    assert_int_equal(
        sh_recording_writer_open(evening->folder, &session, &config, &writer, NULL), SH_OK);
    for (size_t s = 0; s < session.n_streams; s++) {
        const struct rig_stream *stream = &evening->rig.stream[s];
        const struct sh_block_sink sink = sh_recording_writer_sink(writer);
        for (size_t i = 0; i < (size_t)(share * (double)stream->n_frames); i++) {
            write_frame(&sink, stream, s, i);
        }
    }
    assert_int_equal(sh_recording_writer_finish(writer, false, NULL), SH_OK);
    sh_recording_writer_close(&writer);
}

/* Two streams with clocks of their own; nonsense, lost and clipped samples in the draws. */
static void open_evening(struct evening *evening, double drift_time_s)
{
    struct rig_draw draw[DRAWS] = {{.gap_s = 6.0}, {.gap_s = 8.0}, {.gap_s = 7.0}};
    draw[2].is_let_down = true;
    draw[3].gap_s = 9.0;
    scratch_open(&evening->scratch);
    scratch_path(&evening->scratch, "recording", evening->folder);
    rig_open(&evening->rig, draw, DRAWS, 1000.0, 0.05);
    const size_t bow = rig_add_bow(&evening->rig, 3200.0);
    rig_add_anchors(&evening->rig, 0, 1e-4);
    rig_add_anchors(&evening->rig, bow, -2e-4);
    struct rig_stream *string = &evening->rig.stream[0];
    struct sh_channel *channel = &string->described.channel[0];
    channel->load_drift_ratio = drift_time_s > 0.0 ? 0.02 : 0.0;
    channel->load_drift_time_s = drift_time_s;
    for (size_t i = 0; i < DRAWS; i++) {
        const size_t full = (size_t)(1000.0 * evening->rig.draw[i].full_draw_s);
        for (size_t k = 0; k < SPARKS; k++) {
            string->raw[full + 200 + 100 * k] -= SPARK_COUNTS;
        }
    }
    const size_t lost = (size_t)(1000.0 * evening->rig.draw[1].full_draw_s) + 900;
    for (size_t i = lost; i < lost + LOST_FRAMES; i++) {
        string->raw[i] = string->raw[lost - 1];
        string->is_filled[i] = true;
    }
    write_recording(evening, 1.0);
}

static void close_evening(struct evening *evening)
{
    rig_close(&evening->rig);
    scratch_close(&evening->scratch);
}

static struct sh_recording_reader *open_reader(const struct evening *evening)
{
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    struct sh_recording_reader *reader = NULL;
    assert_int_equal(sh_recording_reader_open(evening->folder, &config, &reader, NULL), SH_OK);
    return reader;
}

/* What the segmenter lends, held against what is recalled out of a reader at that moment. */
struct watch {
    struct sh_segmenter *segmenter;
    struct sh_recording_reader *other;
    struct sh_recall first; /* of the first draw */
    size_t n_shots;
    size_t n_flagged; /* frames with flags in the views */
};

static void compare_streams(struct watch *watch,
                            const struct sh_shot_stream *lent,
                            const struct sh_shot_stream *got)
{
    const size_t n_bytes = lent->n_frames * sizeof(double);
    assert_true(lent->n_frames > 5000);
    assert_int_equal(got->first_frame, lent->first_frame);
    assert_int_equal(got->n_frames, lent->n_frames);
    assert_int_equal(got->reading, lent->reading);
    assert_memory_equal(&got->time_u_s, &lent->time_u_s, sizeof lent->time_u_s);
    assert_memory_equal(got->time_s, lent->time_s, n_bytes);
    assert_memory_equal(got->flags, lent->flags, lent->n_frames);
    for (size_t c = 0; c < lent->stream->n_channels; c++) {
        assert_memory_equal(got->value[c], lent->value[c], n_bytes);
        assert_memory_equal(&got->rest_n[c], &lent->rest_n[c], sizeof lent->rest_n[c]);
    }
    for (size_t i = 0; i < lent->n_frames; i++) {
        watch->n_flagged += lent->flags[i] != 0 ? 1 : 0;
    }
}

static void compare_forces(const struct sh_shot_force *lent, const struct sh_shot_force *got)
{
    const double is[] = {got->rate_hz, got->delay_s,       got->delay_u_s,
                         got->noise_n, got->scale_u_ratio, got->time_u_s};
    const double was[] = {lent->rate_hz, lent->delay_s,       lent->delay_u_s,
                          lent->noise_n, lent->scale_u_ratio, lent->time_u_s};
    assert_memory_equal(is, was, sizeof is);
    assert_true(got->is_present && got->is_finger_sum == lent->is_finger_sum);
    assert_int_equal(got->stream, lent->stream);
    assert_int_equal(got->n_channels, lent->n_channels);
    assert_int_equal(got->channel[0], lent->channel[0]);
    assert_int_equal(got->n_frames, lent->n_frames);
    assert_memory_equal(got->net_n, lent->net_n, lent->n_frames * sizeof *lent->net_n);
}

static enum sh_status take_shot(void *context,
                                const struct sh_shot *shot,
                                const struct sh_shot_view *view,
                                struct sh_error *err)
{
    struct watch *watch = context;
    struct sh_recall recall;
    struct sh_owned_view got;
    sh_recall_keep(shot, view, &recall);
    assert_int_equal(sh_recall_open(watch->other, &recall, &got, err), SH_OK);
    assert_int_equal(got.view.n_streams, view->n_streams);
    for (size_t s = 0; s < view->n_streams; s++) {
        compare_streams(watch, &view->stream[s], &got.view.stream[s]);
    }
    compare_forces(&view->force, &got.view.force);
    sh_owned_view_close(&got);
    sh_owned_view_close(&got);
    watch->first = watch->n_shots == 0 ? recall : watch->first;
    watch->n_shots++;
    return SH_OK;
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct watch *watch = context;
    return sh_segmenter_push_block(watch->segmenter, block, err);
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct watch *watch = context;
    return sh_segmenter_push_anchor(watch->segmenter, stream, anchor, err);
}

/* The first pass over the recording, each draw recalled as it comes. */
static void run(const struct evening *evening, struct watch *watch)
{
    struct sh_recording_reader *reader = open_reader(evening);
    const struct sh_session *session = sh_recording_reader_session(reader);
    struct sh_segmenter_config config = sh_segmenter_config_default();
    const struct sh_shot_sink sink = {take_shot, watch};
    const struct sh_block_sink blocks = {take_block, take_anchor, watch};
    *watch = (struct watch){.other = open_reader(evening)};
    config.n_streams = session->n_streams;
    for (size_t s = 0; s < session->n_streams; s++) {
        config.stream[s] = &session->streams[s].stream;
    }
    assert_int_equal(sh_segmenter_open(&config, &sink, &watch->segmenter, NULL), SH_OK);
    assert_int_equal(sh_recording_reader_push(reader, &blocks, NULL), SH_OK);
    assert_int_equal(sh_segmenter_flush(watch->segmenter, NULL), SH_OK);
    sh_segmenter_close(&watch->segmenter);
    sh_recording_reader_close(&watch->other);
    sh_recording_reader_close(&reader);
}

static void test_what_was_lent_comes_back(void **state)
{
    struct evening evening;
    struct watch watch;
    open_evening(&evening, 0.0);
    run(&evening, &watch);
    assert_int_equal(watch.n_shots, DRAWS);
    assert_true(watch.n_flagged >= LOST_FRAMES);
    close_evening(&evening);
}

/* Without the mending the force would not be what was lent: the samples are nonsense. */
static void test_nonsense_is_in_the_files(void **state)
{
    struct evening evening;
    struct watch watch;
    struct sh_owned_view got;
    open_evening(&evening, 0.0);
    run(&evening, &watch);
    struct sh_recording_reader *reader = open_reader(&evening);
    const size_t at = (size_t)(1000.0 * evening.rig.draw[0].full_draw_s) + 200;
    assert_int_equal(sh_recall_open(reader, &watch.first, &got, NULL), SH_OK);
    const struct sh_shot_stream *string = &got.view.stream[0];
    const struct sh_channel *channel = &string->stream->channel[0];
    const double plain_n = (evening.rig.stream[0].raw[at] - channel->zero) * channel->scale;
    assert_true(fabs(string->value[0][at - string->first_frame] - plain_n) > 10.0);
    sh_owned_view_close(&got);
    sh_recording_reader_close(&reader);
    close_evening(&evening);
}

static void test_load_drift_hangs_on_all_before(void **state)
{
    struct evening evening;
    struct watch watch;
    open_evening(&evening, 40.0);
    run(&evening, &watch);
    assert_int_equal(watch.n_shots, DRAWS);
    close_evening(&evening);
}

static void test_what_is_not_there_yet_is_said(void **state)
{
    struct evening evening;
    struct watch watch;
    struct sh_owned_view got;
    struct sh_error err = {0};
    open_evening(&evening, 0.0);
    run(&evening, &watch);
    const double share = (evening.rig.draw[0].release_s + 1.0) / evening.rig.length_s;
    scratch_path(&evening.scratch, "short", evening.folder);
    write_recording(&evening, share);
    struct sh_recording_reader *reader = open_reader(&evening);
    assert_int_equal(sh_recall_open(reader, &watch.first, &got, &err), SH_ERR_SHORT);
    assert_non_null(strstr(err.what, "not all samples"));
    assert_null(got.net_n);
    watch.first.n_streams = 1;
    assert_int_equal(sh_recall_open(reader, &watch.first, &got, NULL), SH_ERR_FORMAT);
    sh_recording_reader_close(&reader);
    close_evening(&evening);
}

static void test_flags_of_a_frame(void **state)
{
    struct sh_stream stream = {.n_channels = 2};
    const double inside[] = {0.0, 10.0};
    const double high[] = {100.0, 10.0};
    const double low[] = {-100.0, 10.0};
    stream.channel[0] = (struct sh_channel){.role = SH_ROLE_STRING_FORCE,
                                            .scale = 1.0,
                                            .has_range = true,
                                            .range_low = -100.0,
                                            .range_high = 100.0};
    assert_int_equal(sh_frame_flags_get(&stream, inside, false), 0);
    assert_int_equal(sh_frame_flags_get(&stream, inside, true), SH_SHOT_FLAG_FILLED);
    assert_int_equal(sh_frame_flags_get(&stream, high, false),
                     SH_SHOT_FLAG_CLIPPED | SH_SHOT_FLAG_FULL);
    assert_int_equal(sh_frame_flags_get(&stream, low, true),
                     SH_SHOT_FLAG_CLIPPED | SH_SHOT_FLAG_FILLED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_was_lent_comes_back),
        cmocka_unit_test(test_nonsense_is_in_the_files),
        cmocka_unit_test(test_load_drift_hangs_on_all_before),
        cmocka_unit_test(test_what_is_not_there_yet_is_said),
        cmocka_unit_test(test_flags_of_a_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
