/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shelf.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/analysis_store.h"
#include "app/shelved.h"
#include "recording/person_json.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAWS 3u

struct place {
    struct shelved shelved;
    char folder[SCRATCH_PATH_BYTES];
    unsigned id;
};

/* An evening of heron on a shelf. */
static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct sh_simulation_config config = sh_simulation_config_default();
    assert_non_null(place);
    config.set = "force_bow";
    config.athlete = "heron";
    config.n_draws = DRAWS;
    config.seed = 7;
    shelved_open(&place->shelved);
    place->id = shelved_add(&place->shelved, &config, "evening", place->folder);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    shelved_close(&place->shelved);
    free(place);
    return 0;
}

static json_t *ask(const struct place *place, const char *path, const char *query, int status)
{
    return shelved_ask(&place->shelved, path, query, status);
}

static double get_number(const json_t *object, const char *key)
{
    assert_true(json_is_number(json_object_get(object, key)));
    return json_number_value(json_object_get(object, key));
}

/* Element i of a list of an object, or of the object's member. */
static const json_t *get_item(const json_t *object, const char *key, size_t i)
{
    const json_t *item = json_array_get(json_object_get(object, key), i);
    assert_non_null(item);
    return item;
}

static int compare(const void *a, const void *b)
{
    const double *x = a;
    const double *y = b;
    return (*x > *y) - (*x < *y);
}

/* The hold's median, out of the trace, is the measure: the same rest was taken off. */
static void check_trace(const json_t *trace, const json_t *shot)
{
    const json_t *channel = get_item(trace, "channels", 0);
    const json_t *events = json_object_get(trace, "events");
    double full_s = get_number(events, "full_draw_s");
    size_t n = json_array_size(json_object_get(channel, "t"));
    size_t n_hold = 0;
    double *hold_n = malloc((n + 1) * sizeof *hold_n);
    assert_non_null(hold_n);
    for (size_t i = 0; i < n; i++) {
        double t = json_number_value(get_item(channel, "t", i));
        if (t >= full_s && t < -0.05) {
            hold_n[n_hold++] = json_number_value(get_item(channel, "lo", i));
        }
    }
    assert_true(n_hold > 100);
    qsort(hold_n, n_hold, sizeof *hold_n, compare);
    assert_near(hold_n[n_hold / 2],
                get_number(json_object_get(shot, "measures"), "hold_force_n"), 0.05, 0.0);
    free(hold_n);
}

static void test_shots_and_their_close_ups(void **state)
{
    struct place *place = *state;
    json_t *shots = ask(place, "/api/recordings/1/shots", "", 200);
    assert_int_equal(json_array_size(json_object_get(shots, "shots")), DRAWS);
    assert_true(json_is_true(json_object_get(shots, "is_final")));
    assert_string_equal(json_string_value(json_object_get(shots, "athlete")), "heron");
    assert_string_equal(json_string_value(json_object_get(shots, "name")), "evening");
    for (unsigned n = 1; n <= DRAWS; n++) {
        char path[64];
        (void)snprintf(path, sizeof path, "/api/recordings/1/shots/%u/trace", n);
        json_t *trace = ask(place, path, "align=release&from=-8&to=1&points=8000", 200);
        const json_t *shot = get_item(shots, "shots", n - 1);
        assert_near(get_number(trace, "align_s"),
                    get_number(json_object_get(shot, "events"), "release_s"), 1e-6, 0.0);
        assert_int_equal(json_array_size(json_object_get(trace, "channels")), 4);
        assert_true(json_is_object(json_object_get(trace, "trend")));
        check_trace(trace, shot);
        json_decref(trace);
        (void)snprintf(path, sizeof path, "/api/recordings/1/shots/%u/spectrum", n);
        json_t *spectrum = ask(place, path, "", 200);
        assert_int_equal(json_array_size(json_object_get(spectrum, "series")), 2);
        json_decref(spectrum);
    }
    json_decref(shots);
}

static void test_session_wave_and_hello(void **state)
{
    struct place *place = *state;
    struct sh_text text;
    for (int again = 0; again < 2; again++) {
        json_t *session = ask(place, "/api/recordings/1/session", "", 200);
        assert_int_equal(json_array_size(json_object_get(session, "spectra")), DRAWS);
        assert_int_equal(
            json_array_size(json_object_get(json_object_get(session, "hold"), "n")), DRAWS);
        json_decref(session);
        json_t *wave = ask(place, "/api/recordings/1/wave", "from=0&to=30&points=300", 200);
        assert_int_equal(json_array_size(json_object_get(wave, "channels")), 4);
        assert_true(json_array_size(json_object_get(get_item(wave, "channels", 0), "lo")) >
                    250);
        json_decref(wave);
    }
    sh_text_init(&text, 0);
    sh_text_puts(&text, "{\"type\":\"hello\"");
    sh_shelf_write_hello(place->shelved.shelf, place->id, &text);
    sh_text_puts(&text, "}");
    json_t *hello = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(hello);
    assert_int_equal(json_array_size(json_object_get(hello, "channels")), 4);
    assert_near(get_number(get_item(hello, "recordings", 0), "n_shots"), DRAWS, 0.0, 0.0);
    assert_near(get_number(hello, "current"), 1.0, 0.0, 0.0);
    json_decref(hello);
    sh_text_close(&text);
}

static void test_people(void **state)
{
    struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    struct sh_person person = {.name = "teal of the kiln"};
    scratch_path(&place->shelved.scratch, "people", path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_int_equal(sh_person_json_write(place->shelved.scratch.folder, &person, NULL, NULL),
                     SH_OK);
    json_t *people = ask(place, "/api/people", "", 200);
    assert_int_equal(json_array_size(json_object_get(people, "people")), 2);
    const json_t *heron = get_item(people, "people", 0);
    assert_string_equal(json_string_value(json_object_get(heron, "name")), "heron");
    assert_near(get_number(heron, "n_recordings"), 1.0, 0.0, 0.0);
    assert_string_equal(
        json_string_value(json_object_get(get_item(people, "people", 1), "name")),
        "teal of the kiln");
    json_decref(people);
}

static void test_what_is_not_there(void **state)
{
    static const struct {
        const char *path;
        const char *query;
        int status;
    } cases[] = {
        {"/api/recordings/2/shots", "", 404},
        {"/api/recordings/0/shots", "", 404},
        {"/api/recordings/01/shots", "", 404},
        {"/api/recordings/99999999999999999999/shots", "", 404},
        {"/api/recordings/1", "", 404},
        {"/api/recordings/1/", "", 404},
        {"/api/recordings/../evening/shots", "", 404},
        {"/api/recordings/1/../../etc/passwd", "", 404},
        {"/api/recordings/1/shots/4/trace", "", 404},
        {"/api/recordings/1/shots/1/trace/", "", 404},
        {"/api/recordings/1/shots/-1/trace", "", 404},
        {"/api/recordings/1/shots/1/trace", "align=end", 400},
        {"/api/recordings/1/shots/1/trace", "from=x", 400},
        {"/api/recordings/1/shots/1/trace", "from=-61", 400},
        {"/api/recordings/1/shots/1/trace", "points=0", 400},
        {"/api/recordings/1/wave", "from=2&to=1", 400},
        {"/api/recordings/1/wave", "points=99999", 400},
        {"/api/nothing", "", 404},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        json_t *answer = ask(*state, cases[i].path, cases[i].query, cases[i].status);
        assert_true(json_is_string(json_object_get(answer, "error")));
        json_decref(answer);
    }
}

static enum sh_status edit(struct place *place, const char *text)
{
    struct sh_error err = {.status = SH_OK};
    json_t *object = json_loads(text, 0, NULL);
    assert_non_null(object);
    enum sh_status status = sh_shelf_edit(place->shelved.shelf, place->id, object, &err);
    assert_int_equal(err.status, status);
    json_decref(object);
    return status;
}

static double get_click_s(struct place *place)
{
    json_t *shots = ask(place, "/api/recordings/1/shots", "", 200);
    double click_s =
        get_number(json_object_get(get_item(shots, "shots", 1), "events"), "clicker_s");
    json_decref(shots);
    return click_s;
}

static void test_scores_notes_tags(void **state)
{
    struct place *place = *state;
    assert_int_equal(edit(place, "{\"do\":\"score\",\"shot\":2,\"score\":9}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"note\",\"shot\":2,\"text\":\"low\"}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"note\",\"text\":\"rain\"}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"tag\",\"key\":\"tab\",\"value\":\"new\"}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"tag\",\"key\":\"day\",\"value\":\"hot\"}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"tag\",\"key\":\"day\",\"value\":\"\"}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"pain\",\"when\":\"after\",\"rating\":1}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"pain\",\"when\":\"during\",\"rating\":2}"), SH_OK);
    assert_int_equal(edit(place, "{\"do\":\"end\",\"scores\":[9,9,8]}"), SH_OK);
    assert_true(sh_analysis_store_is_fresh(place->folder));
    json_t *shots = ask(place, "/api/recordings/1/shots", "", 200);
    const json_t *shot = get_item(shots, "shots", 1);
    assert_near(get_number(shot, "score"), 9.0, 0.0, 0.0);
    assert_string_equal(json_string_value(get_item(shot, "notes", 0)), "low");
    assert_true(json_is_null(json_object_get(get_item(shots, "shots", 0), "score")));
    const json_t *tags = json_object_get(shots, "tags");
    assert_string_equal(json_string_value(json_object_get(tags, "tab")), "new");
    assert_null(json_object_get(tags, "day"));
    assert_true(json_array_size(json_object_get(shots, "marks")) >= 5);
    json_decref(shots);
}

static void test_correct_and_undo(void **state)
{
    struct place *place = *state;
    char text[160];
    double found_s = get_click_s(place);
    (void)snprintf(text, sizeof text,
                   "{\"do\":\"correct\",\"shot\":2,\"event\":\"clicker_s\",\"value_s\":%.6f}",
                   found_s - 0.25);
    assert_int_equal(edit(place, text), SH_OK);
    assert_near(get_click_s(place), found_s - 0.25, 1e-5, 0.0);
    json_t *shots = ask(place, "/api/recordings/1/shots", "", 200);
    assert_string_equal(
        json_string_value(get_item(get_item(shots, "shots", 1), "corrected", 0)), "clicker_s");
    json_decref(shots);
    assert_int_equal(edit(place, "{\"do\":\"undo\",\"shot\":2,\"event\":\"clicker_s\"}"),
                     SH_OK);
    assert_near(get_click_s(place), found_s, 1e-9, 0.0);
    assert_int_equal(edit(place, "{\"do\":\"undo\",\"shot\":2,\"event\":\"clicker_s\"}"),
                     SH_ERR_NOT_FOUND);
    (void)snprintf(text, sizeof text,
                   "{\"do\":\"correct\",\"shot\":2,\"event\":\"clicker_s\",\"value_s\":%.6f}",
                   found_s + 1.5);
    assert_int_equal(edit(place, text), SH_ERR_ARGUMENT);
    assert_near(get_click_s(place), found_s, 1e-9, 0.0);
}

static void test_edits_that_are_refused(void **state)
{
    static const char *const bad[] = {
        "{\"do\":\"score\",\"shot\":2,\"score\":11}",
        "{\"do\":\"score\",\"shot\":2,\"score\":\"x\"}",
        "{\"do\":\"score\",\"score\":9}",
        "{\"do\":\"end\",\"scores\":[]}",
        "{\"do\":\"end\",\"scores\":[9,-1]}",
        "{\"do\":\"note\",\"text\":\"\"}",
        "{\"do\":\"tag\",\"value\":\"x\"}",
        "{\"do\":\"pain\",\"when\":\"now\",\"rating\":3}",
        "{\"do\":\"pain\",\"when\":\"after\",\"rating\":11}",
        "{\"do\":\"correct\",\"shot\":2,\"event\":\"noon\",\"value_s\":1}",
        "{\"do\":\"correct\",\"shot\":2,\"event\":\"clicker_s\"}",
        "{\"do\":\"undo\",\"shot\":2}",
        "{\"do\":\"dance\"}",
        "{}",
    };
    struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%.400s/recording.json", place->folder);
    char *before = scratch_read(path, NULL);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(edit(place, bad[i]), SH_ERR_ARGUMENT);
    }
    assert_int_equal(edit(place, "{\"do\":\"score\",\"shot\":9,\"score\":9}"),
                     SH_ERR_NOT_FOUND);
    char *after = scratch_read(path, NULL);
    assert_string_equal(before, after);
    free(before);
    free(after);
}

/* The evening as it runs, two shots of its analysis there: its id. */
static unsigned begin_with_two(struct place *place, struct sh_analysis *analysis)
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    unsigned id = 0;
    assert_int_equal(sh_analysis_store_get(place->folder, &thresholds, analysis, NULL), SH_OK);
    shelved_reopen(&place->shelved);
    assert_int_equal(sh_shelf_begin(place->shelved.shelf, place->folder, &id, NULL), SH_OK);
    assert_int_equal(sh_shelf_put_shot(place->shelved.shelf, id, &analysis->shots[0]), SH_OK);
    assert_int_equal(sh_shelf_put_shot(place->shelved.shelf, id, &analysis->shots[1]), SH_OK);
    return id;
}

/* Shots come while a recording runs; it is not edited by the shelf meanwhile. */
static void test_running_recording(void **state)
{
    struct place *place = *state;
    struct sh_analysis analysis;
    const unsigned id = begin_with_two(place, &analysis);
    assert_int_equal(sh_shelf_put_shot(place->shelved.shelf, 7, &analysis.shots[1]),
                     SH_ERR_NOT_FOUND);
    json_t *shots = ask(place, "/api/recordings/1/shots", "", 200);
    assert_true(json_is_false(json_object_get(shots, "is_final")));
    assert_int_equal(json_array_size(json_object_get(shots, "shots")), 2);
    json_decref(shots);
    json_decref(ask(place, "/api/recordings/1/shots/2/trace", "", 200));
    json_decref(ask(place, "/api/recordings/1/session", "", 200));
    json_decref(ask(place, "/api/recordings/1/wave", "", 404));
    assert_int_equal(edit(place, "{\"do\":\"score\",\"shot\":2,\"score\":9}"), SH_ERR_BUSY);
    sh_shelf_end(place->shelved.shelf, id);
    assert_int_equal(sh_shelf_put_shot(place->shelved.shelf, id, &analysis.shots[2]),
                     SH_ERR_NOT_FOUND);
    shots = ask(place, "/api/recordings/1/shots", "", 200);
    assert_true(json_is_true(json_object_get(shots, "is_final")));
    assert_int_equal(json_array_size(json_object_get(shots, "shots")), DRAWS);
    json_decref(shots);
    sh_analysis_close(&analysis);
}

static double get_hold_s(struct place *place, size_t i)
{
    json_t *session = ask(place, "/api/recordings/1/session", "", 200);
    const json_t *values = json_object_get(json_object_get(session, "hold"), "value_s");
    const double hold_s = json_number_value(json_array_get(values, i));
    json_decref(session);
    return hold_s;
}

static json_t *get_spectra(struct place *place)
{
    json_t *session = ask(place, "/api/recordings/1/session", "", 200);
    json_t *spectra = json_incref(json_object_get(session, "spectra"));
    json_decref(session);
    return spectra;
}

/* A shot that was corrected while the recording runs: list, charts and spectra are of it. */
static void test_a_shot_is_replaced_while_it_runs(void **state)
{
    struct place *place = *state;
    struct sh_analysis analysis;
    const unsigned id = begin_with_two(place, &analysis);
    const double hold_s = get_hold_s(place, 1);
    json_t *before = get_spectra(place);
    struct sh_shot_record *record = &analysis.shots[1];
    record->shot.event_s[SH_EVENT_FULL_DRAW].value += 0.6;
    sh_catalog_get_mutable(&record->measures, SH_MEASURE_HOLD_TIME, 0)->value -= 0.6;
    assert_int_equal(sh_shelf_replace_shot(place->shelved.shelf, id, record), SH_OK);
    assert_near(get_hold_s(place, 1), hold_s - 0.6, 1e-4, 0.0);
    json_t *after = get_spectra(place);
    assert_true(json_equal(json_array_get(before, 0), json_array_get(after, 0)));
    assert_false(json_equal(json_array_get(before, 1), json_array_get(after, 1)));
    json_decref(before);
    json_decref(after);
    assert_int_equal(sh_shelf_replace_shot(place->shelved.shelf, id, &analysis.shots[2]),
                     SH_ERR_NOT_FOUND);
    assert_int_equal(sh_shelf_replace_shot(place->shelved.shelf, 7, record), SH_ERR_NOT_FOUND);
    sh_shelf_end(place->shelved.shelf, id);
    assert_int_equal(sh_shelf_replace_shot(place->shelved.shelf, id, record), SH_ERR_NOT_FOUND);
    sh_analysis_close(&analysis);
}

static void test_event_and_numbers(void **state)
{
    struct place *place = *state;
    unsigned id = 0;
    struct sh_text text;
    struct sh_error err = {.status = SH_OK};
    sh_text_init(&text, 0);
    sh_shelf_write_event(place->shelved.shelf, 1, "final", &text);
    assert_string_equal(text.data, "{\"type\":\"recording\",\"id\":1,\"name\":\"evening\","
                                   "\"athlete\":\"heron\",\"event\":\"final\"}");
    sh_text_close(&text);
    assert_int_equal(sh_shelf_add(place->shelved.shelf, place->folder, &id, NULL), SH_OK);
    assert_int_equal(id, 1);
    assert_int_equal(sh_shelf_count(place->shelved.shelf), 1);
    assert_int_equal(sh_shelf_get_latest(place->shelved.shelf), 1);
    assert_int_equal(sh_shelf_add(place->shelved.shelf, "/nowhere/at/all", &id, &err),
                     SH_ERR_NOT_FOUND);
    assert_int_equal(sh_shelf_load(place->shelved.shelf, 5, NULL), SH_ERR_NOT_FOUND);
}

static void *ask_often(void *context)
{
    static const char *const paths[] = {
        "/api/recordings/1/shots", "/api/recordings/1/shots/1/trace",
        "/api/recordings/1/session", "/api/recordings/1/wave", "/api/people"};
    struct place *place = context;
    size_t n_bad = 0;
    for (size_t i = 0; i < 10; i++) {
        struct sh_text text;
        sh_text_init(&text, 0);
        n_bad += sh_shelf_answer(place->shelved.shelf, paths[i % 5], "", &text) == 200 ? 0 : 1;
        sh_text_close(&text);
    }
    return n_bad == 0 ? place : NULL;
}

/* Four at once, the first of whom meet an analysis that is not there, and edits between. */
static void test_several_at_once(void **state)
{
    struct place *place = *state;
    pthread_t threads[4];
    shelved_reopen(&place->shelved);
    assert_int_equal(sh_shelf_add(place->shelved.shelf, place->folder, &place->id, NULL),
                     SH_OK);
    pthread_attr_t small; /* as the HTTP library's threads */
    assert_int_equal(pthread_attr_init(&small), 0);
    assert_int_equal(pthread_attr_setstacksize(&small, 102400), 0);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(pthread_create(&threads[i], &small, ask_often, place), 0);
    }
    assert_int_equal(pthread_attr_destroy(&small), 0);
    assert_int_equal(edit(place, "{\"do\":\"score\",\"shot\":1,\"score\":8}"), SH_OK);
    for (size_t i = 0; i < 4; i++) {
        void *answer = NULL;
        assert_int_equal(pthread_join(threads[i], &answer), 0);
        assert_ptr_equal(answer, place);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shots_and_their_close_ups),
        cmocka_unit_test(test_session_wave_and_hello),
        cmocka_unit_test(test_people),
        cmocka_unit_test(test_what_is_not_there),
        cmocka_unit_test(test_edits_that_are_refused),
        cmocka_unit_test(test_scores_notes_tags),
        cmocka_unit_test(test_correct_and_undo),
        cmocka_unit_test(test_event_and_numbers),
        cmocka_unit_test(test_several_at_once),
        cmocka_unit_test(test_running_recording),
        cmocka_unit_test(test_a_shot_is_replaced_while_it_runs),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
