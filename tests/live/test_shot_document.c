/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/shot_document.h"

#include <jansson.h>
#include <string.h>

#include "live/evening.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void say(const struct sh_shot_record *record, struct sh_text *text)
{
    sh_text_printf(text, "Shot %u: held \"long\".\n  More.\n", record->shot.n);
}

static struct sh_mark make_mark(enum sh_mark_kind kind, double t_s, double shot)
{
    return (struct sh_mark){.t_s = t_s, .kind = kind, .shot = {shot > 0.0, shot}};
}

/* A session of one known and some unknown marks. */
static void open_session(struct sh_session *session)
{
    struct sh_mark marks[6] = {
        make_mark(SH_MARK_ARROW, 30.0, 1.0),      make_mark(SH_MARK_NOTE, 31.0, 1.0),
        make_mark(SH_MARK_NOTE, 32.0, 0.0),       make_mark(SH_MARK_NOTE, 33.0, 2.0),
        make_mark(SH_MARK_CORRECTION, 25.0, 1.0), make_mark(SH_MARK_OTHER, 34.0, 0.0)};
    *session = (struct sh_session){.athlete = "wren", .started = "2026-05-14T09:30:00.000Z"};
    session->tags[session->n_tags++] = (struct sh_tag){"tab", "thick leather"};
    marks[0].score = (struct sh_mark_number){true, 9.0};
    (void)strcpy(marks[1].text, "new \"tab\"");
    (void)strcpy(marks[2].text, "windy");
    (void)strcpy(marks[3].text, "another's");
    (void)strcpy(marks[4].event, "clicker_s");
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(sh_session_add_mark(session, &marks[i]), SH_OK);
    }
}

static json_t *make_document(const struct sh_session *session,
                             const struct sh_analysis *analysis)
{
    struct sh_text text;
    const struct sh_shot_document_list list = {
        .id = 3, .session = session, .analysis = analysis, .is_final = true, .say = say};
    sh_text_init(&text, 0);
    sh_shot_document_write_list(&list, &text);
    assert_int_equal(text.status, SH_OK);
    json_t *document = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(document);
    sh_text_close(&text);
    return document;
}

static void check_shot(const json_t *shot)
{
    const json_t *events = json_object_get(shot, "events");
    const json_t *notes = json_object_get(shot, "notes");
    const json_t *corrected = json_object_get(shot, "corrected");
    assert_int_equal(json_integer_value(json_object_get(shot, "n")), 1);
    assert_near(json_real_value(json_object_get(events, "release_s")), 25.14, 0.0, 0.0);
    assert_near(json_number_value(json_object_get(shot, "score")), 9.0, 0.0, 0.0);
    assert_string_equal(json_string_value(json_object_get(shot, "sentence")),
                        "Shot 1: held \"long\".");
    assert_int_equal(json_array_size(notes), 1);
    assert_string_equal(json_string_value(json_array_get(notes, 0)), "new \"tab\"");
    assert_int_equal(json_array_size(corrected), 1);
    assert_string_equal(json_string_value(json_array_get(corrected, 0)), "clicker_s");
    assert_int_equal(json_array_size(json_object_get(shot, "findings")), 3);
}

static void test_list(void **state)
{
    struct sh_session session;
    struct sh_analysis analysis;
    const struct sh_shot_record record = evening_get_record();
    open_session(&session);
    sh_analysis_init(&analysis, "evening", "wren");
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    json_t *document = make_document(&session, &analysis);
    const json_t *marks = json_object_get(document, "marks");
    assert_int_equal(json_integer_value(json_object_get(document, "id")), 3);
    assert_string_equal(json_string_value(json_object_get(document, "name")), "evening");
    assert_string_equal(
        json_string_value(json_object_get(json_object_get(document, "tags"), "tab")),
        "thick leather");
    assert_true(json_is_true(json_object_get(document, "is_final")));
    assert_int_equal(json_array_size(json_object_get(document, "shots")), 1);
    check_shot(json_array_get(json_object_get(document, "shots"), 0));
    assert_int_equal(json_array_size(marks), 5);
    assert_string_equal(json_string_value(json_object_get(json_array_get(marks, 4), "kind")),
                        "correction");
    json_decref(document);
    sh_analysis_close(&analysis);
    sh_session_close(&session);
}

static void test_empty_recording(void **state)
{
    const struct sh_session session = {.athlete = ""};
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "empty", "");
    json_t *document = make_document(&session, &analysis);
    assert_int_equal(json_array_size(json_object_get(document, "shots")), 0);
    assert_int_equal(json_array_size(json_object_get(document, "marks")), 0);
    json_decref(document);
    sh_analysis_close(&analysis);
}

static void test_no_score_and_limit(void **state)
{
    const struct sh_shot_record record = evening_get_record();
    const struct sh_shot_document document = {.record = &record, .say = say};
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shot_document_write(&document, &text);
    assert_non_null(strstr(text.data, ",\"score\":null,"));
    assert_non_null(strstr(text.data, ",\"corrected\":[],\"notes\":[]}"));
    size_t n_bytes = text.n_bytes;
    sh_text_close(&text);
    for (size_t limit = 1; limit < n_bytes; limit += n_bytes / 7) {
        sh_text_init(&text, limit);
        sh_shot_document_write(&document, &text);
        assert_int_not_equal(text.status, SH_OK);
        sh_text_close(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_list),
        cmocka_unit_test(test_empty_recording),
        cmocka_unit_test(test_no_score_and_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
