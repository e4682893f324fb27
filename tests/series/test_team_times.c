/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_times.h"

#include <math.h>
#include <string.h>

#include "series/team_made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A recording being made up. */
struct made {
    struct sh_analysis analysis;
    struct sh_mark marks[8];
    size_t n_marks;
    struct sh_team_times times;
};

static void open_made(struct made *made)
{
    memset(made, 0, sizeof *made);
    sh_analysis_init(&made->analysis, "tuesday", "wren");
}

static void close_made(struct made *made)
{
    sh_analysis_close(&made->analysis);
    sh_team_times_close(&made->times);
}

static void shoot(struct made *made, enum sh_shot_kind kind, double begin_s, double over_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = (unsigned)made->analysis.n_shots + 1;
    record.shot.kind = kind;
    if (!isnan(begin_s)) {
        record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(begin_s, 0.01);
    }
    if (!isnan(over_s)) {
        record.shot.event_s[kind == SH_SHOT_SHOT ? SH_EVENT_RELEASE : SH_EVENT_LET_DOWN] =
            sh_quantity_known(over_s, 0.001);
    }
    assert_int_equal(sh_analysis_add(&made->analysis, &record), SH_OK);
}

static void start_clock(struct made *made, double t_s, double elapsed_s)
{
    made->marks[made->n_marks++] = (struct sh_mark){.t_s = t_s,
                                                    .kind = SH_MARK_CLOCK,
                                                    .seconds = {true, 120.0},
                                                    .arrows = {true, 6.0},
                                                    .elapsed_s = {elapsed_s > 0.0, elapsed_s}};
}

static const struct sh_team_end *take(struct made *made)
{
    assert_int_equal(
        sh_team_times_add(&made->times, &made->analysis, made->marks, made->n_marks, 1000.0),
        SH_OK);
    return made->times.ends;
}

/* A clock at 10, arrows gone at 25, 40 and 52. */
static void test_under_a_clock(void **state)
{
    struct made made;
    open_made(&made);
    start_clock(&made, 10.0, 0.0);
    shoot(&made, SH_SHOT_SHOT, 20.0, 25.0);
    shoot(&made, SH_SHOT_SHOT, 35.0, 40.0);
    shoot(&made, SH_SHOT_SHOT, 47.0, 52.0);
    const struct sh_team_end *end = take(&made);
    assert_int_equal(made.times.n_ends, 1);
    assert_int_equal(end->first, SH_TEAM_FIRST_START);
    assert_near(end->first_s, 15.0, 1e-12, 0);
    assert_int_equal(end->n_next, 2);
    assert_near(made.times.next_s[0], 15.0, 1e-12, 0);
    assert_near(made.times.next_s[1], 12.0, 1e-12, 0);
    assert_true(end->is_clocked);
    assert_near(end->clock_at_s, 1010.0, 1e-12, 0);
    assert_near(end->last_s, 42.0, 1e-12, 0);
    assert_int_equal(made.times.n_unknown, 0);
    close_made(&made);
}

/* Another's clock that had run for 31.5 s as this archer took over, 0.5 s into the file. */
static void test_taken_over(void **state)
{
    struct made made;
    open_made(&made);
    start_clock(&made, 0.5, 31.5);
    shoot(&made, SH_SHOT_SHOT, 8.0, 13.0);
    const struct sh_team_end *end = take(&made);
    assert_int_equal(end->first, SH_TEAM_FIRST_HAND_OVER);
    assert_near(end->first_s, 12.5, 1e-12, 0);
    assert_near(end->taken_s, 31.5, 1e-12, 0);
    assert_near(end->clock_at_s, 1000.0 - 31.0, 1e-12, 0);
    assert_near(end->last_s, 44.0, 1e-12, 0);
    close_made(&made);
}

/* A clock that was halted between two arrows and went on: the halt is nobody's time. */
static void test_halted(void **state)
{
    struct made made;
    open_made(&made);
    start_clock(&made, 10.0, 0.0);
    made.marks[made.n_marks++] = (struct sh_mark){.t_s = 30.0, .kind = SH_MARK_CLOCK_STOP};
    start_clock(&made, 80.0, 20.0);
    shoot(&made, SH_SHOT_SHOT, 20.0, 25.0);
    shoot(&made, SH_SHOT_SHOT, 90.0, 95.0);
    const struct sh_team_end *end = take(&made);
    assert_int_equal(made.times.n_ends, 1);
    assert_int_equal(end->first, SH_TEAM_FIRST_START);
    assert_int_equal(end->n_next, 1);
    assert_near(made.times.next_s[0], 15.0, 1e-12, 0);
    close_made(&made);
}

/* Without a clock the pause before an end is not the first arrow's. */
static void test_free_shooting(void **state)
{
    struct made made;
    open_made(&made);
    shoot(&made, SH_SHOT_SHOT, 20.0, 25.0);
    shoot(&made, SH_SHOT_SHOT, 35.0, 40.0);
    shoot(&made, SH_SHOT_SHOT, 235.0, 240.0);
    shoot(&made, SH_SHOT_SHOT, 247.0, 254.0);
    const struct sh_team_end *ends = take(&made);
    assert_int_equal(made.times.n_ends, 2);
    assert_int_equal(ends[0].first, SH_TEAM_FIRST_KINDS);
    assert_int_equal(ends[1].first, SH_TEAM_FIRST_KINDS);
    assert_int_equal(made.times.n_next, 2);
    assert_near(made.times.next_s[1], 14.0, 1e-12, 0);
    assert_false(ends[0].is_clocked);
    assert_true(isnan(ends[0].clock_at_s));
    assert_int_equal(made.times.n_unknown, 0);
    close_made(&made);
}

/*
 * Two let-downs before the second arrow: from draw start to draw start 12 s and 9 s; the arrow
 * took 15 s besides. One at the end, with no draw behind it, has a cost nobody knows.
 */
static void test_let_downs(void **state)
{
    struct made made;
    open_made(&made);
    start_clock(&made, 10.0, 0.0);
    shoot(&made, SH_SHOT_SHOT, 20.0, 25.0);
    shoot(&made, SH_SHOT_LET_DOWN, 35.0, 39.0);
    shoot(&made, SH_SHOT_LET_DOWN, 47.0, 50.0);
    shoot(&made, SH_SHOT_SHOT, 56.0, 61.0);
    shoot(&made, SH_SHOT_LET_DOWN, 70.0, 75.0);
    const struct sh_team_end *end = take(&made);
    const struct sh_team_times_count count = sh_team_times_get_count(&made.times);
    assert_int_equal(end->n_next, 1);
    assert_near(made.times.next_s[0], 15.0, 1e-12, 0);
    assert_int_equal(end->n_let_downs, 3);
    assert_int_equal(end->n_costs, 2);
    assert_near(made.times.cost_s[0], 12.0, 1e-12, 0);
    assert_near(made.times.cost_s[1], 9.0, 1e-12, 0);
    assert_int_equal(count.n_arrows, 2);
    assert_int_equal(count.n_let_downs, 3);
    close_made(&made);
}

/* What may have been an arrow, and one whose release is not known: nothing is said of those
 * that follow. */
static void test_unknown(void **state)
{
    struct made made;
    open_made(&made);
    start_clock(&made, 10.0, 0.0);
    shoot(&made, SH_SHOT_SHOT, 20.0, 25.0);
    shoot(&made, SH_SHOT_UNRESOLVED, 31.0, (double)NAN);
    shoot(&made, SH_SHOT_SHOT, 45.0, 50.0);
    shoot(&made, SH_SHOT_SHOT, 60.0, 66.0);
    shoot(&made, SH_SHOT_SHOT, 75.0, (double)NAN);
    shoot(&made, SH_SHOT_SHOT, 90.0, 95.0);
    shoot(&made, SH_SHOT_SHOT, (double)NAN, 105.0);
    const struct sh_team_end *end = take(&made);
    assert_int_equal(end->n_next, 1);
    assert_near(made.times.next_s[0], 16.0, 1e-12, 0);
    assert_int_equal(made.times.n_unknown, 4);
    assert_int_equal(end->n_arrows, 6);
    close_made(&made);
}

static void test_first_after_unknown(void **state)
{
    struct made made;
    open_made(&made);
    start_clock(&made, 10.0, 0.0);
    shoot(&made, SH_SHOT_UNRESOLVED, 15.0, (double)NAN);
    shoot(&made, SH_SHOT_SHOT, 30.0, 35.0);
    const struct sh_team_end *end = take(&made);
    assert_int_equal(end->first, SH_TEAM_FIRST_KINDS);
    assert_int_equal(made.times.n_unknown, 1);
    close_made(&made);
}

/* A second recording is appended; nothing at all leaves nothing. */
static void test_appends(void **state)
{
    struct made made;
    open_made(&made);
    (void)take(&made);
    assert_int_equal(made.times.n_ends, 0);
    start_clock(&made, 10.0, 0.0);
    shoot(&made, SH_SHOT_SHOT, 20.0, 25.0);
    shoot(&made, SH_SHOT_SHOT, 35.0, 40.0);
    (void)take(&made);
    const struct sh_team_end *ends = take(&made);
    assert_int_equal(made.times.n_ends, 2);
    assert_int_equal(ends[1].next, 1);
    assert_near(made.times.next_s[1], 15.0, 1e-12, 0);
    close_made(&made);
}

/* Ten arrows of five ends are just enough; free ones go only where clocked ones are. */
static void test_enough(void **state)
{
    static const double next_s[2] = {12.0, 13.0};
    struct sh_team_times times;
    struct sh_team_times_count count;
    team_made_open(&times);
    for (size_t i = 0; i < 5; i++) {
        count = sh_team_times_get_count(&times);
        assert_false(sh_team_times_is_enough(&count));
        team_made_add(&times, SH_TEAM_FIRST_START, (double)NAN, next_s, 2);
    }
    count = sh_team_times_get_count(&times);
    assert_true(sh_team_times_is_enough(&count));
    assert_int_equal(count.n_free_ends, 5);
    team_made_add(&times, SH_TEAM_FIRST_START, 15.0, next_s, 2);
    team_made_add(&times, SH_TEAM_FIRST_HAND_OVER, 15.0, next_s, 2);
    team_made_add(&times, SH_TEAM_FIRST_START, 15.0, next_s, 1);
    team_made_add(&times, SH_TEAM_FIRST_START, 15.0, next_s, 1);
    assert_int_equal(sh_team_times_drop_free(&times), 0); /* ten arrows, four ends */
    team_made_add(&times, SH_TEAM_FIRST_START, 15.0, next_s, 0);
    assert_int_equal(sh_team_times_drop_free(&times), 5);
    count = sh_team_times_get_count(&times);
    assert_int_equal(count.n_free_ends, 0);
    assert_int_equal(count.n_first[SH_TEAM_FIRST_START], 4);
    assert_int_equal(count.n_first[SH_TEAM_FIRST_HAND_OVER], 1);
    assert_int_equal(count.n_next, 6);
    assert_int_equal(count.n_timed_ends, 5);
    sh_team_times_close(&times);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_under_a_clock),
        cmocka_unit_test(test_taken_over),
        cmocka_unit_test(test_halted),
        cmocka_unit_test(test_free_shooting),
        cmocka_unit_test(test_let_downs),
        cmocka_unit_test(test_unknown),
        cmocka_unit_test(test_first_after_unknown),
        cmocka_unit_test(test_appends),
        cmocka_unit_test(test_enough),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
