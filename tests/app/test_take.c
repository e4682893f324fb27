/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/take.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/passes.h"
#include "app/sensor_file.h"
#include "recording/collector.h"
#include "recording/recording_reader.h"
#include "recording/scratch.h"
#include "recording/session_json.h"
#include "report/analysis_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * A simulated string whose device runs 0.2 % slow by the common clock: anchors lie on that
 * line, every 9 s and a second after. The takes are fed by hand.
 */
#define RATE_HZ      1000.0
#define FRAME_S      1.002e-3
#define OFFSET_S     0.3
#define ANCHOR_U_S   0.0005
#define BLOCK_FRAMES 200u
#define EVERY_FRAMES 9000u
#define AFTER_FRAMES 1000u
#define LOST_FROM    5000u /* these frames stand for lost ones */
#define LOST_UNTIL   5200u

struct rig {
    struct scratch scratch;
    struct sh_simulation simulation;
    struct collector sampled;
    struct sh_thresholds thresholds;
    struct sh_clocks clocks;
    struct sh_take *take;
    struct sh_analysis live; /* what the sink has seen of the take */
    double shift_s;          /* of all anchors from here on */
    enum sh_status refusal;  /* what the sink gives */
};

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct rig *rig = context;
    assert_true(view->n_streams >= 1);
    if (rig->refusal != SH_OK) {
        return sh_error_set(err, rig->refusal, "sink", NULL, "asked to stop");
    }
    return sh_analysis_add(&rig->live, record);
}

static struct rig *open_rig(size_t n_draws)
{
    struct rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    scratch_open(&rig->scratch);
    sensor_file_open_simulation("force1000", n_draws, &rig->simulation);
    const struct sh_block_sink sink = collector_open(&rig->sampled);
    sensor_file_sample(&rig->simulation, &sink);
    rig->thresholds = sh_thresholds_default();
    assert_int_equal(sh_clocks_init(&rig->clocks, rig->simulation.session), SH_OK);
    return rig;
}

static void close_rig(struct rig *rig)
{
    sh_take_close(&rig->take);
    sh_take_close(&rig->take);
    sh_analysis_close(&rig->live);
    sh_clocks_close(&rig->clocks);
    collector_close(&rig->sampled);
    sh_simulation_close(&rig->simulation);
    scratch_close(&rig->scratch);
    free(rig);
}

static size_t n_all(const struct rig *rig)
{
    return rig->sampled.streams[0].n_frames;
}

static double true_time_s(double frame)
{
    return OFFSET_S + frame * FRAME_S;
}

static void open_take(struct rig *rig, const char *folder, double begin_s)
{
    const struct sh_take_config config = {.folder = folder,
                                          .session = rig->simulation.session,
                                          .thresholds = &rig->thresholds,
                                          .clocks = &rig->clocks,
                                          .begin_s = begin_s,
                                          .sink = {take_record, rig}};
    struct sh_error err = {0};
    sh_analysis_close(&rig->live);
    sh_analysis_init(&rig->live, strrchr(folder, '/') + 1, "wren");
    assert_int_equal(sh_take_open(&config, &rig->take, &err), SH_OK);
}

static enum sh_status push_anchor(struct rig *rig, uint64_t frame, struct sh_error *err)
{
    const struct sh_anchor anchor = {
        .frame = frame, .time_s = true_time_s((double)frame) + rig->shift_s, .u_s = ANCHOR_U_S};
    const struct sh_block_sink sink = sh_take_get_sink(rig->take);
    assert_int_equal(sh_clocks_push_anchor(&rig->clocks, 0, &anchor), SH_OK);
    return sink.anchor(sink.context, 0, &anchor, err);
}

/* Frames from..until (without) through the take, blocks cut at anchors and at what is lost. */
static enum sh_status feed(struct rig *rig, uint64_t from, uint64_t until, struct sh_error *err)
{
    const struct sh_block_sink sink = sh_take_get_sink(rig->take);
    enum sh_status status = SH_OK;
    uint64_t frame = from;
    while (frame < until && status == SH_OK) {
        uint64_t phase = frame % EVERY_FRAMES;
        if (phase == 0 || phase == AFTER_FRAMES) {
            status = push_anchor(rig, frame, err);
        }
        uint64_t end = (frame / BLOCK_FRAMES + 1) * BLOCK_FRAMES;
        end = end < until ? end : until;
        const struct sh_block block = {.first_frame = frame,
                                       .n_frames = (size_t)(end - frame),
                                       .n_channels = 1,
                                       .raw = rig->sampled.streams[0].raw + frame,
                                       .is_filled = frame >= LOST_FROM && frame < LOST_UNTIL};
        if (status == SH_OK) {
            sh_clocks_push_block(&rig->clocks, &block);
            status = sink.block(sink.context, &block, err);
        }
        frame = end;
    }
    return status;
}

static void feed_well(struct rig *rig, uint64_t from, uint64_t until)
{
    struct sh_error err = {0};
    enum sh_status status = feed(rig, from, until, &err);
    if (status != SH_OK) {
        fail_msg("%s: %s", sh_status_name(status), err.what);
    }
}

static void finish(struct rig *rig, bool to_flac)
{
    struct sh_error err = {0};
    assert_int_equal(sh_take_finish(rig->take, to_flac, &err), SH_OK);
    sh_take_close(&rig->take);
    assert_null(rig->take);
}

static char *make_json(const struct sh_analysis *analysis)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_json_write(analysis, &text), SH_OK);
    return text.data; /* the caller frees it */
}

/* The first pass over the folder gives what the sink saw, to the last byte. */
static void check_first_pass(struct rig *rig, const char *folder)
{
    const struct sh_passes_config config = {.thresholds = &rig->thresholds,
                                            .is_first_only = true};
    struct sh_analysis read = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_passes_run(folder, &config, &read, &err), SH_OK);
    rig->live.duration_s = read.duration_s; /* what the sink cannot know */
    rig->live.n_quality = read.n_quality;
    memcpy(rig->live.quality, read.quality, sizeof read.quality);
    char *got = make_json(&rig->live);
    char *expected = make_json(&read);
    assert_string_equal(got, expected);
    free(got);
    free(expected);
    sh_analysis_close(&read);
}

/* Reads all of a recording into got, and gives its reader. */
static struct sh_recording_reader *read_folder(const char *folder, struct collector *got)
{
    struct sh_recording_reader *reader = NULL;
    assert_int_equal(collector_read(got, folder, &reader, NULL), SH_OK);
    return reader;
}

static void test_live_is_the_first_pass_of_the_file(void **state)
{
    struct rig *rig = open_rig(3);
    char folder[SCRATCH_PATH_BYTES];
    scratch_path(&rig->scratch, "whole", folder);
    open_take(rig, folder, 0.0);
    feed_well(rig, 0, n_all(rig));
    finish(rig, false);
    assert_int_equal(rig->live.n_shots, 3);
    check_first_pass(rig, folder);
    close_rig(rig);
}

/* Frames and times of the second of two takes, cut at a frame while the sensor runs. */
static void check_second(uint64_t cut, size_t n_own_anchors)
{
    struct rig *rig = open_rig(3);
    char first[SCRATCH_PATH_BYTES];
    char second[SCRATCH_PATH_BYTES];
    scratch_path(&rig->scratch, "first", first);
    scratch_path(&rig->scratch, "second", second);
    open_take(rig, first, 0.0);
    feed_well(rig, 0, cut);
    finish(rig, false);
    const double begin_s = 0.005 + sh_clocks_get_now_s(&rig->clocks);
    assert_near(begin_s - 0.005, true_time_s((double)cut), 1e-9, 0);
    open_take(rig, second, begin_s);
    feed_well(rig, cut, n_all(rig));
    finish(rig, false);
    check_first_pass(rig, second);

    struct collector got;
    struct sh_recording_reader *reader = read_folder(second, &got);
    const struct sh_session_stream *stream = &sh_recording_reader_session(reader)->streams[0];
    const struct sh_anchor *anchors = stream->timebase.anchors;
    assert_int_equal(got.streams[0].n_frames, n_all(rig) - cut);
    assert_in_range(stream->timebase.n_anchors, 2, 20);
    for (size_t i = 0; i < got.streams[0].n_frames; i++) {
        assert_near(got.streams[0].raw[i], rig->sampled.streams[0].raw[cut + i], 0, 0);
        double time_s =
            sh_timebase_time(&stream->timebase, SH_TIMEBASE_FORWARD, (double)i, NULL);
        double nominal_s = (double)i * (FRAME_S - 1.0 / RATE_HZ); /* until the second anchor */
        double off_s = 1e-9 + (i < anchors[1].frame ? nominal_s : 0.0);
        assert_near(time_s + begin_s, true_time_s((double)(cut + i)), off_s, 0);
    }
    assert_int_equal(anchors[0].frame, 0);
    assert_true(anchors[0].u_s >= ANCHOR_U_S);
    size_t n_own = 0; /* anchors that the sensor did not send */
    for (size_t i = 0; i < stream->timebase.n_anchors; i++) {
        uint64_t phase = (anchors[i].frame + cut) % EVERY_FRAMES;
        n_own += phase != 0 && phase != AFTER_FRAMES ? 1 : 0;
    }
    assert_int_equal(n_own, n_own_anchors);
    if (cut < LOST_FROM) {
        assert_int_equal(stream->n_gaps, 1);
        assert_int_equal(stream->gaps[0].frame, LOST_FROM - cut);
    }
    sh_recording_reader_close(&reader);
    collector_close(&got);
    close_rig(rig);
}

static void test_a_second_take_while_the_sensor_runs(void **state)
{
    check_second(3456, 2); /* inside a block: two anchors of the take's own */
    check_second(12000, 2);
    check_second(8500, 1); /* the sensor's comes before the take's own second */
    check_second(8000, 1); /* at the same frame */
    check_second(9000, 0); /* the sensor's are the take's */
}

static void test_shots_of_the_second_take(void **state)
{
    struct rig *rig = open_rig(3);
    char first[SCRATCH_PATH_BYTES];
    char second[SCRATCH_PATH_BYTES];
    scratch_path(&rig->scratch, "first", first);
    scratch_path(&rig->scratch, "second", second);
    const struct sh_truth *truth = rig->simulation.plan->truth;
    uint64_t cut = (uint64_t)(RATE_HZ * (truth[0].release_s + 3.0));
    open_take(rig, first, 0.0);
    feed_well(rig, 0, cut);
    finish(rig, false);
    assert_int_equal(rig->live.n_shots, 1);
    check_first_pass(rig, first);
    const double begin_s = sh_clocks_get_now_s(&rig->clocks);
    open_take(rig, second, begin_s);
    feed_well(rig, cut, n_all(rig));
    finish(rig, false);
    assert_int_equal(rig->live.n_shots, 2);
    check_first_pass(rig, second);
    for (size_t i = 0; i < 2; i++) {
        const struct sh_shot *shot = &rig->live.shots[i].shot;
        assert_int_equal(shot->n, i + 1);
        double expected_s = true_time_s(RATE_HZ * truth[i + 1].release_s) - begin_s;
        assert_near(shot->event_s[SH_EVENT_RELEASE].value, expected_s, 0.002, 0);
    }
    close_rig(rig);
}

/* A fresh line may put an anchor before the time of the last: it is left out, not refused. */
static void test_an_anchor_that_would_go_back_is_left_out(void **state)
{
    struct rig *rig = open_rig(1);
    char first[SCRATCH_PATH_BYTES];
    char second[SCRATCH_PATH_BYTES];
    scratch_path(&rig->scratch, "first", first);
    scratch_path(&rig->scratch, "second", second);
    open_take(rig, first, 0.0);
    feed_well(rig, 0, 8998);
    finish(rig, false);
    const double begin_s = sh_clocks_get_now_s(&rig->clocks);
    open_take(rig, second, begin_s);
    rig->shift_s = -0.01;
    feed_well(rig, 8998, n_all(rig));
    finish(rig, false);
    struct collector got;
    struct sh_recording_reader *reader = read_folder(second, &got);
    const struct sh_timebase *timebase =
        &sh_recording_reader_session(reader)->streams[0].timebase;
    assert_int_equal(got.streams[0].n_frames, n_all(rig) - 8998);
    assert_int_equal(timebase->anchors[1].frame, 1002); /* not 2 */
    for (size_t i = 1; i < timebase->n_anchors; i++) {
        assert_true(timebase->anchors[i].time_s > timebase->anchors[i - 1].time_s);
    }
    sh_recording_reader_close(&reader);
    collector_close(&got);
    close_rig(rig);
}

static void test_a_sensor_that_never_spoke_leaves_nothing(void **state)
{
    struct rig *rig = open_rig(1);
    char folder[SCRATCH_PATH_BYTES];
    struct sh_segmenter_state now = {.n_shots = 7};
    const struct sh_frame_counts counts = {.damaged = 3};
    scratch_path(&rig->scratch, "none", folder);
    open_take(rig, folder, 0.0);
    sh_take_set_counts(rig->take, 0, &counts);
    sh_take_get_state(rig->take, &now);
    assert_int_equal(now.n_shots, 0);
    assert_int_equal(now.phase, SH_SEGMENTER_UNKNOWN);
    assert_false(sh_take_has_folder(rig->take));
    finish(rig, true);
    assert_false(scratch_exists(folder));
    close_rig(rig);
}

static void test_marks_and_counts_are_kept(void **state)
{
    struct rig *rig = open_rig(1);
    char folder[SCRATCH_PATH_BYTES];
    const struct sh_mark note = {.t_s = 1.25, .kind = SH_MARK_NOTE, .text = "new tab"};
    const struct sh_frame_counts counts = {.good = 2000, .damaged = 3, .skipped_bytes = 40};
    struct sh_error err = {0};
    scratch_path(&rig->scratch, "marked", folder);
    open_take(rig, folder, 0.0);
    assert_int_equal(sh_take_add_mark(rig->take, &note, &err), SH_OK);
    assert_true(sh_take_has_folder(rig->take)); /* a mark is kept though no sample has come */
    feed_well(rig, 0, 2000);
    sh_take_set_counts(rig->take, 0, &counts);
    finish(rig, false);
    struct collector got;
    struct sh_recording_reader *reader = read_folder(folder, &got);
    const struct sh_session *session = sh_recording_reader_session(reader);
    assert_int_equal(session->n_marks, 1);
    assert_string_equal(session->marks[0].text, "new tab");
    assert_near(session->marks[0].t_s, 1.25, 0, 0);
    assert_int_equal(session->streams[0].frames.damaged, 3);
    assert_int_equal(session->streams[0].frames.skipped_bytes, 40);
    assert_int_equal(got.streams[0].n_frames, 2000);
    sh_recording_reader_close(&reader);
    collector_close(&got);
    close_rig(rig);
}

/* What is said while it runs is on the disk at once; before any sample, too. */
static void test_tags_and_marks_taken_back(void **state)
{
    struct rig *rig = open_rig(1);
    char folder[SCRATCH_PATH_BYTES];
    const struct sh_mark notes[] = {{.t_s = 1.25, .kind = SH_MARK_NOTE, .text = "first"},
                                    {.t_s = 1.5, .kind = SH_MARK_NOTE, .text = "second"}};
    const struct sh_tag tag = {.key = "tab", .value = "thick"};
    const struct sh_tag bad = {.key = "tab", .value = "\xff"};
    struct sh_session session = {.n_streams = 0};
    struct sh_error err = {0};
    scratch_path(&rig->scratch, "tagged", folder);
    open_take(rig, folder, 0.0);
    assert_null(sh_take_get_session(rig->take));
    assert_int_equal(sh_take_remove_mark(rig->take, 0, &err), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_take_set_tag(rig->take, &tag, NULL), SH_OK);
    assert_true(sh_take_has_folder(rig->take));
    assert_int_equal(sh_take_add_mark(rig->take, &notes[0], NULL), SH_OK);
    feed_well(rig, 0, 2000);
    assert_int_equal(sh_take_add_mark(rig->take, &notes[1], NULL), SH_OK);
    assert_int_equal(sh_take_set_tag(rig->take, &bad, NULL), SH_ERR_FORMAT);
    assert_int_equal(sh_take_get_session(rig->take)->n_marks, 2);
    assert_int_equal(sh_take_remove_mark(rig->take, 0, NULL), SH_OK);
    assert_int_equal(sh_session_json_read(folder, &session, NULL, NULL), SH_OK);
    assert_int_equal(session.n_tags, 1);
    assert_string_equal(session.tags[0].value, "thick");
    assert_int_equal(session.n_marks, 1);
    assert_string_equal(session.marks[0].text, "second");
    sh_session_close(&session);
    finish(rig, false);
    close_rig(rig);
}

static void test_flac_where_asked_for(void **state)
{
    struct rig *rig = open_rig(1);
    char folder[SCRATCH_PATH_BYTES];
    char file[SCRATCH_PATH_BYTES];
    scratch_path(&rig->scratch, "small", folder);
    open_take(rig, folder, 0.0);
    feed_well(rig, 0, n_all(rig));
    finish(rig, true);
    scratch_path(&rig->scratch, "small/string.flac", file);
    assert_true(scratch_exists(file));
    scratch_path(&rig->scratch, "small/string.wav", file);
    assert_false(scratch_exists(file));
    check_first_pass(rig, folder);
    close_rig(rig);
}

static void test_without_a_finish_it_is_what_a_kill_leaves(void **state)
{
    struct rig *rig = open_rig(1);
    char folder[SCRATCH_PATH_BYTES];
    scratch_path(&rig->scratch, "killed", folder);
    open_take(rig, folder, 0.0);
    feed_well(rig, 0, 4321);
    sh_take_close(&rig->take);
    struct collector got;
    struct sh_recording_reader *reader = read_folder(folder, &got);
    assert_in_range(got.streams[0].n_frames, 4321 - 1000, 4321);
    sh_recording_reader_close(&reader);
    collector_close(&got);
    close_rig(rig);
}

static void test_what_fails_comes_back(void **state)
{
    struct rig *rig = open_rig(1);
    char folder[SCRATCH_PATH_BYTES];
    struct sh_error there = {0};
    scratch_path(&rig->scratch, "there", folder);
    assert_int_equal(mkdir(folder, 0700), 0);
    open_take(rig, folder, 0.0);
    assert_int_equal(feed(rig, 0, 400, &there), SH_ERR_EXISTS);
    assert_true(strlen(there.todo) > 0);
    sh_take_close(&rig->take);

    struct sh_error stopped = {0};
    scratch_path(&rig->scratch, "stopped", folder);
    rig->refusal = SH_ERR_BUSY;
    sh_clocks_close(&rig->clocks);
    assert_int_equal(sh_clocks_init(&rig->clocks, rig->simulation.session), SH_OK);
    open_take(rig, folder, 0.0);
    assert_int_equal(feed(rig, 0, n_all(rig), &stopped), SH_ERR_BUSY);
    assert_string_equal(stopped.what, "asked to stop");
    close_rig(rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_live_is_the_first_pass_of_the_file),
        cmocka_unit_test(test_a_second_take_while_the_sensor_runs),
        cmocka_unit_test(test_shots_of_the_second_take),
        cmocka_unit_test(test_an_anchor_that_would_go_back_is_left_out),
        cmocka_unit_test(test_a_sensor_that_never_spoke_leaves_nothing),
        cmocka_unit_test(test_marks_and_counts_are_kept),
        cmocka_unit_test(test_tags_and_marks_taken_back),
        cmocka_unit_test(test_flac_where_asked_for),
        cmocka_unit_test(test_without_a_finish_it_is_what_a_kill_leaves),
        cmocka_unit_test(test_what_fails_comes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
