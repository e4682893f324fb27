/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/program.h"
#include "loop/screen.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The clock alone, in front of a person: keys, events as lines, the bell. */

#define SHORT "line_up_s=5", "--set", "shooting_s=6", "--set", "warning_s=2"

static void start(struct program *program,
                  const struct scratch *scratch,
                  const struct screen *screen,
                  const char *const *words)
{
    const struct program_config config = {
        .scratch = scratch, .name = "clock", .words = words, .screen = screen->path};
    program_start(program, &config);
}

static size_t count_bells(const struct screen *screen)
{
    size_t n = 0;
    for (size_t i = 0; i < screen->n_bytes; i++) {
        n += screen->bytes[i] == '\a' ? 1 : 0;
    }
    return n;
}

/* Each line's time within a tenth of a second, and its words. */
static void
check_lines(const struct program *program, const double *t_s, const char *const *words)
{
    char *out = program_read_out(program);
    const char *at = out;
    for (size_t i = 0; words[i] != NULL; i++) {
        char *end = NULL;
        const double got_s = strtod(at, &end);
        assert_ptr_not_equal(end, at);
        assert_near(got_s, t_s[i], 0.051, 0.0);
        const size_t n = strcspn(end, "\n");
        const size_t n_words = strlen(words[i]);
        assert_true(n >= n_words);
        assert_int_equal(strncmp(end + n - n_words, words[i], n_words), 0);
        at = end + n + 1;
    }
    assert_string_equal(at, "");
    free(out);
}

/* A whole short end under the line's signals. */
static void test_signals_of_the_line(void **state)
{
    static const char *const lines[] = {"do not shoot yet (two signals).",
                                        "Shoot: 6 s (one signal).", "2 s are left.",
                                        "Stop: the time is up (three signals).", NULL};
    static const double times_s[] = {0.0, 5.0, 9.0, 11.0};
    static struct screen screen;
    struct program program;
    screen_open(&screen, 80);
    const char *words[] = {"clock", "--signals", "--set", SHORT, NULL};
    start(&program, *state, &screen, words);
    screen_await(&screen, "I am in charge of this line");
    screen_type(&screen, "I am in charge of this line\n");
    program_pause(0.5);
    screen_type(&screen, "c");
    program_await_text(program.out, "Stop");
    program_pause(2.0);
    screen_type(&screen, "q");
    assert_int_equal(program_wait(&program), 0);
    screen_drain(&screen);
    check_lines(&program, times_s, lines);
    assert_int_equal(count_bells(&screen), 2 + 1 + 3);
    screen_check_restored(&screen);
    screen_close(&screen);
}

/* Who does not say so is not in charge. */
static void test_signals_need_the_sentence(void **state)
{
    static struct screen screen;
    struct program program;
    screen_open(&screen, 80);
    const char *words[] = {"clock", "--signals", NULL};
    start(&program, *state, &screen, words);
    screen_await(&screen, "I am in charge of this line");
    screen_type(&screen, "yes\n");
    screen_await(&screen, "was not typed");
    assert_int_equal(program_wait(&program), 2);
    screen_close(&screen);
}

/* With --sound one stroke before anybody may draw, none while the time runs or at its end;
 * without it none at all. */
static void check_sound(const struct scratch *scratch, const char *option, size_t n_bells)
{
    static struct screen screen;
    struct program program;
    screen_open(&screen, 80);
    const char *words[] = {"clock", "--set", SHORT, option, NULL};
    start(&program, scratch, &screen, words);
    program_pause(0.3);
    screen_type(&screen, "c");
    program_await_text(program.out, "Shoot");
    program_pause(0.5);
    screen_drain(&screen);
    assert_int_equal(count_bells(&screen), n_bells);
    screen_type(&screen, "h");
    program_await_text(program.out, "Halted");
    screen_type(&screen, "c");
    program_await_text(program.out, "Stop");
    program_pause(1.0);
    screen_type(&screen, "q");
    assert_int_equal(program_wait(&program), 0);
    screen_drain(&screen);
    assert_int_equal(count_bells(&screen), n_bells);
    screen_check_restored(&screen);
    screen_close(&screen);
}

static void test_sound_only_before_shooting(void **state)
{
    check_sound(*state, "--sound", 2);
}

static void test_silent_by_default(void **state)
{
    check_sound(*state, NULL, 0);
}

/* Keys from a pipe; alternating shooting by hand. */
static void test_keys_from_a_pipe(void **state)
{
    struct program program;
    const char *words[] = {"clock", "--format", "alternating",   "--set", "line_up_s=0",
                           "--set", "arrows=2", "--other-first", NULL};
    const struct program_config config = {
        .scratch = *state, .name = "pipe", .words = words, .has_keys = true};
    static const char *const lines[] = {"Shoot: 20 s for the other (one signal).",
                                        "Shoot: 20 s for you (one signal).",
                                        "Shoot: 20 s for the other (one signal).",
                                        "Shoot: 20 s for you (one signal).",
                                        "Stop (three signals).",
                                        NULL};
    static const double times_s[5] = {0.0};
    program_start(&program, &config);
    program_type(&program, "coror");
    program_close_keys(&program);
    assert_int_equal(program_wait(&program), 0);
    check_lines(&program, times_s, lines);
}

static void test_list(void **state)
{
    struct program program;
    const char *words[] = {"clock", "--list", NULL};
    assert_int_equal(program_run(&program, *state, "list", words), 0);
    char *out = program_read_out(&program);
    assert_non_null(strstr(out, "mixed: 4 arrows in 80 s by 2 archers"));
    free(out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signals_of_the_line),
        cmocka_unit_test(test_signals_need_the_sentence),
        cmocka_unit_test(test_sound_only_before_shooting),
        cmocka_unit_test(test_silent_by_default),
        cmocka_unit_test(test_keys_from_a_pipe),
        cmocka_unit_test(test_list),
    };
    return cmocka_run_group_tests(tests, scratch_set_up, scratch_tear_down);
}
