/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "finding/limit_watch.h"
#include "finding/one_shot.h"
#include "finding/watched.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define EVERY_S 7.01 /* from one draw to the next: 3 s and the fall of it, 4 s between */
#define START_S 3.0
#define LONG_S  3.0

static const double peaks_n[3] = {60.0, 60.0, 40.0};

static struct sh_mark
make_most(const char *what, const char *finger, const char *per, double most)
{
    struct sh_mark mark = {.kind = SH_MARK_LIMIT, .most = {true, most}};
    (void)snprintf(mark.what, sizeof mark.what, "%s", what);
    (void)snprintf(mark.finger, sizeof mark.finger, "%s", finger);
    (void)snprintf(mark.per, sizeof mark.per, "%s", per);
    return mark;
}

/* Draw k as it would be measured, but for the ring finger's impulse and share. */
static struct sh_shot_record make_record(size_t k, double ring_n_s, double ring_share)
{
    struct sh_shot_record record = make_plain_shot();
    const double start_s = START_S + EVERY_S * (double)k;
    record.shot.n = (unsigned)k + 1;
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(start_s, 0.01);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(start_s + LONG_S, 0.001);
    for (size_t i = 0; i < 3; i++) {
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, i) =
            sh_quantity_known(peaks_n[i], 0.4);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_IMPULSE, i) =
            sh_quantity_known(i == 2 ? ring_n_s : 150.0, 1.0);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE, i) =
            sh_quantity_known(i == 2 ? ring_share : (1.0 - ring_share) / 2.0, 0.001);
    }
    return record;
}

static void add_draw(struct watched *watched)
{
    watched_draw(watched, peaks_n, 1.0, 2.0);
    watched_rest(watched, 4.0);
}

static void take(struct watched *watched, const struct sh_shot_record *record)
{
    struct sh_error err = {0};
    assert_int_equal(sh_limit_watch_take(watched->watch, record, &err), SH_OK);
}

static void amend(struct watched *watched, const struct sh_shot_record *records, size_t n)
{
    struct sh_error err = {0};
    assert_int_equal(sh_limit_watch_amend(watched->watch, records, n, &err), SH_OK);
}

/* n draws under the limits marks[n_marks], each taken when it has been measured. */
static struct watched *watch_draws(const struct sh_mark *marks,
                                   size_t n_marks,
                                   const struct sh_shot_record *records,
                                   size_t n)
{
    struct watched *watched = watched_open();
    for (size_t i = 0; i < n_marks; i++) {
        watched_limit(watched, &marks[i]);
    }
    watched_begin(watched);
    watched_rest(watched, START_S);
    for (size_t k = 0; k < n; k++) {
        add_draw(watched);
        watched_feed(watched, 50);
        take(watched, &records[k]);
    }
    return watched;
}

static enum sh_limit_state get_state(const struct watched *watched, size_t i)
{
    return sh_limit_watch_get_state(watched->watch, &watched->session.marks[i]);
}

/* 200 of 240 N s are near; 150 are inside, and what comes then is counted from there and told
 * again. */
static void test_a_sum_becomes_smaller(void **state)
{
    const struct sh_mark mark = make_most("finger_impulse_n_s", "ring", "day", 240.0);
    struct sh_shot_record records[] = {make_record(0, 100.0, 0.25),
                                       make_record(1, 100.0, 0.25)};
    struct watched *watched = watch_draws(&mark, 1, records, 2);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_NEAR);
    assert_int_equal(watched->n_events, 1);
    records[0] = make_record(0, 50.0, 0.25);
    amend(watched, records, 2);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_INSIDE);
    assert_near(sh_limit_watch_get_tally(watched->watch)->impulse_n_s[2].value, 150.0, 1e-9, 0);
    assert_int_equal(watched->n_events, 1);
    watched_draw(watched, peaks_n, 1.0, 2.0); /* some 100 N s more */
    watched_feed(watched, 50);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_NEAR), 2);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 1);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_REACHED);
    watched_close(watched);
}

/* A sum that only the corrected figures bring to its limit is told once, at that draw's end;
 * taken back it is what it was. */
static void test_a_sum_becomes_larger(void **state)
{
    const struct sh_mark mark = make_most("finger_impulse_n_s", "ring", "session", 240.0);
    struct sh_shot_record records[] = {make_record(0, 100.0, 0.25),
                                       make_record(1, 100.0, 0.25)};
    struct watched *watched = watch_draws(&mark, 1, records, 2);
    records[1] = make_record(1, 145.0, 0.25);
    amend(watched, records, 2);
    amend(watched, records, 2);
    assert_int_equal(watched->n_events, 2);
    const struct sh_limit_event *reached = watched_find(watched, SH_LIMIT_EVENT_REACHED);
    assert_non_null(reached);
    assert_near(reached->t_s, START_S + EVERY_S + LONG_S, 1e-9, 0);
    assert_near(reached->value.value, 245.0, 1e-9, 0);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_REACHED);
    records[1] = make_record(1, 100.0, 0.25);
    amend(watched, records, 2);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_NEAR);
    assert_int_equal(watched->n_events, 2); /* it was near before, and told so */
    watched_close(watched);
}

/* A share of 25 %: told of the draw that has it, once however often it comes back; how the
 * limit stands is the last draw's. */
static void test_a_limit_of_each_shot(void **state)
{
    const struct sh_mark mark = make_most("finger_share", "ring", "shot", 0.25);
    struct sh_shot_record records[] = {make_record(0, 100.0, 0.1), make_record(1, 100.0, 0.1)};
    struct watched *watched = watch_draws(&mark, 1, records, 2);
    assert_int_equal(watched->n_events, 0);
    for (int i = 0; i < 3; i++) {
        records[0] = make_record(0, 100.0, 0.3);
        amend(watched, records, 2);
        assert_int_equal(watched->n_events, 1);
        assert_int_equal(get_state(watched, 0), SH_LIMIT_INSIDE);
        records[0] = make_record(0, 100.0, 0.1);
        amend(watched, records, 2);
    }
    assert_near(watched->event[0].t_s, START_S + LONG_S, 1e-9, 0);
    records[1] = make_record(1, 100.0, 0.22);
    amend(watched, records, 2);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_NEAR);
    records[1] = make_record(1, 100.0, 0.3);
    amend(watched, records, 2);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_REACHED);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_NEAR), 1);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 2);
    watched_close(watched);
}

/* What was told while the draw ran is not told again when it is measured anew. */
static void test_told_while_it_ran(void **state)
{
    const struct sh_mark mark = make_most("finger_peak_n", "ring", "shot", 36.0);
    struct sh_shot_record records[] = {make_record(0, 100.0, 0.25),
                                       make_record(1, 100.0, 0.25)};
    struct watched *watched = watch_draws(&mark, 1, records, 2);
    assert_int_equal(watched->n_events, 4); /* near and reached, twice */
    amend(watched, records, 2);
    assert_int_equal(watched->n_events, 4);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_REACHED);
    *sh_catalog_get_mutable(&records[1].measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_known(20.0, 0.1);
    amend(watched, records, 2);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_INSIDE);
    watched_close(watched);
}

/* The release of the draw before is moved: the rest is shorter than it seemed. */
static void test_rest_counts_from_the_corrected_release(void **state)
{
    struct sh_mark mark = {.kind = SH_MARK_LIMIT, .what = "rest_s", .per = "shot"};
    mark.least = (struct sh_mark_number){true, 2.5};
    struct sh_shot_record records[] = {make_record(0, 100.0, 0.25),
                                       make_record(1, 100.0, 0.25)};
    struct watched *watched = watch_draws(&mark, 1, records, 2);
    assert_int_equal(watched->n_events, 0);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_INSIDE); /* 4 s */
    records[0].shot.event_s[SH_EVENT_RELEASE].value += 2.0;
    amend(watched, records, 2);
    assert_int_equal(watched->n_events, 1);
    assert_int_equal(watched->event[0].kind, SH_LIMIT_EVENT_REACHED);
    assert_near(watched->event[0].value.value, EVERY_S - LONG_S - 2.0, 1e-9, 0);
    watched_close(watched);
}

/* In mid-draw: that draw's own state stays, and its running figures go on counting. */
static void test_a_draw_that_runs_goes_on(void **state)
{
    const struct sh_mark marks[] = {make_most("finger_peak_n", "ring", "shot", 36.0),
                                    make_most("finger_impulse_n_s", "ring", "day", 150.0),
                                    make_most("draws", "", "day", 2.0)};
    struct sh_shot_record record = make_record(0, 100.0, 0.25);
    struct watched *watched = watch_draws(marks, 3, &record, 1);
    watched_draw(watched, peaks_n, 1.0, 2.0);
    watched->n_frames -= 20; /* it is still held */
    watched_feed(watched, 50);
    const size_t n_events = watched->n_events;
    record = make_record(0, 95.0, 0.25);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_known(20.0, 0.1);
    amend(watched, &record, 1);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(get_state(watched, i), SH_LIMIT_REACHED);
    }
    watched->n_frames += 20;
    watched_rest(watched, 1.0);
    watched_feed(watched, 50);
    amend(watched, &record, 1); /* it has ended, and is not measured yet */
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(get_state(watched, i), SH_LIMIT_REACHED);
    }
    assert_int_equal(watched->n_events, n_events);
    watched_close(watched);
}

/* The draw before comes to its limit by a correction: told, but the one that runs is inside. */
static void test_a_draw_that_runs_keeps_its_state(void **state)
{
    const struct sh_mark mark = make_most("finger_peak_n", "ring", "shot", 60.0);
    struct sh_shot_record record = make_record(0, 100.0, 0.25);
    struct watched *watched = watch_draws(&mark, 1, &record, 1);
    watched_draw(watched, peaks_n, 1.0, 2.0); /* 40 N */
    watched->n_frames -= 20;
    watched_feed(watched, 50);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_INSIDE);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_known(61.0, 0.1);
    amend(watched, &record, 1);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 1);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_INSIDE);
    watched_close(watched);
}

/* A draw corrected so that its share cannot be measured: said, and never inside. */
static void test_a_figure_becomes_unknown(void **state)
{
    const struct sh_mark mark = make_most("finger_share", "ring", "shot", 0.25);
    struct sh_shot_record record = make_record(0, 100.0, 0.1);
    struct watched *watched = watch_draws(&mark, 1, &record, 1);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE, 2) =
        sh_quantity_unknown(SH_WHY_TOO_SHORT);
    amend(watched, &record, 1);
    amend(watched, &record, 1);
    assert_int_equal(get_state(watched, 0), SH_LIMIT_UNKNOWN);
    assert_int_equal(watched->n_events, 1);
    assert_int_equal(watched->event[0].kind, SH_LIMIT_EVENT_UNKNOWN);
    assert_non_null(strstr(watched->event[0].text, "too short"));
    watched_close(watched);
}

static void test_other_draws_than_those_taken(void **state)
{
    const struct sh_mark mark = make_most("finger_impulse_n_s", "ring", "day", 240.0);
    struct sh_shot_record records[] = {make_record(0, 100.0, 0.25),
                                       make_record(1, 145.0, 0.25)};
    struct watched *watched = watch_draws(&mark, 1, records, 1);
    amend(watched, records, 2);
    amend(watched, NULL, 0);
    assert_near(sh_limit_watch_get_tally(watched->watch)->impulse_n_s[2].value, 100.0, 1e-9, 0);
    assert_int_equal(watched->n_events, 0);
    watched_close(watched);
}

/* Whether a limit is reached by the figures of all records, as an analysis has it. */
static bool is_found(const struct sh_mark *mark, const struct sh_shot_record *records, size_t n)
{
    struct sh_limit_tally tally = {.n_draws = 0};
    struct sh_finding finding;
    bool is_reached = false;
    for (size_t k = 0; k < n; k++) {
        sh_limit_tally_add(&tally, &records[k]);
        const bool is_now = sh_limit_find(mark, "", &records[k], &tally, &finding);
        is_reached = is_now || (is_reached && strcmp(mark->per, "shot") != 0);
    }
    return is_reached;
}

/* Limits about the figures, below and above: reached where an analysis of the corrected draws
 * finds them so, whatever they were before. */
static void test_as_an_analysis_has_it(void **state)
{
    static const double before[] = {60.0, 100.0, 140.0};
    const struct sh_shot_record corrected[] = {
        make_record(0, 80.0, 0.2), make_record(1, 90.0, 0.26), make_record(2, 95.0, 0.21)};
    struct sh_mark marks[6];
    marks[0] = make_most("finger_impulse_n_s", "ring", "day", 262.0);
    marks[1] = make_most("finger_impulse_n_s", "ring", "day", 281.0);
    marks[2] = make_most("finger_impulse_n_s", "ring", "shot", 94.0);
    marks[3] = make_most("finger_impulse_n_s", "ring", "shot", 99.0);
    marks[4] = make_most("finger_share", "ring", "shot", 0.211);
    marks[5] = make_most("finger_share", "ring", "day", 0.24);
    for (size_t i = 0; i < sizeof before / sizeof before[0]; i++) {
        struct sh_shot_record found[3];
        for (size_t k = 0; k < 3; k++) {
            found[k] = make_record(k, before[i], 0.15 + 0.001 * before[i]);
        }
        struct watched *watched = watch_draws(marks, 6, found, 3);
        amend(watched, corrected, 3);
        for (size_t m = 0; m < 6; m++) {
            assert_int_equal(get_state(watched, m) == SH_LIMIT_REACHED,
                             is_found(&marks[m], corrected, 3));
        }
        assert_near(sh_limit_watch_get_tally(watched->watch)->impulse_n_s[2].value, 265.0, 1e-9,
                    0);
        watched_close(watched);
    }
    assert_true(is_found(&marks[0], corrected, 3) && is_found(&marks[2], corrected, 3));
    assert_false(is_found(&marks[1], corrected, 3) || is_found(&marks[3], corrected, 3));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_sum_becomes_smaller),
        cmocka_unit_test(test_a_sum_becomes_larger),
        cmocka_unit_test(test_a_limit_of_each_shot),
        cmocka_unit_test(test_told_while_it_ran),
        cmocka_unit_test(test_rest_counts_from_the_corrected_release),
        cmocka_unit_test(test_a_draw_that_runs_goes_on),
        cmocka_unit_test(test_a_draw_that_runs_keeps_its_state),
        cmocka_unit_test(test_a_figure_becomes_unknown),
        cmocka_unit_test(test_other_draws_than_those_taken),
        cmocka_unit_test(test_as_an_analysis_has_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
