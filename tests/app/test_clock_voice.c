/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_voice.h"

#include <stddef.h>

#include "app/clock_setup.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define STEP_S      0.02 /* as a capture looks */
#define STROKES_MAX 64u

/* A clock that is heard, and an archer who draws from time to time. */
struct line {
    struct sh_clock_voice voice;
    struct sh_shooting_clock clock;
    struct sh_segmenter_state state;
    double stroke_s[STROKES_MAX];
    size_t n_strokes;
};

static enum sh_status
hear(void *context, const struct sh_shooting_clock_event *event, struct sh_error *err)
{
    struct line *line = context;
    (void)err;
    sh_clock_voice_hear(&line->voice, event);
    return SH_OK;
}

static void
open_line(struct line *line, const char *name, enum sh_clock_voice_kind kind, bool has_force)
{
    const struct sh_shooting_clock_sink sink = {hear, line};
    struct sh_round_format format;
    *line =
        (struct line){.state = {.phase = has_force ? SH_SEGMENTER_REST : SH_SEGMENTER_UNKNOWN}};
    assert_int_equal(sh_clock_setup_find(name, NULL, "here", &format, NULL), SH_OK);
    sh_shooting_clock_init(&line->clock, &format, &sink);
    sh_clock_voice_init(&line->voice, kind);
}

static void run(struct line *line, double from_s, double until_s)
{
    for (int i = 0; from_s + STEP_S * i < until_s; i++) {
        const double now_s = from_s + STEP_S * i;
        assert_int_equal(sh_shooting_clock_push(&line->clock, now_s, NULL), SH_OK);
        if (sh_clock_voice_take(&line->voice, &line->state, now_s)) {
            assert_true(line->n_strokes < STROKES_MAX);
            line->stroke_s[line->n_strokes++] = now_s;
        }
    }
}

static void start(struct line *line, double now_s)
{
    assert_int_equal(sh_shooting_clock_start(&line->clock, now_s, SH_SHOOTING_CLOCK_OWN, NULL),
                     SH_OK);
}

static void check_strokes(const struct line *line, const double *expected_s, size_t n)
{
    assert_int_equal(line->n_strokes, n);
    for (size_t i = 0; i < n; i++) {
        assert_near(line->stroke_s[i], expected_s[i], 1.5 * STEP_S, 0.0);
    }
}

/* Two to the line, one to shoot, three to stop, to the second, for every format with one time.
 */
static void test_signals_of_formats(void **state)
{
    const struct sh_round_format_set set = sh_round_format_default();
    size_t n_formats = 0;
    for (size_t i = 0; i < set.n_formats; i++) {
        const struct sh_round_format *format = &set.format[i];
        struct line line;
        if (format->kind != SH_ROUND_FORMAT_END) {
            continue;
        }
        const double shoot_s = 5.0 + format->line_up_s;
        const double stop_s = shoot_s + format->shooting_s;
        const double expected_s[] = {5.0, 5.6, shoot_s, stop_s, stop_s + 0.6, stop_s + 1.2};
        open_line(&line, format->name, SH_CLOCK_VOICE_SIGNALS, true);
        start(&line, 5.0);
        run(&line, 5.0, stop_s + 10.0);
        check_strokes(&line, expected_s, 6);
        n_formats++;
    }
    assert_int_equal(n_formats, 8);
}

/* In turns: one signal as each turn begins, three at the end. */
static void test_signals_of_turns(void **state)
{
    const double expected_s[] = {0.0,  0.6,   10.0,  30.0,  50.0, 70.0,
                                 90.0, 110.0, 130.0, 130.6, 131.2};
    struct line line;
    open_line(&line, "alternating", SH_CLOCK_VOICE_SIGNALS, true);
    start(&line, 0.0);
    run(&line, 0.0, 140.0);
    check_strokes(&line, expected_s, 11);
}

static void test_silent_and_once(void **state)
{
    const double expected_s[] = {0.0, 10.0};
    struct line line;
    open_line(&line, "shoot-off", SH_CLOCK_VOICE_SILENT, true);
    start(&line, 0.0);
    run(&line, 0.0, 90.0);
    assert_int_equal(line.n_strokes, 0);
    open_line(&line, "shoot-off", SH_CLOCK_VOICE_ONCE, true);
    start(&line, 0.0);
    run(&line, 0.0, 90.0);
    check_strokes(&line, expected_s, 2);
}

/* However a draw lies to the signals, no stroke comes while the string is pulled, and the stop
 * is given whole after it. */
static void test_nothing_sounds_while_a_string_is_pulled(void **state)
{
    for (int i = 0; i < 60; i++) {
        const double draw_s = 69.0 + 0.05 * i; /* the time of a shoot-off runs out at 70 s */
        const double release_s = draw_s + 4.0;
        struct line line;
        open_line(&line, "shoot-off", SH_CLOCK_VOICE_SIGNALS, true);
        start(&line, 0.0);
        run(&line, 0.0, draw_s);
        const size_t n_before = line.n_strokes;
        line.state.force_n = 11.0; /* not yet a draw to the segmenter */
        run(&line, draw_s, draw_s + 0.2);
        line.state.phase = SH_SEGMENTER_DRAWING;
        run(&line, draw_s + 0.2, draw_s + 1.0);
        line.state.phase = SH_SEGMENTER_HOLD;
        run(&line, draw_s + 1.0, release_s);
        assert_int_equal(line.n_strokes, n_before);
        line.state = (struct sh_segmenter_state){.phase = SH_SEGMENTER_REST};
        run(&line, release_s, release_s + 20.0);
        const size_t n_after = line.n_strokes - n_before;
        assert_int_equal(n_after, n_before == 3 + 3 ? 0 : 3);
    }
}

/* Without a force channel nobody knows of draws. */
static void test_without_a_force_signals_come_when_due(void **state)
{
    struct line line;
    open_line(&line, "shoot-off", SH_CLOCK_VOICE_SIGNALS, false);
    line.state.force_n = 100.0;
    start(&line, 0.0);
    run(&line, 0.0, 90.0);
    assert_int_equal(line.n_strokes, 6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signals_of_formats),
        cmocka_unit_test(test_signals_of_turns),
        cmocka_unit_test(test_silent_and_once),
        cmocka_unit_test(test_nothing_sounds_while_a_string_is_pulled),
        cmocka_unit_test(test_without_a_force_signals_come_when_due),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
