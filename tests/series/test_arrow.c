/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/arrow.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAWS_MAX 8u

static struct sh_analysis analysis;
static struct sh_arrow arrows[DRAWS_MAX];

/* A draw that begins at begin_s, of a shot released five seconds later. */
static void add(double begin_s, enum sh_shot_kind kind)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = (unsigned)analysis.n_shots + 1;
    record.shot.kind = kind;
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(begin_s, 0.01);
    const enum sh_event last = kind == SH_SHOT_SHOT ? SH_EVENT_RELEASE : SH_EVENT_LET_DOWN;
    record.shot.event_s[last] = sh_quantity_known(begin_s + 5.0, 0.01);
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
}

/* Six draws, 20 s apart, of which the third is let down; from the fifth on 200 s later. */
static int open_draws(void **state)
{
    (void)state;
    sh_analysis_init(&analysis, "tuesday", "wren");
    add(10.0, SH_SHOT_SHOT);
    add(30.0, SH_SHOT_SHOT);
    add(50.0, SH_SHOT_LET_DOWN);
    add(70.0, SH_SHOT_SHOT);
    add(290.0, SH_SHOT_SHOT);
    add(310.0, SH_SHOT_SHOT);
    return 0;
}

static int close_draws(void **state)
{
    (void)state;
    sh_analysis_close(&analysis);
    return 0;
}

static void check(const struct sh_mark *marks, size_t n_marks, const char *expected)
{
    char got[DRAWS_MAX * 2 + 1] = "";
    sh_arrow_find_all(&analysis, marks, n_marks, arrows);
    for (size_t i = 0; i < analysis.n_shots; i++) {
        got[2 * i] = (char)('0' + arrows[i].end);
        got[2 * i + 1] = (char)('0' + arrows[i].number);
    }
    assert_string_equal(got, expected);
}

static struct sh_mark make_clock(double t_s, double arrows_wanted)
{
    return (struct sh_mark){.t_s = t_s,
                            .kind = SH_MARK_CLOCK,
                            .seconds = {true, 120.0},
                            .arrows = {true, arrows_wanted}};
}

static void test_pauses_part_ends(void **state)
{
    check(NULL, 0, "111210132122");
    assert_false(arrows[0].is_clocked);
}

static void test_a_pause_of_exactly_the_gap(void **state)
{
    add(310.0 + 5.0 + SH_ARROW_END_GAP_S, SH_SHOT_SHOT);
    check(NULL, 0, "11121013212231");
    analysis.shots[6].shot.event_s[SH_EVENT_DRAW_START].value -= 0.001;
    check(NULL, 0, "11121013212223");
}

static void test_end_marks_come_before_pauses(void **state)
{
    const struct sh_mark marks[] = {{.t_s = 60.0, .kind = SH_MARK_END}};
    check(marks, 1, "111210212223");
}

static void test_clocks_come_before_end_marks(void **state)
{
    const struct sh_mark marks[] = {make_clock(5.0, 3.0),
                                    {.t_s = 60.0, .kind = SH_MARK_END},
                                    make_clock(65.0, 3.0),
                                    {.t_s = 300.0, .kind = SH_MARK_CLOCK_STOP}};
    check(marks, 4, "111210212231");
    assert_true(arrows[0].is_clocked);
    assert_true(arrows[4].is_clocked);
    assert_false(arrows[5].is_clocked);
}

/* Alternating shooting starts a clock an arrow: pauses and end marks part the ends then. */
static void test_clocks_for_one_arrow_part_nothing(void **state)
{
    const struct sh_mark marks[] = {make_clock(5.0, 1.0),   make_clock(25.0, 1.0),
                                    make_clock(45.0, 1.0),  make_clock(65.0, 1.0),
                                    make_clock(285.0, 1.0), make_clock(305.0, 1.0)};
    check(marks, 6, "111210132122");
}

/* A clock that was halted and goes on is the same end. */
static void test_a_halted_clock_goes_on(void **state)
{
    struct sh_mark marks[] = {make_clock(5.0, 6.0),
                              {.t_s = 40.0, .kind = SH_MARK_CLOCK_STOP},
                              make_clock(45.0, 6.0),
                              make_clock(280.0, 6.0)};
    check(marks, 4, "111220213132");
    marks[2].elapsed_s = (struct sh_mark_number){true, 35.0};
    check(marks, 4, "111210132122");
}

static void test_scores(void **state)
{
    const struct sh_mark marks[] = {
        {.t_s = 28.0, .kind = SH_MARK_ARROW, .score = {true, 8.0}, .shot = {true, 5.0}},
        {.t_s = 60.0, .kind = SH_MARK_ARROW, .score = {true, 7.0}},
        {.t_s = 61.0, .kind = SH_MARK_ARROW, .score = {true, 10.0}},
        {.t_s = 0.0, .kind = SH_MARK_ARROW, .score = {true, 6.0}, .shot = {true, 6.0}},
        {.t_s = 0.0, .kind = SH_MARK_ARROW, .score = {true, 5.0}, .shot = {true, 3.0}},
        {.t_s = 400.0, .kind = SH_MARK_END, .scores = {9.0, 9.0}, .n_scores = 2}};
    sh_arrow_find_all(&analysis, marks, sizeof marks / sizeof marks[0], arrows);
    assert_true(arrows[0].has_score); /* by its time, though it names another */
    assert_near(arrows[0].score, 8.0, 0.0, 0.0);
    assert_near(arrows[1].score, 10.0, 0.0, 0.0); /* the later of two */
    assert_false(arrows[2].has_score);            /* a let-down hits nothing */
    assert_false(arrows[3].has_score);
    assert_false(arrows[4].has_score);
    assert_near(arrows[5].score, 6.0, 0.0, 0.0); /* by its number */
    analysis.shots[2].has_score = true;          /* of earlier marks: it goes */
    sh_arrow_put_scores(&analysis, marks, sizeof marks / sizeof marks[0]);
    for (size_t i = 0; i < analysis.n_shots; i++) {
        assert_int_equal(analysis.shots[i].has_score, arrows[i].has_score);
        assert_near(analysis.shots[i].score, arrows[i].score, 0.0, 0.0);
    }
}

static void test_nothing(void **state)
{
    struct sh_analysis empty;
    sh_analysis_init(&empty, "tuesday", "wren");
    sh_arrow_find_all(&empty, NULL, 0, NULL);
    sh_analysis_close(&empty);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_pauses_part_ends, open_draws, close_draws),
        cmocka_unit_test_setup_teardown(test_a_pause_of_exactly_the_gap, open_draws,
                                        close_draws),
        cmocka_unit_test_setup_teardown(test_end_marks_come_before_pauses, open_draws,
                                        close_draws),
        cmocka_unit_test_setup_teardown(test_clocks_come_before_end_marks, open_draws,
                                        close_draws),
        cmocka_unit_test_setup_teardown(test_clocks_for_one_arrow_part_nothing, open_draws,
                                        close_draws),
        cmocka_unit_test_setup_teardown(test_a_halted_clock_goes_on, open_draws, close_draws),
        cmocka_unit_test_setup_teardown(test_scores, open_draws, close_draws),
        cmocka_unit_test(test_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
