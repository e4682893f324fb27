/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/session_quality.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

/* A session of two streams, on the heap: it is large. */
static struct sh_session *make_session(void)
{
    struct sh_session *session = calloc(1, sizeof *session);
    assert_non_null(session);
    session->n_streams = 2;
    (void)snprintf(session->streams[0].stream.name, SH_STREAM_NAME_BYTES, "string");
    (void)snprintf(session->streams[1].stream.name, SH_STREAM_NAME_BYTES, "bow");
    return session;
}

static void add_gap(struct sh_session *session, size_t stream, uint64_t frame, uint64_t n)
{
    const struct sh_gap gap = {.frame = frame, .n_frames = n};
    assert_int_equal(sh_session_add_gap(session, stream, &gap), SH_OK);
}

static void add_shots(struct sh_analysis *analysis, size_t n)
{
    struct sh_shot_record *record = calloc(1, sizeof *record);
    assert_non_null(record);
    for (size_t i = 0; i < n; i++) {
        assert_int_equal(sh_analysis_add(analysis, record), SH_OK);
    }
    free(record);
}

static const char *find(const struct sh_analysis *analysis, enum sh_code_quality code)
{
    for (size_t i = 0; i < analysis->n_quality; i++) {
        if (analysis->quality[i].code == code) {
            return analysis->quality[i].text;
        }
    }
    return NULL;
}

static void test_nothing_wrong_says_nothing(void **state)
{
    struct sh_session *session = make_session();
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    add_shots(&analysis, 3);
    sh_session_quality_add(session, &analysis);
    assert_int_equal(analysis.n_quality, 0);
    sh_analysis_close(&analysis);
    sh_session_close(session);
    free(session);
}

static void test_lost_samples_of_a_stream(void **state)
{
    struct sh_session *session = make_session();
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    session->streams[1].frames.good = 9970;
    add_gap(session, 1, 100, 10);
    add_gap(session, 1, 500, 20);
    sh_session_quality_add(session, &analysis);
    assert_int_equal(analysis.n_quality, 1);
    assert_string_equal(find(&analysis, SH_CODE_QUALITY_GAP),
                        "30 samples of bow were lost in 2 gaps (0.3 %)");
    sh_analysis_close(&analysis);
    sh_session_close(session);
    free(session);
}

/* A code is said once, so all streams that lost something stand in that sentence. */
static void test_lost_samples_of_two_streams(void **state)
{
    struct sh_session *session = make_session();
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    session->streams[0].frames.good = 999;
    session->streams[1].frames.good = 9980;
    add_gap(session, 0, 7, 1);
    add_gap(session, 1, 100, 20);
    sh_session_quality_add(session, &analysis);
    const char *text = find(&analysis, SH_CODE_QUALITY_GAP);
    assert_non_null(text);
    assert_string_equal(text, "1 sample of string was lost in 1 gap (0.1 %), "
                              "20 samples of bow were lost in 1 gap (0.2 %)");
    sh_analysis_close(&analysis);
    sh_session_close(session);
    free(session);
}

static void test_draws_are_counted_by_code(void **state)
{
    struct sh_session *session = make_session();
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    add_shots(&analysis, 3);
    analysis.shots[0].quality[SH_CODE_QUALITY_CLIPPED] = true;
    analysis.shots[2].quality[SH_CODE_QUALITY_CLIPPED] = true;
    analysis.shots[1].quality[SH_CODE_QUALITY_DEAD] = true;
    sh_session_quality_add(session, &analysis);
    assert_int_equal(analysis.n_quality, 2);
    assert_string_equal(find(&analysis, SH_CODE_QUALITY_CLIPPED),
                        "2 of 3 draws: a sample reached its channel's range");
    assert_string_equal(find(&analysis, SH_CODE_QUALITY_DEAD),
                        "1 of 3 draws: a channel did not change where others moved");
    sh_analysis_close(&analysis);
    sh_session_close(session);
    free(session);
}

static void test_corrected_events_are_named(void **state)
{
    struct sh_session *session = make_session();
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    add_shots(&analysis, 40);
    struct sh_shot *second = &analysis.shots[1].shot;
    second->n = 2;
    second->is_corrected[SH_EVENT_CLICKER] = true;
    second->is_corrected[SH_EVENT_RELEASE] = true;
    second->event_s[SH_EVENT_RELEASE] = sh_quantity_known(5.0, 0.01);
    sh_session_quality_add(session, &analysis);
    assert_string_equal(
        find(&analysis, SH_CODE_QUALITY_CORRECTED),
        "corrected by a person: draw 2 clicker (was not there), draw 2 release");
    analysis.n_quality = 0;
    for (unsigned i = 0; i < 40; i++) {
        analysis.shots[i].shot.n = i + 1;
        analysis.shots[i].shot.is_corrected[SH_EVENT_END] = true;
    }
    sh_session_quality_add(session, &analysis);
    const char *text = find(&analysis, SH_CODE_QUALITY_CORRECTED);
    assert_int_equal(strlen(text), SH_ANALYSIS_TEXT_BYTES - 1);
    assert_string_equal(text + strlen(text) - 3, "...");
    sh_analysis_close(&analysis);
    sh_session_close(session);
    free(session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_wrong_says_nothing),
        cmocka_unit_test(test_lost_samples_of_a_stream),
        cmocka_unit_test(test_lost_samples_of_two_streams),
        cmocka_unit_test(test_draws_are_counted_by_code),
        cmocka_unit_test(test_corrected_events_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
