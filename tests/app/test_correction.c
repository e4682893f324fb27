/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/correction.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAW_S 20.0 /* from one draw to the next */

/* Draw n as it is found: events at DRAW_S n, + 1, + 4, + 4.2, + 4.8. */
static struct sh_shot make_shot(unsigned n)
{
    static const double after_s[SH_EVENT_COUNT] = {0.0, 1.0, 4.0, 4.2, (double)NAN, 4.8};
    struct sh_shot shot = {.n = n,
                           .kind = SH_SHOT_SHOT,
                           .clicker_sensor = SH_CLICKER_ACCELERATION,
                           .clicker_probability = 0.99,
                           .strip = SH_STRIP_FELL};
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        shot.event_s[event] = isfinite(after_s[event])
                                  ? sh_quantity_known(DRAW_S * n + after_s[event], 0.001)
                                  : sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
        shot.event_share[event].is_known = isfinite(after_s[event]);
    }
    return shot;
}

static struct sh_mark make_mark(double t_s, unsigned number, const char *event, double value_s)
{
    struct sh_mark mark = {.t_s = t_s, .kind = SH_MARK_CORRECTION};
    mark.shot = (struct sh_mark_number){number > 0, number};
    (void)snprintf(mark.event, sizeof mark.event, "%s", event);
    mark.value_s = (struct sh_mark_number){isfinite(value_s), isfinite(value_s) ? value_s : 0};
    return mark;
}

/* Two passes over draws 1 to 3, settled between; the corrections as they came out. */
static void
run(const struct sh_mark *marks, size_t n, struct sh_shot shot[4], struct sh_corrections *out)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "evening", "wren");
    assert_int_equal(sh_corrections_open(marks, n, out), SH_OK);
    for (int pass = 0; pass < 2; pass++) {
        sh_corrections_begin(out);
        for (unsigned k = 1; k < 4; k++) {
            shot[k] = make_shot(k);
            sh_corrections_apply(out, &shot[k]);
            const struct sh_shot_record record = {.shot = shot[k]};
            assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
        }
        sh_corrections_settle(out, &analysis);
    }
    sh_analysis_close(&analysis);
}

static void check_untouched(const struct sh_shot *shot)
{
    const struct sh_shot found = make_shot(shot->n);
    assert_int_equal(shot->kind, found.kind);
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        assert_false(shot->is_corrected[event]);
        assert_int_equal(shot->event_s[event].why, found.event_s[event].why);
        assert_near(shot->event_s[event].value, found.event_s[event].value, 0.0, 0.0);
        assert_near(shot->event_s[event].u, found.event_s[event].u, 0.0, 0.0);
    }
}

static void test_names(void **state)
{
    assert_int_equal(sh_correction_find_event("clicker"), SH_EVENT_CLICKER);
    assert_int_equal(sh_correction_find_event("clicker_s"), SH_EVENT_CLICKER);
    assert_int_equal(sh_correction_find_event("full_draw_s"), SH_EVENT_FULL_DRAW);
    assert_int_equal(sh_correction_find_event("full-draw"), SH_EVENT_FULL_DRAW);
    assert_int_equal(sh_correction_find_event("end"), SH_EVENT_END);
    assert_int_equal(sh_correction_find_event("clicker_u_s"), SH_EVENT_COUNT);
    assert_int_equal(sh_correction_find_event("clicke"), SH_EVENT_COUNT);
    assert_int_equal(sh_correction_find_event("click"), SH_EVENT_COUNT);
    assert_int_equal(sh_correction_find_event(""), SH_EVENT_COUNT);
}

/* The person's own uncertainty, else that of a reading. */
static void test_uncertainty(void **state)
{
    struct sh_mark mark = make_mark(0.0, 1, "clicker_s", 24.05);
    assert_near(sh_correction_make(&mark, 0).value_s.u, 0.01 / sqrt(3.0), 0.0, 1e-15);
    mark.value_u_s = (struct sh_mark_number){true, 0.002};
    assert_near(sh_correction_make(&mark, 0).value_s.u, 0.002, 0.0, 0.0);
    mark.value_u_s = (struct sh_mark_number){true, 0.0};
    assert_near(sh_correction_make(&mark, 0).value_s.u, 0.0, 0.0, 0.0);
}

/* Of a draw's event the last: near it, or with its number. */
static void test_the_last_of_an_event(void **state)
{
    const struct sh_shot second = make_shot(2);
    const struct sh_mark marks[] = {
        make_mark(44.2, 2, "clicker_s", 43.9),   make_mark(44.2, 2, "clicker_s", (double)NAN),
        make_mark(44.2, 2, "full_draw_s", 41.2), make_mark(64.2, 3, "clicker_s", 63.9),
        make_mark(500.0, 2, "release_s", 500.0), {.t_s = 44.0, .kind = SH_MARK_NOTE}};
    assert_int_equal(sh_correction_find_last(marks, 6, &second, SH_EVENT_CLICKER), 1);
    assert_int_equal(sh_correction_find_last(marks, 1, &second, SH_EVENT_CLICKER), 0);
    assert_int_equal(sh_correction_find_last(marks, 6, &second, SH_EVENT_FULL_DRAW), 2);
    assert_int_equal(sh_correction_find_last(marks, 6, &second, SH_EVENT_RELEASE), 4);
    assert_int_equal(sh_correction_find_last(marks, 6, &second, SH_EVENT_END), 6);
    assert_int_equal(sh_correction_find_last(marks, 0, &second, SH_EVENT_CLICKER), 0);
}

static void test_none(void **state)
{
    const struct sh_mark note = {.kind = SH_MARK_NOTE};
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    struct sh_error err = {0};
    run(&note, 1, shot, &corrections);
    assert_int_equal(corrections.n, 0);
    check_untouched(&shot[2]);
    assert_false(sh_corrections_find_unused(&corrections, "evening", &err));
    sh_corrections_close(&corrections);
}

/* The value tells the draw, whatever number and mark's time say. */
static void test_belongs_by_its_value(void **state)
{
    const struct sh_mark mark = make_mark(61.0, 3, "clicker_s", 44.1);
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    run(&mark, 1, shot, &corrections);
    check_untouched(&shot[1]);
    check_untouched(&shot[3]);
    assert_near(shot[2].event_s[SH_EVENT_CLICKER].value, 44.1, 0.0, 0.0);
    assert_true(shot[2].is_corrected[SH_EVENT_CLICKER]);
    assert_false(shot[2].is_corrected[SH_EVENT_RELEASE]);
    assert_int_equal(shot[2].clicker_sensor, SH_CLICKER_NONE);
    assert_false(shot[2].event_share[SH_EVENT_CLICKER].is_known); /* a person's own error */
    assert_true(shot[2].event_share[SH_EVENT_RELEASE].is_known);
    assert_int_equal(shot[2].strip, SH_STRIP_FELL);
    assert_int_equal(corrections.list[0].state, SH_CORRECTION_USED);
    assert_int_equal(corrections.list[0].n, 2);
    sh_corrections_close(&corrections);
}

/* A null has no value: the mark's time, then the number, tells the draw. */
static void test_was_not_there(void **state)
{
    const struct sh_mark marks[] = {make_mark(44.0, 1, "clicker_s", (double)NAN),
                                    make_mark(90.0, 3, "full_draw_s", (double)NAN)};
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    run(marks, 2, shot, &corrections);
    check_untouched(&shot[1]);
    assert_int_equal(shot[2].event_s[SH_EVENT_CLICKER].why, SH_WHY_CORRECTED);
    assert_int_equal(shot[2].strip, SH_STRIP_UNKNOWN);
    assert_int_equal(shot[3].event_s[SH_EVENT_FULL_DRAW].why, SH_WHY_CORRECTED);
    sh_corrections_close(&corrections);
}

static void test_last_counts(void **state)
{
    const struct sh_mark marks[] = {make_mark(0.0, 0, "clicker_s", 43.9),
                                    make_mark(0.0, 0, "release_s", 44.3),
                                    make_mark(0.0, 0, "clicker_s", 44.1)};
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    struct sh_error err = {0};
    run(marks, 3, shot, &corrections);
    assert_near(shot[2].event_s[SH_EVENT_CLICKER].value, 44.1, 0.0, 0.0);
    assert_near(shot[2].event_s[SH_EVENT_RELEASE].value, 44.3, 0.0, 0.0);
    assert_int_equal(corrections.list[0].state, SH_CORRECTION_OVERRULED);
    assert_int_equal(corrections.list[1].state, SH_CORRECTION_USED);
    assert_int_equal(corrections.list[2].state, SH_CORRECTION_USED);
    assert_false(sh_corrections_find_unused(&corrections, "evening", &err));
    sh_corrections_close(&corrections);
}

/* Two that only fit each other are taken together. */
static void test_order(void **state)
{
    const struct sh_mark alone = make_mark(0.0, 2, "clicker_s", 44.25);
    const struct sh_mark both[] = {alone, make_mark(0.0, 2, "release_s", 44.4)};
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    struct sh_error err = {0};
    char line[SH_ERROR_LINE_BYTES];
    run(&alone, 1, shot, &corrections);
    check_untouched(&shot[2]);
    assert_int_equal(corrections.list[0].state, SH_CORRECTION_REFUSED);
    assert_true(sh_corrections_find_unused(&corrections, "evening", &err));
    sh_error_format(&err, line);
    assert_string_equal(line, "evening: marks[0]: the correction of draw 2's clicker would put "
                              "the draw's events out of order and is not used; all else was "
                              "worked out; remove the mark if it means nothing");
    sh_corrections_close(&corrections);
    run(both, 2, shot, &corrections);
    assert_near(shot[2].event_s[SH_EVENT_CLICKER].value, 44.25, 0.0, 0.0);
    assert_near(shot[2].event_s[SH_EVENT_RELEASE].value, 44.4, 0.0, 0.0);
    sh_corrections_close(&corrections);
}

/* The same time as another event is in order; outside the draw's reach is not. */
static void test_edges(void **state)
{
    const struct sh_mark same = make_mark(0.0, 2, "clicker_s", 44.2);
    const struct sh_mark early = make_mark(0.0, 2, "draw_start_s", 37.0);
    const struct sh_mark too_early = make_mark(41.0, 2, "draw_start_s", 36.99);
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    run(&same, 1, shot, &corrections);
    assert_true(shot[2].is_corrected[SH_EVENT_CLICKER]);
    sh_corrections_close(&corrections);
    run(&early, 1, shot, &corrections);
    assert_true(shot[2].is_corrected[SH_EVENT_DRAW_START]);
    sh_corrections_close(&corrections);
    run(&too_early, 1, shot, &corrections);
    check_untouched(&shot[2]);
    assert_int_equal(corrections.list[0].state, SH_CORRECTION_REFUSED);
    sh_corrections_close(&corrections);
}

/* A let-down in place of the release, and the release again. */
static void test_kind(void **state)
{
    const struct sh_mark marks[] = {make_mark(0.0, 0, "let_down_s", 44.3),
                                    make_mark(0.0, 0, "release_s", 64.3)};
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    run(marks, 2, shot, &corrections);
    assert_int_equal(shot[2].kind, SH_SHOT_LET_DOWN);
    assert_int_equal(shot[2].event_s[SH_EVENT_RELEASE].why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(shot[2].event_s[SH_EVENT_CLICKER].why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(shot[2].strip, SH_STRIP_UNKNOWN);
    assert_int_equal(shot[3].kind, SH_SHOT_SHOT);
    assert_near(shot[3].event_s[SH_EVENT_RELEASE].value, 64.3, 0.0, 0.0);
    struct sh_shot down = shot[2];
    down.n = 3;
    sh_corrections_begin(&corrections);
    corrections.list[1].time_s = 44.35;
    corrections.list[1].value_s.value = 44.35;
    corrections.list[0].event = SH_EVENT_COUNT;
    sh_corrections_apply(&corrections, &down);
    assert_int_equal(down.kind, SH_SHOT_SHOT);
    assert_int_equal(down.event_s[SH_EVENT_LET_DOWN].why, SH_WHY_NOT_APPLICABLE);
    sh_corrections_close(&corrections);
}

static void test_unused(void **state)
{
    const struct sh_mark marks[] = {make_mark(500.0, 9, "clicker_s", 500.0),
                                    make_mark(44.0, 2, "breath_s", 44.0)};
    struct sh_corrections corrections;
    struct sh_shot shot[4];
    struct sh_error err = {0};
    run(marks, 2, shot, &corrections);
    check_untouched(&shot[2]);
    assert_true(sh_corrections_find_unused(&corrections, "evening", &err));
    assert_string_equal(err.where, "evening: marks[0]");
    assert_string_equal(err.what, "the correction of draw 9's clicker belongs to no draw that "
                                  "is there and is not used (nor is 1 more)");
    err = (struct sh_error){0};
    corrections.n = 2;
    corrections.list[0].state = SH_CORRECTION_USED;
    assert_true(sh_corrections_find_unused(&corrections, "evening", &err));
    assert_string_equal(err.what, "the correction of draw 2's event names no event of a draw "
                                  "and is not used");
    sh_corrections_close(&corrections);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_uncertainty),
        cmocka_unit_test(test_the_last_of_an_event),
        cmocka_unit_test(test_none),
        cmocka_unit_test(test_belongs_by_its_value),
        cmocka_unit_test(test_was_not_there),
        cmocka_unit_test(test_last_counts),
        cmocka_unit_test(test_order),
        cmocka_unit_test(test_edges),
        cmocka_unit_test(test_kind),
        cmocka_unit_test(test_unused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
