/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_guard.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/diary_home.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define STARTED "2026-05-14T18:00:00.000Z"

static const struct diary_home_recording morning = {
    "a", "wren", "2026-05-14T07:30:00.000Z", 120, "training", NULL, 2, 1, NULL, 0};

struct rig {
    struct scratch home;
    struct sh_session session;
    struct sh_limit_store store;
    struct sh_limit_guard *guard;
    struct sh_text warnings;
};

static struct sh_person_limit
make_limit(const char *what, const char *finger, const char *per, double most)
{
    struct sh_person_limit limit = {.most = {true, most}, .set_by = "hand clinic"};
    (void)strcpy(limit.what, what);
    (void)strcpy(limit.finger, finger);
    (void)strcpy(limit.per, per);
    return limit;
}

static int open_rig(void **state)
{
    struct rig *rig = calloc(1, sizeof *rig);
    struct sh_person person = {.name = "wren"};
    const struct sh_person_rating rating = {
        .date = "2026-05-13", .when = "after", .rating = 1.0};
    struct sh_person_limit limits[] = {
        make_limit("finger_peak_n", "ring", "shot", 45.0), make_limit("draws", "", "day", 20.0),
        make_limit("finger_impulse_n_s", "", "day", 5e3), make_limit("draws", "", "day", 30.0)};
    assert_non_null(rig);
    (void)strcpy(limits[3].until, "2026-05-13");
    scratch_open(&rig->home);
    diary_home_make(&rig->home);
    diary_home_record(&rig->home, &morning);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(sh_person_add_limit(&person, &limits[i]), SH_OK);
    }
    assert_int_equal(sh_person_add_rating(&person, &rating), SH_OK);
    diary_home_write_person(&rig->home, &person);
    sh_person_close(&person);
    (void)strcpy(rig->session.athlete, "wren");
    (void)strcpy(rig->session.started, STARTED);
    rig->session.utc_offset_min = 120;
    sh_text_init(&rig->warnings, 0);
    *state = rig;
    return 0;
}

static int close_rig(void **state)
{
    struct rig *rig = *state;
    sh_limit_guard_close(&rig->guard);
    sh_limit_store_close(&rig->store);
    sh_session_close(&rig->session);
    sh_text_close(&rig->warnings);
    scratch_close(&rig->home);
    free(rig);
    return 0;
}

static enum sh_status open_guard(struct rig *rig, bool may_analyze, struct sh_error *err)
{
    const struct sh_limit_guard_config config = {.session = &rig->session,
                                                 .home = rig->home.folder,
                                                 .may_analyze = may_analyze,
                                                 .store = &rig->store};
    return sh_limit_guard_open(&config, &rig->guard, &rig->warnings, err);
}

/* Those in force, with what the morning has added up to. */
static void test_limits_become_marks(void **state)
{
    struct rig *rig = *state;
    struct sh_error err = {0};
    struct sh_text list;
    assert_int_equal(open_guard(rig, true, &err), SH_OK);
    assert_int_equal(rig->session.n_marks, 3);
    const struct sh_mark *marks = rig->session.marks;
    assert_int_equal(marks[0].kind, SH_MARK_LIMIT);
    assert_string_equal(marks[0].what, "finger_peak_n");
    assert_near(marks[0].most.value, 45.0, 0, 0);
    assert_string_equal(marks[0].set_by, "hand clinic");
    assert_false(marks[0].before.is_given);
    assert_near(marks[1].before.value, 2.0, 0, 0);
    assert_true(marks[2].before.value > 500.0);
    assert_false(marks[2].before_unknown.is_given);
    sh_text_init(&list, 0);
    sh_limit_guard_list(rig->guard, &list);
    assert_non_null(strstr(list.data, "limit: number of draws, at most 20 draws in each day"));
    sh_text_close(&list);
    assert_null(rig->warnings.data);
}

/* While sensors wait nothing is analysed: what was before is unknown, and said. */
static void test_without_time_to_analyse(void **state)
{
    struct rig *rig = *state;
    struct sh_error err = {0};
    assert_int_equal(open_guard(rig, false, &err), SH_OK);
    assert_true(rig->session.marks[1].before_unknown.value > 0.0);
    assert_non_null(strstr(rig->warnings.data, "not been analysed"));
}

static void test_nobody_has_no_limits(void **state)
{
    struct rig *rig = *state;
    struct sh_error err = {0};
    rig->session.athlete[0] = '\0';
    assert_int_equal(open_guard(rig, true, &err), SH_OK);
    assert_int_equal(rig->session.n_marks, 0);
    sh_limit_guard_close(&rig->guard);
    (void)strcpy(rig->session.athlete, "rook");
    assert_int_equal(open_guard(rig, true, &err), SH_OK);
    assert_int_equal(rig->session.n_marks, 0);
}

static void test_limits_that_cannot_be_read(void **state)
{
    struct rig *rig = *state;
    struct sh_error err = {0};
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&rig->home, "people/wren.json", path);
    scratch_write(path, "{", 1);
    assert_int_equal(open_guard(rig, true, &err), SH_ERR_FORMAT);
    assert_null(rig->guard);
    assert_int_equal(rig->session.n_marks, 0);
}

static struct sh_limit_guard_cautions rate(struct rig *rig, const char *when, double rating)
{
    struct sh_mark mark = {.kind = SH_MARK_PAIN, .rating = {true, rating}};
    (void)strcpy(mark.when, when);
    return sh_limit_guard_rate(rig->guard, &mark);
}

/* Any rating above 0 while shooting: stop. One above the last: ask. */
static void test_cautions_of_ratings(void **state)
{
    struct rig *rig = *state;
    struct sh_error err = {0};
    assert_int_equal(open_guard(rig, true, &err), SH_OK);
    struct sh_limit_guard_cautions cautions = rate(rig, "before", 1.0); /* as yesterday's */
    assert_false(cautions.has_stop || cautions.has_ask);
    cautions = rate(rig, "during", 0.0);
    assert_false(cautions.has_stop || cautions.has_ask);
    cautions = rate(rig, "during", 0.5);
    assert_true(cautions.has_stop && cautions.has_ask);
    cautions = rate(rig, "during", 0.5);
    assert_true(cautions.has_stop);
    assert_false(cautions.has_ask);
    cautions = rate(rig, "after", 2.0);
    assert_false(cautions.has_stop);
    assert_true(cautions.has_ask);
    sh_limit_guard_close(&rig->guard);
    assert_int_equal(open_guard(rig, true, &err), SH_OK); /* the next of the same archer */
    assert_false(rate(rig, "before", 2.0).has_ask);
    assert_true(rate(rig, "before", 2.1).has_ask);
}

static void test_marks_of_events(void **state)
{
    const struct sh_mark limit = {
        .kind = SH_MARK_LIMIT, .what = "finger_peak_n", .finger = "ring", .per = "shot"};
    struct sh_limit_event event = {
        .kind = SH_LIMIT_EVENT_REACHED, .limit = &limit, .t_s = 12.5, .text = "reached"};
    struct sh_mark mark = sh_limit_guard_make_mark(&event);
    assert_int_equal(mark.kind, SH_MARK_LIMIT_REACHED);
    assert_near(mark.t_s, 12.5, 0, 0);
    assert_string_equal(mark.finger, "ring");
    assert_string_equal(mark.text, "reached");
    event.kind = SH_LIMIT_EVENT_UNKNOWN;
    memset(event.text, 'a', 254);
    (void)strcpy(event.text + 254, "\xC3\xA9tude"); /* the border lies within a character */
    mark = sh_limit_guard_make_mark(&event);
    assert_int_equal(mark.kind, SH_MARK_WARNING);
    assert_int_equal(strlen(mark.text), 254);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_limits_become_marks, open_rig, close_rig),
        cmocka_unit_test_setup_teardown(test_without_time_to_analyse, open_rig, close_rig),
        cmocka_unit_test_setup_teardown(test_nobody_has_no_limits, open_rig, close_rig),
        cmocka_unit_test_setup_teardown(test_limits_that_cannot_be_read, open_rig, close_rig),
        cmocka_unit_test_setup_teardown(test_cautions_of_ratings, open_rig, close_rig),
        cmocka_unit_test_setup_teardown(test_marks_of_events, open_rig, close_rig),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
