/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_words.h"

#include <string.h>

#include "app/clock_setup.h"
#include "support/cmocka_all.h"

static struct sh_round_format find_format(const char *name)
{
    struct sh_round_format format;
    assert_int_equal(sh_clock_setup_find(name, NULL, "here", &format, NULL), SH_OK);
    return format;
}

static void check_text(struct sh_text *text, const char *expected)
{
    assert_int_equal(text->status, SH_OK);
    assert_string_equal(text->data != NULL ? text->data : "", expected);
    sh_text_close(text);
}

static void check_state(const char *name,
                        const struct sh_shooting_clock_view *view,
                        const char *state,
                        const char *left)
{
    const struct sh_round_format format = find_format(name);
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_clock_words_put_state(&text, &format, view);
    check_text(&text, state);
    assert_true(strlen(state) <= 40);
    sh_text_init(&text, 0);
    sh_clock_words_put_left(&text, view);
    check_text(&text, left);
}

static void test_states(void **state)
{
    struct sh_shooting_clock_view view = {.seconds = 12, .archer = 2, .n_gone = {1, 2}};
    check_state("team", &view, "READY", "");
    view.state = SH_SHOOTING_CLOCK_LINE_UP;
    check_state("team", &view, "LINE UP, do not shoot", "line up 12 s");
    view.state = SH_SHOOTING_CLOCK_SHOOTING;
    check_state("six-240", &view, "SHOOT", "12 s left");
    check_state("alternating", &view, "SHOOT: you, arrow 2 of 3", "12 s left");
    view.side = SH_SHOOTING_CLOCK_OTHER;
    check_state("alternating", &view, "SHOOT: the other, arrow 3 of 3", "other 12 s");
    view.side = SH_SHOOTING_CLOCK_OWN;
    view.is_warning = true;
    check_state("team", &view, "SHOOT: archer 2 of 3, under 30 s", "12 s left");
    view.seconds = 0;
    check_state("six-240", &view, "SHOOT, under 30 s", "TIME IS UP");
    view = (struct sh_shooting_clock_view){.state = SH_SHOOTING_CLOCK_PAUSED, .seconds = 68};
    check_state("team", &view, "HALTED, do not shoot", "halted 68 s");
    view.state = SH_SHOOTING_CLOCK_OVER;
    check_state("team", &view, "STOP", "");
}

static void check_event(const char *name,
                        struct sh_shooting_clock_event event,
                        const char *with,
                        const char *without)
{
    const struct sh_round_format format = find_format(name);
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_clock_words_put_event(&text, &format, &event, true);
    check_text(&text, with);
    sh_text_init(&text, 0);
    sh_clock_words_put_event(&text, &format, &event, false);
    check_text(&text, without);
}

#define EVENT(...)                                                                             \
    (struct sh_shooting_clock_event)                                                           \
    {                                                                                          \
        __VA_ARGS__                                                                            \
    }

static void test_events(void **state)
{
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_LINE_UP, .n_signals = 2),
                "Come to the line: 10 s, do not shoot yet (two signals).",
                "Come to the line: 10 s, do not shoot yet.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_START, .n_signals = 1),
                "Shoot: 120 s (one signal).", "Shoot: 120 s.");
    check_event("alternating", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_TURN, .n_signals = 1),
                "Shoot: 20 s for you (one signal).", "Shoot: 20 s for you.");
    check_event("alternating",
                EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_TURN, .side = SH_SHOOTING_CLOCK_OTHER),
                "Shoot: 20 s for the other.", "Shoot: 20 s for the other.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_WARNING), "30 s are left.",
                "30 s are left.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_HAND_OVER, .archer = 2),
                "Hand over: archer 2 of 3.", "Hand over: archer 2 of 3.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_PAUSE), "Halted: do not shoot.",
                "Halted: do not shoot.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_RESUME, .n_signals = 1),
                "The clock goes on (one signal).", "The clock goes on.");
    check_event("alternating", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_TIME_OUT),
                "Your time for this arrow is up.", "Your time for this arrow is up.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_OVERRUN, .late_s = 0.754),
                "Released 0.75 s after the time was up.",
                "Released 0.75 s after the time was up.");
    check_event("team", EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_STOP, .n_signals = 3),
                "Stop (three signals).", "Stop.");
    check_event(
        "team",
        EVENT(.kind = SH_SHOOTING_CLOCK_EVENT_STOP, .n_signals = 3, .is_time_out = true),
        "Stop: the time is up (three signals).", "Stop: the time is up.");
}

static void test_formats(void **state)
{
    struct sh_round_format format = find_format("mixed");
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_clock_words_put_format(&text, &format);
    check_text(&text, "mixed: 4 arrows in 80 s by 2 archers, 10 s to come to the line, warning "
                      "at 30 s");
    format = find_format("alternating");
    format.n_arrows = 1;
    format.line_up_s = 0.0;
    memcpy(format.name, "\x1b[2J", 5);
    sh_text_init(&text, 0);
    sh_clock_words_put_format(&text, &format);
    assert_null(strchr(text.data, '\x1b')); /* a file cannot write to the terminal */
    assert_non_null(strstr(text.data, ": 1 arrow a side in turns, 20 s each"));
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_states),
        cmocka_unit_test(test_events),
        cmocka_unit_test(test_formats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
