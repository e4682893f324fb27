/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/session.h"

#include <stdio.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_marks_stay_in_order(void **state)
{
    struct sh_session session = {0};
    for (int i = 0; i < 1000; i++) {
        struct sh_mark mark = {.t_s = i, .kind = SH_MARK_NOTE};
        assert_int_equal(sh_session_add_mark(&session, &mark), SH_OK);
    }
    assert_int_equal(session.n_marks, 1000);
    for (int i = 0; i < 1000; i++) {
        assert_near(session.marks[i].t_s, i, 0.0, 0.0);
    }
    sh_session_close(&session);
    assert_null(session.marks);
    assert_int_equal(session.n_marks, 0);
}

static void test_gaps_that_touch_are_joined(void **state)
{
    struct sh_session session = {.n_streams = 1};
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){10, 5}), SH_OK);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){15, 2}), SH_OK);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){18, 1}), SH_OK);
    assert_int_equal(session.streams[0].n_gaps, 2);
    assert_int_equal(session.streams[0].gaps[0].n_frames, 7);
    assert_int_equal(session.streams[0].gaps[1].frame, 18);
    sh_session_close(&session);
}

static void test_wrong_gaps_are_refused(void **state)
{
    struct sh_session session = {.n_streams = 1};
    assert_int_equal(sh_session_add_gap(&session, 1, &(struct sh_gap){0, 1}), SH_ERR_ARGUMENT);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){0, 0}), SH_ERR_ARGUMENT);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){2, UINT64_MAX - 1}),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){10, 5}), SH_OK);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){14, 5}), SH_ERR_ARGUMENT);
    assert_int_equal(session.streams[0].n_gaps, 1);
    sh_session_close(&session);
}

static void test_a_copy_owns_all_it_has(void **state)
{
    struct sh_session copy = {0};
    struct sh_session session = {.n_streams = 2, .athlete = "teal"};
    const struct sh_mark mark = {.t_s = 5.0, .kind = SH_MARK_NOTE};
    const struct sh_anchor anchor = {100, 0.1, 0.001};
    struct sh_session_stream *stream = &session.streams[1];
    assert_int_equal(sh_timebase_init(&stream->timebase, 1000.0, 0.5, 0.0), SH_OK);
    assert_int_equal(sh_timebase_append(&stream->timebase, &anchor), SH_OK);
    assert_int_equal(sh_session_add_gap(&session, 1, &(struct sh_gap){10, 5}), SH_OK);
    assert_int_equal(sh_session_add_mark(&session, &mark), SH_OK);
    assert_int_equal(sh_session_copy(&session, &copy), SH_OK);
    sh_session_close(&session);
    assert_string_equal(copy.athlete, "teal");
    assert_int_equal(copy.n_marks, 1);
    assert_near(copy.marks[0].t_s, 5.0, 0.0, 0.0);
    assert_int_equal(copy.streams[1].n_gaps, 1);
    assert_int_equal(copy.streams[1].gaps[0].n_frames, 5);
    assert_int_equal(copy.streams[1].timebase.n_anchors, 1);
    assert_near(copy.streams[1].timebase.rate_hz, 1000.0, 0.0, 0.0);
    assert_near(copy.streams[1].timebase.anchors[0].time_s, 0.1, 0.0, 0.0);
    sh_session_close(&copy);
}

static void test_a_mark_is_removed(void **state)
{
    struct sh_session session = {0};
    for (int i = 0; i < 33; i++) {
        struct sh_mark mark = {.t_s = i, .kind = SH_MARK_NOTE};
        assert_int_equal(sh_session_add_mark(&session, &mark), SH_OK);
    }
    assert_int_equal(sh_session_remove_mark(&session, 33), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_session_remove_mark(&session, 32), SH_OK);
    assert_int_equal(sh_session_remove_mark(&session, 0), SH_OK);
    assert_int_equal(sh_session_remove_mark(&session, 4), SH_OK);
    assert_int_equal(session.n_marks, 30);
    assert_near(session.marks[3].t_s, 4.0, 0.0, 0.0);
    assert_near(session.marks[4].t_s, 6.0, 0.0, 0.0);
    assert_near(session.marks[29].t_s, 31.0, 0.0, 0.0);
    for (int i = 0; i < 40; i++) { /* there is room again */
        struct sh_mark mark = {.t_s = 100 + i, .kind = SH_MARK_NOTE};
        assert_int_equal(sh_session_add_mark(&session, &mark), SH_OK);
    }
    assert_near(session.marks[29].t_s, 31.0, 0.0, 0.0);
    assert_near(session.marks[69].t_s, 139.0, 0.0, 0.0);
    while (session.n_marks > 0) {
        assert_int_equal(sh_session_remove_mark(&session, 0), SH_OK);
    }
    assert_int_equal(sh_session_remove_mark(&session, 0), SH_ERR_NOT_FOUND);
    sh_session_close(&session);
}

static enum sh_status set_tag(struct sh_session *session, const char *key, const char *value)
{
    struct sh_tag tag = {.key = ""};
    (void)snprintf(tag.key, sizeof tag.key, "%s", key);
    (void)snprintf(tag.value, sizeof tag.value, "%s", value);
    return sh_session_set_tag(session, &tag);
}

static void test_tags_are_set_and_taken_away(void **state)
{
    struct sh_session session = {0};
    char key[16];
    assert_int_equal(set_tag(&session, "", "x"), SH_ERR_ARGUMENT);
    assert_int_equal(set_tag(&session, "tab", ""), SH_OK); /* there is none */
    assert_int_equal(session.n_tags, 0);
    for (unsigned i = 0; i < SH_SESSION_TAGS_MAX; i++) {
        (void)snprintf(key, sizeof key, "key %u", i);
        assert_int_equal(set_tag(&session, key, "old"), SH_OK);
    }
    assert_int_equal(set_tag(&session, "one more", "x"), SH_ERR_FULL);
    assert_int_equal(set_tag(&session, "one more", ""), SH_OK);
    assert_int_equal(set_tag(&session, "key 31", "new"), SH_OK);
    assert_int_equal(session.n_tags, SH_SESSION_TAGS_MAX);
    assert_string_equal(session.tags[31].value, "new");
    assert_int_equal(set_tag(&session, "key 0", ""), SH_OK);
    assert_int_equal(session.n_tags, SH_SESSION_TAGS_MAX - 1);
    assert_string_equal(session.tags[0].key, "key 1");
    assert_string_equal(session.tags[30].value, "new");
    assert_int_equal(set_tag(&session, "one more", "x"), SH_OK);
    assert_string_equal(session.tags[31].key, "one more");
}

static void test_closing_twice_is_fine(void **state)
{
    struct sh_session session = {0};
    sh_session_close(&session);
    sh_session_close(&session);
    assert_int_equal(session.n_streams, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_marks_stay_in_order),
        cmocka_unit_test(test_gaps_that_touch_are_joined),
        cmocka_unit_test(test_wrong_gaps_are_refused),
        cmocka_unit_test(test_a_copy_owns_all_it_has),
        cmocka_unit_test(test_a_mark_is_removed),
        cmocka_unit_test(test_tags_are_set_and_taken_away),
        cmocka_unit_test(test_closing_twice_is_fine),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
