/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/clock_time.h"

#include "measure/made.h"
#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_mark clock_mark(double t_s, double seconds)
{
    return (struct sh_mark){.t_s = t_s, .kind = SH_MARK_CLOCK, .seconds = {true, seconds}};
}

static struct sh_mark going_on(double t_s, double seconds, double elapsed_s)
{
    struct sh_mark mark = clock_mark(t_s, seconds);
    mark.elapsed_s = (struct sh_mark_number){true, elapsed_s};
    return mark;
}

static struct sh_mark stop_mark(double t_s)
{
    return (struct sh_mark){.t_s = t_s, .kind = SH_MARK_CLOCK_STOP};
}

static void test_the_last_clock_runs(void **state)
{
    const struct sh_mark marks[] = {
        clock_mark(100.0, 120.0), clock_mark(20.0, 90.0), {.t_s = 40.0, .kind = SH_MARK_NOTE}};
    struct sh_clock_time clock = {.began_s = -1.0};
    assert_false(sh_clock_time_find(marks, 3, 19.999, &clock));
    assert_near(clock.began_s, -1.0, 0.0, 0.0);
    assert_true(sh_clock_time_find(marks, 3, 20.0, &clock));
    assert_near(clock.began_s, 20.0, 0.0, 0.0);
    assert_near(clock.length_s, 90.0, 0.0, 0.0);
    assert_true(sh_clock_time_find(marks, 3, 99.999, &clock));
    assert_near(clock.length_s, 90.0, 0.0, 0.0);
    assert_true(sh_clock_time_find(marks, 3, 5000.0, &clock));
    assert_near(clock.length_s, 120.0, 0.0, 0.0);
    assert_false(sh_clock_time_find(NULL, 0, 5.0, &clock));
}

static void test_a_stopped_clock_does_not_run(void **state)
{
    const struct sh_mark marks[] = {clock_mark(20.0, 90.0), stop_mark(60.0),
                                    clock_mark(60.0, 80.0), stop_mark(200.0)};
    struct sh_clock_time clock;
    assert_true(sh_clock_time_find(marks, 2, 59.999, &clock));
    assert_false(sh_clock_time_find(marks, 2, 60.0, &clock));
    assert_true(sh_clock_time_find(marks, 4, 60.0, &clock)); /* the later in the list */
    assert_near(clock.length_s, 80.0, 0.0, 0.0);
    assert_false(sh_clock_time_find(marks, 4, 200.0, &clock));
}

static void test_a_clock_from_the_recording_before(void **state)
{
    const struct sh_mark marks[] = {going_on(0.0, 120.0, 35.0)};
    struct sh_clock_time clock;
    assert_true(sh_clock_time_find(marks, 1, 4.0, &clock));
    assert_near(clock.began_s, -35.0, 0.0, 0.0);
    assert_near(clock.allowed_s, -35.0, 0.0, 0.0);
}

static void test_a_halted_clock_that_goes_on(void **state)
{
    const struct sh_mark marks[] = {clock_mark(10.0, 120.0), stop_mark(50.0),
                                    going_on(80.0, 120.0, 40.0)};
    struct sh_clock_time clock;
    assert_true(sh_clock_time_find(marks, 3, 90.0, &clock));
    assert_near(clock.began_s, 40.0, 0.0, 0.0);
    assert_near(clock.allowed_s, 80.0, 0.0, 0.0);
}

/* Draw start at 4 s, release at 8.15 s; no samples are needed. */
struct fixture {
    struct sh_shot shot;
    struct sh_shot_view view;
    struct sh_scene scene;
    struct sh_measures measures;
};

static void measure(struct fixture *f, const struct sh_mark *marks, size_t n_marks)
{
    f->shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(4.0, 0.003);
    f->shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(8.15, 0.001);
    f->scene.shot = &f->shot;
    f->scene.view = &f->view;
    f->scene.marks = marks;
    f->scene.n_marks = n_marks;
    sh_clock_time_measure(&f->scene, &f->measures);
}

static void check(const struct fixture *f, enum sh_measure which, double value, double u)
{
    const struct sh_quantity *got = sh_catalog_get(&f->measures, which, 0);
    assert_int_equal(got->why, SH_WHY_KNOWN);
    assert_near(got->value, value, 1e-9, 0.0);
    assert_near(got->u, u, 1e-9, 0.0);
}

static enum sh_why get_why(const struct fixture *f, enum sh_measure which)
{
    return sh_catalog_get(&f->measures, which, 0)->why;
}

static void test_set_up_from_the_later_of_clock_and_release(void **state)
{
    const struct sh_mark marks[] = {clock_mark(1.0, 120.0)};
    struct fixture f = {.scene = {.previous_release_s = sh_quantity_known(-20.0, 0.004)}};
    measure(&f, marks, 1);
    check(&f, SH_MEASURE_SETUP_TIME, 3.0, 0.003);
    f.scene.previous_release_s.value = 1.5;
    measure(&f, marks, 1);
    check(&f, SH_MEASURE_SETUP_TIME, 2.5, 0.005);
    measure(&f, NULL, 0);
    check(&f, SH_MEASURE_SETUP_TIME, 2.5, 0.005);
    f.scene.previous_release_s = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    measure(&f, marks, 1);
    check(&f, SH_MEASURE_SETUP_TIME, 3.0, 0.003);
    measure(&f, NULL, 0);
    assert_int_equal(get_why(&f, SH_MEASURE_SETUP_TIME), SH_WHY_NOT_GIVEN);
}

static void test_time_left_and_overrun(void **state)
{
    const struct sh_mark marks[] = {clock_mark(-14.0, 20.0)};
    struct fixture f = {.view = {0}};
    measure(&f, marks, 1);
    check(&f, SH_MEASURE_TIME_LEFT_DRAW, 2.0, 0.003);
    check(&f, SH_MEASURE_TIME_LEFT_RELEASE, -2.15, 0.001);
}

static void test_a_clock_that_stops_during_the_draw(void **state)
{
    const struct sh_mark marks[] = {clock_mark(0.0, 20.0), stop_mark(6.0)};
    struct fixture f = {.view = {0}};
    measure(&f, marks, 2);
    check(&f, SH_MEASURE_TIME_LEFT_DRAW, 16.0, 0.003);
    assert_int_equal(get_why(&f, SH_MEASURE_TIME_LEFT_RELEASE), SH_WHY_NOT_APPLICABLE);
}

static void test_what_is_not_known(void **state)
{
    const struct sh_mark endless = {.t_s = 1.0, .kind = SH_MARK_CLOCK};
    struct fixture f = {.view = {0}};
    measure(&f, NULL, 0);
    assert_int_equal(get_why(&f, SH_MEASURE_TIME_LEFT_DRAW), SH_WHY_NOT_GIVEN);
    measure(&f, &endless, 1);
    assert_int_equal(get_why(&f, SH_MEASURE_TIME_LEFT_DRAW), SH_WHY_NOT_GIVEN);
    check(&f, SH_MEASURE_SETUP_TIME, 3.0, 0.003);
    f.shot.kind = SH_SHOT_LET_DOWN;
    measure(&f, &endless, 1);
    check(&f, SH_MEASURE_SETUP_TIME, 3.0, 0.003);
    assert_int_equal(get_why(&f, SH_MEASURE_TIME_LEFT_RELEASE), SH_WHY_NOT_APPLICABLE);
    f.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    sh_clock_time_measure(&f.scene, &f.measures);
    assert_int_equal(get_why(&f, SH_MEASURE_SETUP_TIME), SH_WHY_NO_CHANNEL);
    assert_int_equal(get_why(&f, SH_MEASURE_TIME_LEFT_DRAW), SH_WHY_NO_CHANNEL);
}

/* Two events of one sensor: its delay of 5 ms and its clock's 40 ms are in both. */
static void test_what_the_release_before_shares_cancels(void **state)
{
    const struct sh_event_share force = {
        .is_known = true, .clock_u_s = 0.04, .delay_u_s = 0.005};
    const double u_s = sqrt(0.003 * 0.003 + 0.04 * 0.04 + 0.005 * 0.005);
    struct sh_shot_view view = {.n_streams = 1};
    struct sh_shot shot = {.kind = SH_SHOT_SHOT};
    struct sh_measures measures = {0};
    shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(50.0, u_s);
    shot.event_share[SH_EVENT_DRAW_START] = force;
    struct sh_scene scene = {
        .shot = &shot, .view = &view, .previous_release_s = sh_quantity_known(38.0, u_s)};
    sh_clock_time_measure(&scene, &measures);
    const struct sh_quantity *setup = &measures.quantity[SH_MEASURE_SETUP_TIME_FIRST];
    assert_near(setup->value, 12.0, 1e-12, 0.0);
    assert_near(setup->u, sqrt(2.0) * u_s, 1e-9, 0.0);
    scene.previous_share = force;
    sh_clock_time_measure(&scene, &measures);
    assert_near(setup->u, sqrt(2.0) * 0.003, 1e-9, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_the_release_before_shares_cancels),
        cmocka_unit_test(test_the_last_clock_runs),
        cmocka_unit_test(test_a_stopped_clock_does_not_run),
        cmocka_unit_test(test_a_clock_from_the_recording_before),
        cmocka_unit_test(test_a_halted_clock_that_goes_on),
        cmocka_unit_test(test_set_up_from_the_later_of_clock_and_release),
        cmocka_unit_test(test_time_left_and_overrun),
        cmocka_unit_test(test_a_clock_that_stops_during_the_draw),
        cmocka_unit_test(test_what_is_not_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
