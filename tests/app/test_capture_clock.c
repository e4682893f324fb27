/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_clock.h"

#include <stdio.h>
#include <string.h>

#include "app/clock_setup.h"
#include "support/cmocka_all.h"

/* A recording that begins at 100 s of the sensors' clock, and what reached it. */
#define BEGIN_S 100.0

struct heard {
    char marks[4096];
    char said[4096];
    bool is_full; /* no mark is taken any more */
};

static enum sh_status take_mark(void *context, const struct sh_mark *mark, struct sh_error *err)
{
    struct heard *heard = context;
    const size_t n = strlen(heard->marks);
    char more[300] = "";
    if (heard->is_full) {
        return sh_error_set(err, SH_ERR_IO, "here", NULL, "full");
    }
    if (mark->kind == SH_MARK_CLOCK) {
        (void)snprintf(more, sizeof more, " %g/%g%s", mark->seconds.value, mark->arrows.value,
                       mark->elapsed_s.is_given ? " on" : "");
    } else if (mark->kind == SH_MARK_OVERRUN) {
        (void)snprintf(more, sizeof more, " #%g %s", mark->shot.value, mark->text);
    }
    (void)snprintf(heard->marks + n, sizeof heard->marks - n, "%.2f %s%s\n", mark->t_s,
                   sh_mark_kind_name(mark->kind), more);
    return SH_OK;
}

static void take_words(void *context, const char *line)
{
    struct heard *heard = context;
    (void)snprintf(heard->said + strlen(heard->said), sizeof heard->said - strlen(heard->said),
                   "%s", line);
}

struct bench {
    struct sh_round_format format;
    struct sh_capture_clock clock;
    struct heard heard;
    struct sh_segmenter_state state;
    unsigned n_shots;
};

static void open_bench(struct bench *bench, const char *format)
{
    const struct sh_capture_clock_sink sink = {take_mark, take_words, NULL, &bench->heard};
    *bench = (struct bench){.state = {.phase = SH_SEGMENTER_REST}};
    if (format != NULL) {
        assert_int_equal(sh_clock_setup_find(format, NULL, "here", &bench->format, NULL),
                         SH_OK);
    }
    sh_capture_clock_init(&bench->clock, format != NULL ? &bench->format : NULL, &sink);
}

static void type(struct bench *bench, const char *line, double now_s)
{
    struct sh_entry entry;
    assert_int_equal(sh_entry_parse(line, &entry, NULL), SH_OK);
    assert_int_equal(sh_capture_clock_obey(&bench->clock, &entry, now_s, NULL), SH_OK);
}

/* Time goes on by steps of a tenth. */
static void run(struct bench *bench, double from_s, double until_s)
{
    for (int i = 0; from_s + 0.1 * i <= until_s; i++) {
        assert_int_equal(
            sh_capture_clock_push(&bench->clock, from_s + 0.1 * i, &bench->state, NULL), SH_OK);
    }
}

/* A draw held until release_s, reported 2.25 s behind it. */
static void shoot(struct bench *bench, double from_s, double release_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    bench->state.phase = SH_SEGMENTER_HOLD;
    run(bench, from_s, release_s);
    bench->state.phase = SH_SEGMENTER_REST;
    bench->state.n_pending = 1;
    run(bench, release_s, release_s + 2.25);
    record.shot.n = ++bench->n_shots;
    record.shot.kind = SH_SHOT_SHOT;
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(release_s - BEGIN_S, 0.001);
    bench->state.n_pending = 0;
    assert_int_equal(
        sh_capture_clock_take(&bench->clock, &record, BEGIN_S, release_s + 2.25, NULL), SH_OK);
}

static void check_left(const struct bench *bench, double now_s, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_capture_clock_put_left(&bench->clock, now_s, &text);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    sh_text_close(&text);
}

/* The release starts the other's time at its own time, though it is known later. */
static void test_alternating(void **state)
{
    struct bench bench;
    open_bench(&bench, "alternating");
    type(&bench, "c", 200.0);
    check_left(&bench, 203.0, "line up 7 s");
    run(&bench, 200.0, 215.0);
    check_left(&bench, 215.0, "15 s left");
    shoot(&bench, 215.0, 228.0);
    check_left(&bench, 230.25, "other 18 s");
    run(&bench, 230.25, 240.0);
    type(&bench, "o", 240.0);
    shoot(&bench, 246.0, 259.5); /* reported after the time ran out: in time all the same */
    run(&bench, 262.0, 280.0);   /* the other's time runs out at 279.5 */
    shoot(&bench, 285.0, 300.1); /* after 299.5 */
    run(&bench, 302.5, 380.0);
    assert_string_equal(bench.heard.marks,
                        "210.00 clock 20/1\n228.50 clock-stop\n"
                        "240.00 clock 20/1\n260.00 clock-stop\n"
                        "279.50 clock 20/1\n300.10 overrun #3 released 0.60 s after the time "
                        "was up\n359.50 clock-stop\n");
    assert_non_null(strstr(bench.heard.said, "Clock: Shoot: 20 s for the other.\n"));
    assert_non_null(strstr(bench.heard.said, "Clock: Stop: the time is up.\n"));
    check_left(&bench, 380.0, "");
}

/* The last draw is told as the recording ends: no time is given behind it. */
static void test_the_last_stop_is_kept(void **state)
{
    struct bench bench;
    open_bench(&bench, "alternating");
    type(&bench, "c", 200.0);
    run(&bench, 200.0, 215.0);
    shoot(&bench, 215.0, 228.0);
    assert_string_equal(bench.heard.marks, "210.00 clock 20/1\n228.50 clock-stop\n");
}

/* An end: the seconds go on while a held string holds back what is due. */
static void test_end_with_an_overrun(void **state)
{
    struct bench bench;
    open_bench(&bench, "three-90");
    type(&bench, "c", 200.0);
    run(&bench, 200.0, 230.0);
    shoot(&bench, 230.0, 240.0);
    run(&bench, 242.5, 280.0);
    bench.heard.said[0] = '\0';
    bench.state.phase = SH_SEGMENTER_HOLD;
    run(&bench, 297.0, 301.0);
    check_left(&bench, 301.0, "TIME IS UP");
    assert_string_equal(bench.heard.said, ""); /* nothing is said as long as it is held */
    shoot(&bench, 301.0, 301.5);
    assert_string_equal(bench.heard.said, "Clock: Stop: the time is up.\n"
                                          "Clock: Released 1.50 s after the time was up.\n");
    run(&bench, 303.75, 370.0);
    assert_string_equal(bench.heard.marks, "210.00 clock 90/3\n301.50 overrun #2 released 1.50 "
                                           "s after the time was up\n360.00 clock-stop\n");
}

/* A sensor that is gone while the string was held holds nothing up for long. */
static void test_a_sensor_that_is_gone(void **state)
{
    struct bench bench;
    open_bench(&bench, "three-90");
    type(&bench, "c", 200.0);
    run(&bench, 200.0, 290.0);
    bench.state.phase = SH_SEGMENTER_HOLD;
    run(&bench, 290.0, 340.0);
    assert_non_null(strstr(bench.heard.said, "Stop: the time is up"));
}

static void test_halt_stop_and_start_again(void **state)
{
    struct bench bench;
    open_bench(&bench, "six-240");
    type(&bench, "h", 199.0);
    type(&bench, "c", 200.0);
    type(&bench, "c", 201.0);
    run(&bench, 201.0, 250.0);
    type(&bench, "h", 250.0);
    check_left(&bench, 270.0, "halted 200 s");
    type(&bench, "c", 290.0);
    type(&bench, "s", 300.0);
    type(&bench, "s", 301.0); /* told so: kept */
    type(&bench, "c", 310.0);
    type(&bench, "s", 315.0); /* before shooting: the own time has not begun */
    assert_string_equal(bench.heard.marks, "210.00 clock 240/6\n250.00 clock-stop\n"
                                           "290.00 clock 240/6 on\n300.00 clock-stop\n"
                                           "301.00 clock-stop\n");
    assert_non_null(strstr(bench.heard.said, "No clock runs.\n"));
    assert_non_null(strstr(bench.heard.said, "The clock runs; type s"));
}

/* Typed by its seconds it begins at once, needs no format, and replaces what runs. */
static void test_typed(void **state)
{
    struct bench bench;
    open_bench(&bench, NULL);
    type(&bench, "c", 200.0);
    assert_non_null(strstr(bench.heard.said, "c 120 6"));
    bench.heard.said[0] = '\0';
    type(&bench, "c 120 6", 201.0);
    check_left(&bench, 211.5, "110 s left");
    type(&bench, "c 40", 250.0);
    run(&bench, 250.0, 300.0);
    type(&bench, "s", 303.0);
    assert_string_equal(bench.heard.marks,
                        "201.00 clock 120/6\n250.00 clock 40/0\n303.00 clock-stop\n");
    assert_string_equal(bench.heard.said, "Clock: 30 s are left.\n"
                                          "Clock: Stop: the time is up.\n");
}

/* A new clock within the time of a late release leaves out the old one's stop. */
static void test_a_stop_that_waits_does_not_stop_the_next(void **state)
{
    struct bench bench;
    open_bench(&bench, "three-90");
    type(&bench, "c", 200.0);
    run(&bench, 200.0, 301.0);
    type(&bench, "c 60", 305.0);
    run(&bench, 305.0, 330.0);
    assert_string_equal(bench.heard.marks, "210.00 clock 90/3\n305.00 clock 60/0\n");
}

static void test_team(void **state)
{
    struct bench bench;
    open_bench(&bench, "team");
    type(&bench, "c", 200.0);
    run(&bench, 200.0, 215.0);
    assert_int_equal(sh_capture_clock_hand_over(&bench.clock, 216.0, NULL), SH_OK);
    assert_non_null(strstr(bench.heard.said, "Hand over: archer 2 of 3.\n"));
    open_bench(&bench, NULL);
    assert_int_equal(sh_capture_clock_hand_over(&bench.clock, 216.0, NULL), SH_OK);
}

static void test_a_mark_that_cannot_be_kept(void **state)
{
    struct bench bench;
    struct sh_entry entry;
    struct sh_error err = {0};
    open_bench(&bench, NULL);
    bench.heard.is_full = true;
    assert_int_equal(sh_entry_parse("c 60", &entry, NULL), SH_OK);
    assert_int_equal(sh_capture_clock_obey(&bench.clock, &entry, 200.0, &err), SH_ERR_IO);
    assert_string_equal(err.what, "full");
}

/* In a team the others have no sensor: o is the next archer, and no time of another side. */
static void test_a_team_is_handed_over(void **state)
{
    struct sh_shooting_clock_view view;
    const struct sh_round_format *format = NULL;
    struct bench bench;
    open_bench(&bench, "team");
    type(&bench, "c", 200.0);
    run(&bench, 200.0, 215.0);
    type(&bench, "o", 215.0);
    run(&bench, 215.0, 216.0);
    assert_true(sh_capture_clock_find_view(&bench.clock, 216.0, &view, &format));
    assert_int_equal(view.archer, 2);
    assert_int_equal(view.side, SH_SHOOTING_CLOCK_OWN);
    assert_non_null(strstr(bench.heard.said, "Hand over: archer 2 of 3"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_alternating),
        cmocka_unit_test(test_the_last_stop_is_kept),
        cmocka_unit_test(test_end_with_an_overrun),
        cmocka_unit_test(test_a_sensor_that_is_gone),
        cmocka_unit_test(test_halt_stop_and_start_again),
        cmocka_unit_test(test_typed),
        cmocka_unit_test(test_a_stop_that_waits_does_not_stop_the_next),
        cmocka_unit_test(test_team),
        cmocka_unit_test(test_a_mark_that_cannot_be_kept),
        cmocka_unit_test(test_a_team_is_handed_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
