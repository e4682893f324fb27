/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_draws.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/correction_file.h"
#include "app/passes.h"
#include "app/recorded.h"
#include "recording/scratch.h"
#include "report/analysis_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAWS     4u
#define MARKS_MAX 8u

/* An evening on disk, run through the stages as a capture does, and corrected meanwhile. */
struct rig {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_thresholds thresholds;
    struct sh_recording_reader *reader;
    struct sh_pipeline *pipeline;
    struct sh_live_draws draws;
    struct sh_analysis shots;
    struct sh_mark marks[MARKS_MAX]; /* corrections, as the folder has them */
    size_t n_marks;
    size_t n_limits;
    void (*meanwhile)(struct rig *rig); /* once two draws are there; NULL: nothing */
};

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct rig *rig = context;
    assert_int_equal(sh_live_draws_add(&rig->draws, &record->shot, view), SH_OK);
    return sh_analysis_add(&rig->shots, record);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct rig *rig = context;
    const struct sh_block_sink sink = sh_pipeline_get_sink(rig->pipeline);
    enum sh_status status = sink.block(sink.context, block, err);
    if (rig->shots.n_shots == 2 && rig->meanwhile != NULL) {
        rig->meanwhile(rig);
        rig->meanwhile = NULL;
    }
    return status;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct rig *rig = context;
    const struct sh_block_sink sink = sh_pipeline_get_sink(rig->pipeline);
    return sink.anchor(sink.context, stream, anchor, err);
}

/* What the draws add up to reaches a limit with the first of them. */
static void put_limit(struct rig *rig)
{
    const struct sh_mark limit = {.kind = SH_MARK_LIMIT,
                                  .what = "finger_impulse_n_s",
                                  .finger = "ring",
                                  .per = "session",
                                  .most = {true, 20.0}};
    assert_int_equal(sh_correction_file_add(rig->folder, &limit, 1, NULL), SH_OK);
    rig->n_limits = 1;
}

static struct rig *open_rig(void (*meanwhile)(struct rig *rig))
{
    struct rig *rig = calloc(1, sizeof *rig);
    struct sh_simulation_config config = sh_simulation_config_default();
    const struct sh_recording_reader_config reading = sh_recording_reader_config_default();
    assert_non_null(rig);
    scratch_open(&rig->scratch);
    scratch_path(&rig->scratch, "evening", rig->folder);
    config.set = "fingers_bow";
    config.athlete = "teal";
    config.n_draws = DRAWS;
    config.seed = 11;
    recorded_write(&config, rig->folder);
    put_limit(rig);
    rig->meanwhile = meanwhile;
    rig->thresholds = sh_thresholds_default();
    assert_int_equal(sh_recording_reader_open(rig->folder, &reading, &rig->reader, NULL),
                     SH_OK);
    const struct sh_session *session = sh_recording_reader_session(rig->reader);
    const struct sh_pipeline_config stages = {.session = session,
                                              .thresholds = &rig->thresholds,
                                              .reading = SH_TIMEBASE_FORWARD,
                                              .sink = {take_record, rig}};
    sh_analysis_init(&rig->shots, "evening", "teal");
    assert_int_equal(sh_pipeline_open(&stages, &rig->pipeline, NULL), SH_OK);
    const struct sh_block_sink sink = {take_block, take_anchor, rig};
    assert_int_equal(sh_recording_reader_push(rig->reader, &sink, NULL), SH_OK);
    assert_int_equal(sh_pipeline_flush(rig->pipeline, NULL), SH_OK);
    assert_int_equal(rig->shots.n_shots, DRAWS);
    return rig;
}

static void close_rig(struct rig *rig)
{
    sh_pipeline_close(&rig->pipeline);
    sh_recording_reader_close(&rig->reader);
    sh_live_draws_close(&rig->draws);
    sh_analysis_close(&rig->shots);
    scratch_close(&rig->scratch);
    free(rig);
}

/* Measures all that is to be, and puts it in its place. How many draws that were. */
static size_t measure(struct rig *rig)
{
    struct sh_remeasure *job = NULL;
    assert_int_equal(sh_live_draws_plan(&rig->draws, &job), SH_OK);
    if (job == NULL) {
        return 0;
    }
    const size_t n = job->n;
    memcpy(job->folder, rig->folder, sizeof rig->folder);
    sh_remeasure_run(job);
    if (job->status != SH_OK) {
        fail_msg("%s", job->err.what);
    }
    sh_live_draws_put(&rig->draws, job, &rig->shots);
    sh_pipeline_amend(rig->pipeline, rig->shots.shots, rig->shots.n_shots);
    sh_remeasure_close(&job);
    assert_null(job);
    return n;
}

static struct sh_mark
make_mark(const struct rig *rig, unsigned n, enum sh_event event, double shift_s)
{
    const struct sh_shot *shot = &rig->shots.shots[n - 1].shot;
    struct sh_mark mark = {.t_s = sh_analysis_get_time_s(&rig->shots.shots[n - 1]),
                           .kind = SH_MARK_CORRECTION,
                           .shot = {true, (double)n},
                           .value_s = {true, shot->event_s[event].value + shift_s}};
    (void)snprintf(mark.event, sizeof mark.event, "%s", sh_shot_event_stem(event));
    return mark;
}

static void put_mark(struct rig *rig, const struct sh_mark *mark)
{
    assert_true(rig->n_marks < MARKS_MAX);
    assert_int_equal(sh_live_draws_check(&rig->draws, rig->marks, rig->n_marks, mark, NULL),
                     SH_OK);
    assert_int_equal(sh_correction_file_add(rig->folder, mark, 1, NULL), SH_OK);
    rig->marks[rig->n_marks++] = *mark;
    assert_int_equal(sh_live_draws_correct(&rig->draws, rig->marks, rig->n_marks), SH_OK);
}

static void take_mark_back(struct rig *rig)
{
    rig->n_marks--;
    assert_int_equal(sh_correction_file_remove(rig->folder, rig->n_limits + rig->n_marks, NULL),
                     SH_OK);
    assert_int_equal(sh_live_draws_correct(&rig->draws, rig->marks, rig->n_marks), SH_OK);
}

static char *make_json(const struct sh_analysis *analysis)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_json_write(analysis, &text), SH_OK);
    return text.data; /* the caller frees it */
}

/* The first pass over the folder as it now is gives all the shots, to the last byte. */
static void check_first_pass(struct rig *rig)
{
    const struct sh_passes_config config = {.thresholds = &rig->thresholds,
                                            .is_first_only = true};
    struct sh_analysis read = {0};
    assert_int_equal(sh_passes_run(rig->folder, &config, &read, NULL), SH_OK);
    rig->shots.duration_s = read.duration_s; /* what the sink cannot know */
    rig->shots.n_quality = read.n_quality;
    memcpy(rig->shots.quality, read.quality, sizeof read.quality);
    char *got = make_json(&rig->shots);
    char *expected = make_json(&read);
    assert_string_equal(got, expected);
    free(got);
    free(expected);
    sh_analysis_close(&read);
}

static double get_measure(const struct rig *rig, unsigned n, enum sh_measure measure)
{
    return sh_catalog_get(&rig->shots.shots[n - 1].measures, measure, 0)->value;
}

static void test_nothing_is_measured_without_corrections(void **state)
{
    struct rig *rig = open_rig(NULL);
    assert_int_equal(measure(rig), 0);
    assert_int_equal(sh_live_draws_correct(&rig->draws, NULL, 0), SH_OK);
    assert_int_equal(measure(rig), 0);
    const struct sh_shot_record *last = &rig->shots.shots[DRAWS - 1];
    size_t i = 0;
    while (i < last->n_findings && last->findings[i].code != SH_CODE_FINGER_LIMIT) {
        i++;
    }
    assert_true(i < last->n_findings); /* of all draws, so that it follows what is corrected */
    check_first_pass(rig);
    close_rig(rig);
}

static void test_a_corrected_draw_is_measured_anew(void **state)
{
    struct rig *rig = open_rig(NULL);
    const double hold_s = get_measure(rig, 2, SH_MEASURE_HOLD_TIME);
    const double force_n = get_measure(rig, 2, SH_MEASURE_HOLD_FORCE);
    const struct sh_mark mark = make_mark(rig, 2, SH_EVENT_FULL_DRAW, 0.2);
    put_mark(rig, &mark);
    assert_int_equal(measure(rig), 1);
    assert_int_equal(measure(rig), 0);
    assert_near(get_measure(rig, 2, SH_MEASURE_HOLD_TIME), hold_s - 0.2, 1e-9, 0.0);
    assert_true(fabs(get_measure(rig, 2, SH_MEASURE_HOLD_FORCE) - force_n) > 0.0);
    assert_true(rig->shots.shots[1].shot.is_corrected[SH_EVENT_FULL_DRAW]);
    check_first_pass(rig);
    close_rig(rig);
}

/* The next draw's set-up counts from there, and what the draws add up to is theirs. */
static void test_a_release_moves_what_hangs_on_it(void **state)
{
    struct rig *rig = open_rig(NULL);
    const double setup_s = get_measure(rig, 3, SH_MEASURE_SETUP_TIME);
    const struct sh_mark mark = make_mark(rig, 2, SH_EVENT_RELEASE, 0.1);
    put_mark(rig, &mark);
    assert_int_equal(measure(rig), 2);
    assert_near(get_measure(rig, 3, SH_MEASURE_SETUP_TIME), setup_s - 0.1, 1e-9, 0.0);
    check_first_pass(rig);
    close_rig(rig);
}

static void correct_both(struct rig *rig)
{
    const struct sh_mark release = make_mark(rig, 2, SH_EVENT_RELEASE, 0.1);
    const struct sh_mark start = make_mark(rig, 1, SH_EVENT_DRAW_START, 0.1);
    put_mark(rig, &release);
    put_mark(rig, &start);
    assert_int_equal(measure(rig), 2);
}

/* Draws that come after it count from the corrected ones. */
static void test_the_capture_goes_on_from_what_was_corrected(void **state)
{
    struct rig *rig = open_rig(correct_both);
    assert_int_equal(measure(rig), 0);
    check_first_pass(rig);
    close_rig(rig);
}

/* Found while draws come, measured after them: those between are measured anew as well. */
static void correct_late(struct rig *rig)
{
    const struct sh_mark release = make_mark(rig, 2, SH_EVENT_RELEASE, 0.1);
    put_mark(rig, &release);
}

static void test_draws_that_came_before_the_figures(void **state)
{
    struct rig *rig = open_rig(correct_late);
    assert_int_equal(measure(rig), 2);
    assert_int_equal(measure(rig), 0);
    check_first_pass(rig);
    close_rig(rig);
}

static void test_all_is_as_before_when_taken_back(void **state)
{
    struct rig *rig = open_rig(NULL);
    char *found = make_json(&rig->shots);
    const struct sh_mark click = make_mark(rig, 1, SH_EVENT_CLICKER, -0.05);
    struct sh_mark none = make_mark(rig, 1, SH_EVENT_CLICKER, 0.0);
    none.value_s = (struct sh_mark_number){.is_given = false};
    put_mark(rig, &click);
    assert_int_equal(measure(rig), 1);
    put_mark(rig, &none);
    assert_int_equal(measure(rig), 1);
    assert_false(sh_quantity_is_known(&rig->shots.shots[0].shot.event_s[SH_EVENT_CLICKER]));
    check_first_pass(rig);
    take_mark_back(rig);
    assert_int_equal(measure(rig), 1);
    check_first_pass(rig);
    take_mark_back(rig);
    put_mark(rig, &none); /* and back before anything was measured */
    take_mark_back(rig);
    assert_int_equal(measure(rig), 1);
    rig->shots.duration_s = 0.0;
    rig->shots.n_quality = 0;
    char *again = make_json(&rig->shots);
    assert_string_equal(again, found);
    free(found);
    free(again);
    close_rig(rig);
}

static void test_a_shot_that_was_a_let_down(void **state)
{
    struct rig *rig = open_rig(NULL);
    struct sh_mark mark = make_mark(rig, 2, SH_EVENT_RELEASE, -0.2);
    (void)snprintf(mark.event, sizeof mark.event, "let_down_s");
    put_mark(rig, &mark);
    assert_int_equal(measure(rig), 2); /* the set-up of the third counts from the first */
    assert_int_equal(rig->shots.shots[1].shot.kind, SH_SHOT_LET_DOWN);
    check_first_pass(rig);
    close_rig(rig);
}

static void test_what_does_not_go_is_refused(void **state)
{
    struct rig *rig = open_rig(NULL);
    struct sh_error err = {0};
    const struct sh_mark late = make_mark(rig, 2, SH_EVENT_FULL_DRAW, 10.0);
    const struct sh_mark early = make_mark(rig, 2, SH_EVENT_DRAW_START, -5.0);
    struct sh_mark other = make_mark(rig, 2, SH_EVENT_FULL_DRAW, 0.1);
    assert_int_equal(sh_live_draws_check(&rig->draws, NULL, 0, &late, &err), SH_ERR_ARGUMENT);
    assert_non_null(strstr(err.what, "full draw there does not go with"));
    assert_int_equal(sh_live_draws_check(&rig->draws, NULL, 0, &early, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_live_draws_check(&rig->draws, NULL, 0, &other, NULL), SH_OK);
    other.shot.value = 3.0; /* it lies in the second */
    assert_int_equal(sh_live_draws_check(&rig->draws, NULL, 0, &other, NULL), SH_ERR_ARGUMENT);
    /* beside an earlier correction, as one after the other */
    const struct sh_mark first = make_mark(rig, 2, SH_EVENT_DRAW_START, -2.0);
    const struct sh_mark second = make_mark(rig, 2, SH_EVENT_DRAW_START, -4.0);
    put_mark(rig, &first);
    assert_int_equal(measure(rig), 1);
    assert_int_equal(sh_live_draws_check(&rig->draws, rig->marks, 1, &second, NULL),
                     SH_ERR_ARGUMENT);
    close_rig(rig);
}

/* Failures come back, and the draws stay to be measured. */
static void test_a_folder_that_is_gone(void **state)
{
    struct rig *rig = open_rig(NULL);
    struct sh_remeasure *job = NULL;
    const struct sh_mark mark = make_mark(rig, 1, SH_EVENT_FULL_DRAW, 0.1);
    put_mark(rig, &mark);
    assert_int_equal(sh_live_draws_plan(&rig->draws, &job), SH_OK);
    scratch_path(&rig->scratch, "elsewhere", job->folder);
    sh_remeasure_run(job);
    assert_int_equal(job->status, SH_ERR_NOT_FOUND);
    assert_int_equal(job->err.status, SH_ERR_NOT_FOUND);
    sh_remeasure_close(&job);
    sh_remeasure_close(&job);
    assert_int_equal(measure(rig), 1);
    close_rig(rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_is_measured_without_corrections),
        cmocka_unit_test(test_a_corrected_draw_is_measured_anew),
        cmocka_unit_test(test_a_release_moves_what_hangs_on_it),
        cmocka_unit_test(test_the_capture_goes_on_from_what_was_corrected),
        cmocka_unit_test(test_draws_that_came_before_the_figures),
        cmocka_unit_test(test_all_is_as_before_when_taken_back),
        cmocka_unit_test(test_a_shot_that_was_a_let_down),
        cmocka_unit_test(test_what_does_not_go_is_refused),
        cmocka_unit_test(test_a_folder_that_is_gone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
