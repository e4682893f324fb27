/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/program.h"
#include "recording/folder_lock.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"
#include "support/near.h"

/* `inspect` and a person's corrections, through the real program. */

#define DRAWS 2u

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char page[SCRATCH_PATH_BYTES];
};

/* What the program said: to be closed. */
struct answer {
    int status;
    char *out;
    char *err;
};

static void close_answer(struct answer *answer)
{
    free(answer->out);
    free(answer->err);
}

static struct answer run(const struct place *place, const char *const *words)
{
    struct program program;
    struct answer answer = {.status = program_run(&program, &place->scratch, "run", words)};
    answer.out = program_read_out(&program);
    answer.err = program_read_err(&program);
    return answer;
}

/* inspect FOLDER 1 and up to three more words. */
static struct answer
inspect(const struct place *place, const char *a, const char *b, const char *c)
{
    const char *words[] = {"inspect", place->folder, "1", a, b, c, NULL};
    return run(place, words);
}

static void check_ok(struct answer answer)
{
    if (answer.status != 0) {
        fail_msg("status %d: %s", answer.status, answer.err);
    }
    assert_string_equal(answer.err, "");
    close_answer(&answer);
}

/* Status and the words that must stand in its one line. */
static void check_refused(struct answer answer, int status, const char *says)
{
    assert_int_equal(answer.status, status);
    assert_string_equal(answer.out, "");
    if (strstr(answer.err, says) == NULL) {
        fail_msg("'%s' is missing in: %s", says, answer.err);
    }
    assert_ptr_equal(strchr(answer.err, '\n'), answer.err + strlen(answer.err) - 1);
    close_answer(&answer);
}

/* A recording of two draws; a contact alone is soon analysed. */
static int open_set(void **state, const char *set)
{
    static struct place place;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "evening", place.folder);
    scratch_path(&place.scratch, "evening/recording.json", place.json);
    scratch_path(&place.scratch, "page.html", place.page);
    const char *words[] = {"simulate", "--out",  place.folder, "--set",     set,     "--draws",
                           "2",        "--seed", "6",          "--athlete", "heron", NULL};
    struct answer answer = run(&place, words);
    assert_int_equal(answer.status, 0);
    close_answer(&answer);
    *state = &place;
    return 0;
}

static int open_place(void **state)
{
    return open_set(state, "contact");
}

static int open_full_place(void **state)
{
    return open_set(state, "fingers_bow");
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

/* The analysis, or with first_pass that of the first pass; to be released. */
static json_t *analyze(const struct place *place, bool is_first)
{
    const char *words[] = {
        "analyze", place->folder, "--format", "json", is_first ? "--first-pass" : NULL, NULL};
    struct answer answer = run(place, words);
    assert_int_equal(answer.status, 0);
    json_t *root = json_loads(answer.out, 0, NULL);
    assert_non_null(root);
    close_answer(&answer);
    return root;
}

static const json_t *get_shot(const json_t *root, size_t i)
{
    return json_array_get(json_object_get(root, "shots"), i);
}

static const json_t *get_event(const json_t *root, size_t i, const char *key)
{
    return json_object_get(json_object_get(get_shot(root, i), "events"), key);
}

static double get_event_s(const json_t *root, size_t i, const char *key)
{
    const json_t *value = get_event(root, i, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static bool has_code(const json_t *list, const char *code)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *entry = json_array_get(list, i);
        const json_t *name = json_is_object(entry) ? json_object_get(entry, "code") : entry;
        if (strcmp(json_string_value(name), code) == 0) {
            return true;
        }
    }
    return false;
}

/* Adds marks and a key that nobody knows to recording.json. */
static void add_marks(const struct place *place, const char *marks)
{
    json_t *root = json_file_load(place->json);
    json_t *list = json_loads(marks, 0, NULL);
    assert_non_null(list);
    if (json_object_get(root, "marks") == NULL) {
        assert_int_equal(json_object_set_new(root, "marks", json_array()), 0);
    }
    assert_int_equal(json_array_extend(json_object_get(root, "marks"), list), 0);
    assert_int_equal(json_object_set_new(root, "weather", json_string("rain")), 0);
    assert_int_equal(json_dump_file(root, place->json, 0), 0);
    json_decref(list);
    json_decref(root);
}

static void test_shows_a_draw(void **state)
{
    struct answer answer = inspect(*state, NULL, NULL, NULL);
    assert_int_equal(answer.status, 0);
    assert_string_equal(answer.err, "");
    assert_non_null(strstr(answer.out, "Draw 1 of 2 (shot), recording evening by heron\n"));
    assert_non_null(strstr(answer.out, "\nForce of the draw (N)\n"));
    assert_non_null(strstr(answer.out, "\nForce around the click (N)\n"));
    assert_non_null(strstr(answer.out, "\nLoad of the fingers (N)\n"));
    assert_non_null(strstr(answer.out, "\nAcceleration of the bow around the click"));
    close_answer(&answer);
}

static void test_plain_is_ascii(void **state)
{
    struct answer answer = inspect(*state, "--plain", NULL, NULL);
    assert_int_equal(answer.status, 0);
    assert_non_null(
        strstr(answer.out, "\nClicker's contact (1: the strip rests on the arrow)\n"));
    for (const char *at = answer.out; *at != '\0'; at++) {
        assert_true((unsigned char)*at < 0x7F && (*at >= ' ' || *at == '\n'));
    }
    close_answer(&answer);
}

static void test_json_is_the_shot_of_the_analysis(void **state)
{
    json_t *root = analyze(*state, false);
    struct answer answer = inspect(*state, "--format", "json", NULL);
    assert_int_equal(answer.status, 0);
    json_t *shot = json_loads(answer.out, 0, NULL);
    assert_non_null(shot);
    assert_true(json_equal(shot, get_shot(root, 0)));
    json_decref(shot);
    json_decref(root);
    close_answer(&answer);
}

static void test_unknown_draws(void **state)
{
    const struct place *place = *state;
    const char *third[] = {"inspect", place->folder, "3", NULL};
    const char *zero[] = {"inspect", place->folder, "0", NULL};
    const char *word[] = {"inspect", place->folder, "1st", NULL};
    const char *nowhere[] = {"inspect", "nowhere", "1", NULL};
    check_refused(run(place, third), 1, "there is no draw 3; it has 2");
    check_refused(run(place, zero), 2, "'0' is not understood");
    check_refused(run(place, word), 2, "'1st' is not understood");
    check_refused(run(place, nowhere), 1, "nowhere");
}

static void test_wrong_words(void **state)
{
    check_refused(inspect(*state, "--format", "csv", NULL), 2, "'csv' is no format");
    check_refused(inspect(*state, "--correct", "clicker", NULL), 2, "'clicker' is not");
    check_refused(inspect(*state, "--correct", "clicker=", NULL), 2, "'clicker=' is not");
    check_refused(inspect(*state, "--correct", "clicker=-1", NULL), 2, "'clicker=-1' is not");
    check_refused(inspect(*state, "--correct", "clicker=nan", NULL), 2, "'clicker=nan' is not");
    check_refused(inspect(*state, "--correct", "clicker=1s", NULL), 2, "'clicker=1s' is not");
    check_refused(inspect(*state, "--correct", "breath=1", NULL), 2, "'breath' is no event");
    check_refused(inspect(*state, "--within", "0.1", NULL), 2, "beside --correct");
    check_refused(inspect(*state, "--undo", "--correct", "clicker=none"), 2, "exclude");
}

/* Moves the clicker of draw 1 by 50 ms and holds all outputs against it. */
static void test_a_correction_is_used(void **state)
{
    const struct place *place = *state;
    add_marks(place, "[{\"t_s\": 1, \"kind\": \"whistle\", \"pitch\": [2]}]");
    json_t *before = analyze(place, false);
    char words[64];
    const double at_s = get_event_s(before, 0, "clicker_s") - 0.05;
    (void)snprintf(words, sizeof words, "clicker=%.6f", at_s);
    const char *change[] = {"inspect", place->folder, "1",     "--correct",
                            words,     "--within",    "0.003", NULL};
    check_ok(run(place, change));
    for (int pass = 0; pass < 2; pass++) {
        json_t *after = analyze(place, pass == 0);
        assert_near(get_event_s(after, 0, "clicker_s"), at_s, 1e-6, 0.0);
        assert_near(get_event_s(after, 0, "clicker_u_s"), 0.003 / sqrt(3.0), 1e-12, 0.0);
        assert_true(json_is_null(get_event(after, 0, "clicker_sensor")));
        assert_true(has_code(json_object_get(get_shot(after, 0), "quality"), "corrected"));
        assert_false(has_code(json_object_get(get_shot(after, 1), "quality"), "corrected"));
        assert_true(has_code(json_object_get(after, "quality"), "corrected"));
        const json_t *measures = json_object_get(get_shot(after, 0), "measures");
        assert_near(json_number_value(json_object_get(measures, "clicker_reaction_s")),
                    get_event_s(after, 0, "release_s") - at_s, 1e-6, 0.0);
        assert_true(json_equal(get_shot(after, 1), get_shot(before, 1)) || pass == 0);
        json_decref(after);
    }
    json_t *root = json_file_load(place->json);
    const json_t *marks = json_object_get(root, "marks");
    const json_t *last = json_array_get(marks, json_array_size(marks) - 1);
    assert_string_equal(json_string_value(json_object_get(last, "event")), "clicker_s");
    assert_int_equal(json_integer_value(json_object_get(last, "shot")), 1);
    assert_string_equal(json_string_value(json_object_get(root, "weather")), "rain");
    json_decref(root);
    json_decref(before);
}

static void check_says(const struct place *place, const char *const *words, const char *says)
{
    struct answer answer = run(place, words);
    assert_int_equal(answer.status, 0);
    if (strstr(answer.out, says) == NULL) {
        fail_msg("'%s' is missing", says);
    }
    close_answer(&answer);
}

/* Table, CSV, page and inspect say that a person was there. */
static void test_a_correction_is_shown(void **state)
{
    const struct place *place = *state;
    check_ok(inspect(place, "--correct", "clicker=none", NULL));
    const char *table[] = {"analyze", place->folder, NULL};
    const char *csv[] = {"analyze", place->folder, "--format", "csv", NULL};
    const char *page[] = {"report", place->folder, NULL};
    const char *draw[] = {"inspect", place->folder, "1", NULL};
    check_says(place, table, "corrected by a person: draw 1 clicker (was not there)");
    check_says(place, csv, ",corrected");
    check_says(place, page, "corrected by a person: draw 1 clicker");
    check_says(place, draw,
               "C  clicker     a person says it was not there (corrected by a person)");
}

/* The text of recording.json; to be freed. */
static char *read_text(const struct place *place)
{
    json_t *root = json_file_load(place->json);
    char *text = json_dumps(root, JSON_SORT_KEYS);
    assert_non_null(text);
    json_decref(root);
    return text;
}

static void test_undo_takes_the_last_back(void **state)
{
    const struct place *place = *state;
    char *before = read_text(place);
    json_t *found = analyze(place, false);
    char words[64];
    (void)snprintf(words, sizeof words, "clicker=%.3f",
                   get_event_s(found, 0, "clicker_s") - 0.1);
    check_refused(inspect(place, "--undo", NULL, NULL), 1, "draw 1 has no correction");
    check_ok(inspect(place, "--correct", "clicker=none", NULL));
    check_ok(inspect(place, "--correct", words, NULL));
    json_t *after = analyze(place, false);
    assert_true(json_is_number(get_event(after, 0, "clicker_s")));
    json_decref(after);
    check_ok(inspect(place, "--undo", NULL, NULL));
    after = analyze(place, false);
    assert_true(json_is_null(get_event(after, 0, "clicker_s")));
    json_decref(after);
    check_ok(inspect(place, "--undo", NULL, NULL));
    after = analyze(place, false);
    assert_true(json_equal(after, found));
    char *text = read_text(place);
    assert_string_equal(text, before);
    free(text);
    free(before);
    json_decref(after);
    json_decref(found);
}

/* What cannot be is refused before anything is written. */
static void test_impossible_corrections(void **state)
{
    const struct place *place = *state;
    char *before = read_text(place);
    json_t *found = analyze(place, false);
    char words[64];
    (void)snprintf(words, sizeof words, "clicker=%.3f",
                   get_event_s(found, 0, "release_s") + 0.1);
    check_refused(inspect(place, "--correct", words, NULL), 1, "out of order");
    (void)snprintf(words, sizeof words, "clicker=%.3f", get_event_s(found, 1, "clicker_s"));
    check_refused(inspect(place, "--correct", words, NULL), 1, "lies outside draw 1");
    char *text = read_text(place);
    assert_string_equal(text, before);
    free(text);
    free(before);
    json_decref(found);
}

static void test_a_running_capture_is_left_alone(void **state)
{
    const struct place *place = *state;
    struct sh_error err = {0};
    int lock = SH_FOLDER_LOCK_NONE;
    char *before = read_text(place);
    assert_int_equal(sh_folder_lock_take(place->folder, &lock, &err), SH_OK);
    check_refused(inspect(place, "--correct", "clicker=none", NULL), 1,
                  "the recording is being written");
    struct answer answer = inspect(place, NULL, NULL, NULL); /* looking is no harm */
    assert_int_equal(answer.status, 0);
    close_answer(&answer);
    sh_folder_lock_drop(&lock);
    char *text = read_text(place);
    assert_string_equal(text, before);
    free(text);
    free(before);
}

/* A correction of a draw that is no more: a line, and the analysis goes on. */
static void test_a_lost_correction_is_said(void **state)
{
    const struct place *place = *state;
    json_t *before = analyze(place, false);
    add_marks(place, "[{\"t_s\": 9000, \"kind\": \"correction\", \"shot\": 17, \"event\": "
                     "\"clicker_s\", \"value_s\": 9000}]");
    const char *json[] = {"analyze", place->folder, "--format", "json", NULL};
    const char *page[] = {"report", place->folder, "--out", place->page, NULL};
    struct answer answer = run(place, json);
    assert_int_equal(answer.status, 0);
    json_t *after = json_loads(answer.out, 0, NULL);
    assert_true(json_equal(after, before));
    assert_non_null(strstr(answer.err, "evening: marks["));
    assert_non_null(
        strstr(answer.err, "the correction of draw 17's clicker belongs to no draw"));
    assert_ptr_equal(strchr(answer.err, '\n'), answer.err + strlen(answer.err) - 1);
    close_answer(&answer);
    answer = run(place, page);
    assert_int_equal(answer.status, 0);
    assert_non_null(strstr(answer.err, "belongs to no draw"));
    close_answer(&answer);
    json_decref(after);
    json_decref(before);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_shows_a_draw, open_full_place, close_place),
        cmocka_unit_test_setup_teardown(test_plain_is_ascii, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_json_is_the_shot_of_the_analysis, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_unknown_draws, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_wrong_words, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_correction_is_used, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_correction_is_shown, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_undo_takes_the_last_back, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_impossible_corrections, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_running_capture_is_left_alone, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_a_lost_correction_is_said, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
