/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_line.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define WIDE 200u

static void
check_in(const struct sh_live_line_view *view, size_t n_columns, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_live_line_format(view, n_columns, &text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    sh_text_close(&text);
}

static void check(const struct sh_live_line_view *view, const char *expected)
{
    check_in(view, WIDE, expected);
}

static struct sh_live_line_view make_view(void)
{
    return (struct sh_live_line_view){.athlete = "wren", .typed = ""};
}

static void test_phases(void **state)
{
    struct sh_live_line_view view = make_view();
    view.state = (struct sh_segmenter_state){
        .since_s = 10.0, .now_s = 13.25, .force_n = 178.04, .n_shots = 2};
    view.state.phase = SH_SEGMENTER_UNKNOWN;
    check(&view, "wren | listening | 2 draws > ");
    view.state.phase = SH_SEGMENTER_REST;
    check(&view, "wren | rest   3.2 s  178 N | 2 draws > ");
    view.state.phase = SH_SEGMENTER_DRAWING;
    check(&view, "wren | draw   3.2 s  178 N | 2 draws > ");
    view.state.phase = SH_SEGMENTER_HOLD;
    check(&view, "wren | HOLD   3.2 s  178 N | 2 draws > ");
    view.state.force_n = -0.4;
    view.state.n_shots = 1;
    check(&view, "wren | HOLD   3.2 s    0 N | 1 draw > ");
}

static void test_the_clock(void **state)
{
    struct sh_live_line_view view = make_view();
    view.state = (struct sh_segmenter_state){
        .phase = SH_SEGMENTER_HOLD, .since_s = 10.0, .now_s = 13.25, .force_n = 178.04};
    view.clock = "68 s left";
    view.goal = " [*]  inside";
    check(&view, "wren | HOLD   3.2 s  178 N |  [*]  inside | 68 s left | 0 draws > ");
    check_in(&view, 40, "HOLD   3.2 s  178 N |  [*]  inside > "); /* before the clock */
    view.goal = "";
    check(&view, "wren | HOLD   3.2 s  178 N | 68 s left | 0 draws > ");
    check_in(&view, 39, "HOLD   3.2 s  178 N | 68 s left > ");
    view.clock = "";
    check(&view, "wren | HOLD   3.2 s  178 N | 0 draws > ");
}

static void test_losses_and_a_pulled_sensor_are_shown(void **state)
{
    struct sh_live_line_view view = make_view();
    view.athlete = "";
    view.typed = "n new t";
    check(&view, "listening | 0 draws > n new t");
    view.counts.damaged = 2;
    check(&view, "listening | 0 draws | damaged 2 > n new t");
    view.counts = (struct sh_frame_counts){.lost = 18};
    view.is_pulled = true;
    check(&view, "SENSOR GONE | listening | 0 draws | lost 18 > n new t");
}

static void test_no_sensor_is_said(void **state)
{
    struct sh_live_line_view view = make_view();
    view.is_idle = true;
    check(&view, "wren | no sensor: choose one on the page > ");
    view.clock = "68 s left";
    check_in(&view, 49, "no sensor: choose one on the page | 68 s left > ");
}

/* What matters most keeps its place; what is typed shows its end. */
static void test_a_narrow_terminal(void **state)
{
    struct sh_live_line_view view = make_view();
    view.state = (struct sh_segmenter_state){.phase = SH_SEGMENTER_HOLD,
                                             .since_s = 10.0,
                                             .now_s = 13.25,
                                             .force_n = 178.04,
                                             .n_shots = 12};
    view.counts = (struct sh_frame_counts){.lost = 18, .damaged = 2};
    check_in(&view, 62, "wren | HOLD   3.2 s  178 N | 12 draws | lost 18 | damaged 2 > ");
    check_in(&view, 61, "HOLD   3.2 s  178 N | 12 draws | lost 18 | damaged 2 > ");
    check_in(&view, 54, "wren | HOLD   3.2 s  178 N | 12 draws | lost 18 > ");
    check_in(&view, 39, "HOLD   3.2 s  178 N | 12 draws > ");
    check_in(&view, 22, "HOLD   3.2 s  178 N > ");
    check_in(&view, 21, "12 draws | lost 18 > ");
    check_in(&view, 2, "");
    view.typed = "9 8 x";
    check_in(&view, 39, "HOLD   3.2 s  178 N | 12 draws > 9 8 x");
    view.typed = "n gusty wind from the left";
    check_in(&view, 39, "HOLD   3.2 s  178 N > ind from the left");
    view.typed = "n die Böe von links, 左風, weg";
    check_in(&view, 39, "HOLD   3.2 s  178 N >  links, 左風, weg");
    view.is_pulled = true;
    view.typed = "";
    check_in(&view, 39, "SENSOR GONE | HOLD   3.2 s  178 N > ");
}

/* Whatever is typed: never wider than the terminal. */
static void test_it_never_wraps(void **state)
{
    struct sh_live_line_view view = make_view();
    char typed[40] = "";
    for (size_t i = 0; i + 1 < sizeof typed; i++) {
        view.typed = typed;
        for (size_t n_columns = 1; n_columns < 90; n_columns++) {
            struct sh_text text;
            sh_text_init(&text, 0);
            sh_live_line_format(&view, n_columns, &text);
            assert_true(text.n_bytes <= n_columns);
            sh_text_close(&text);
        }
        typed[i] = 'w';
    }
}

/* A name must not steer the terminal. */
static void test_control_characters_are_masked(void **state)
{
    struct sh_live_line_view view = make_view();
    view.athlete = "w\x1b[2Jn";
    view.typed = "\xff\t";
    check(&view, "w\xEF\xBF\xBD[2Jn | listening | 0 draws > \xEF\xBF\xBD\xEF\xBF\xBD");
}

/* Runs once into a pseudo-terminal and once into a pipe in place of standard error. */
static void write_into(int end)
{
    struct sh_live_line line;
    struct sh_live_line_view view = make_view();
    int before = dup(STDERR_FILENO);
    assert_true(before >= 0);
    assert_true(dup2(end, STDERR_FILENO) >= 0);
    sh_live_line_init(&line);
    sh_live_line_set(&line, &view);
    view.typed = "9";
    sh_live_line_set(&line, &view); /* too soon: not shown */
    sh_live_line_print(&line, "Shot 1: released.\n");
    sh_live_line_set(&line, &view);
    sh_live_line_close(&line);
    sh_live_line_close(&line);
    assert_true(dup2(before, STDERR_FILENO) >= 0);
    (void)close(before);
}

static size_t read_all(int from, char *bytes, size_t size)
{
    size_t n = 0;
    ssize_t got = 0;
    while ((got = read(from, bytes + n, size - 1 - n)) > 0) {
        n += (size_t)got;
    }
    bytes[n] = '\0';
    return n;
}

static void test_a_terminal_gets_the_line_and_loses_it(void **state)
{
    char got[512];
    int terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    assert_true(terminal >= 0);
    assert_int_equal(grantpt(terminal), 0);
    assert_int_equal(unlockpt(terminal), 0);
    int end = open(ptsname(terminal), O_RDWR | O_NOCTTY);
    assert_true(end >= 0);
    write_into(end);
    assert_true(read_all(terminal, got, sizeof got) > 0);
    assert_string_equal(got, "\rwren | listening | 0 draws > \x1b[K"
                             "\r\x1b[KShot 1: released.\r\n"
                             "\rwren | listening | 0 draws > 9\x1b[K"
                             "\r\x1b[K");
    (void)close(end);
    (void)close(terminal);
}

static void test_without_a_terminal_only_sentences_come(void **state)
{
    char got[512];
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    write_into(ends[1]);
    (void)close(ends[1]);
    (void)read_all(ends[0], got, sizeof got);
    assert_string_equal(got, "Shot 1: released.\n");
    (void)close(ends[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_phases),
        cmocka_unit_test(test_the_clock),
        cmocka_unit_test(test_losses_and_a_pulled_sensor_are_shown),
        cmocka_unit_test(test_no_sensor_is_said),
        cmocka_unit_test(test_a_narrow_terminal),
        cmocka_unit_test(test_it_never_wraps),
        cmocka_unit_test(test_control_characters_are_masked),
        cmocka_unit_test(test_a_terminal_gets_the_line_and_loses_it),
        cmocka_unit_test(test_without_a_terminal_only_sentences_come),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
