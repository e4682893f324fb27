/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/prompt.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/cmocka_all.h"

/* Standard input of the test, put aside while another takes its place. */
struct keyboard {
    int before;
    int keys; /* write here what is typed */
};

static void take_place(struct keyboard *keyboard, int end, int keys)
{
    keyboard->before = dup(STDIN_FILENO);
    keyboard->keys = keys;
    assert_true(keyboard->before >= 0);
    assert_true(dup2(end, STDIN_FILENO) >= 0);
    (void)close(end);
}

static void open_terminal(struct keyboard *keyboard)
{
    int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(terminal >= 0);
    assert_int_equal(grantpt(terminal), 0);
    assert_int_equal(unlockpt(terminal), 0);
    int end = open(ptsname(terminal), O_RDWR | O_NOCTTY);
    assert_true(end >= 0);
    take_place(keyboard, end, terminal);
}

static void open_pipe(struct keyboard *keyboard)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    take_place(keyboard, ends[0], ends[1]);
}

static void close_keyboard(struct keyboard *keyboard)
{
    assert_true(dup2(keyboard->before, STDIN_FILENO) >= 0);
    (void)close(keyboard->before);
    if (keyboard->keys >= 0) {
        (void)close(keyboard->keys);
    }
}

static void type(const struct keyboard *keyboard, const char *keys)
{
    size_t n_bytes = strlen(keys);
    assert_int_equal(write(keyboard->keys, keys, n_bytes), n_bytes);
}

static void check_line(struct sh_prompt *prompt, const char *expected)
{
    char line[SH_PROMPT_LINE_BYTES];
    assert_true(sh_prompt_find_line(prompt, line));
    assert_string_equal(line, expected);
}

static void check_no_line(struct sh_prompt *prompt, const char *typed)
{
    char line[SH_PROMPT_LINE_BYTES];
    assert_false(sh_prompt_find_line(prompt, line));
    assert_string_equal(prompt->typed, typed);
}

static void test_a_line_in_pieces_on_a_terminal(void **state)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    open_terminal(&keyboard);
    sh_prompt_open(&prompt);
    assert_true(prompt.is_terminal);
    check_no_line(&prompt, "");
    type(&keyboard, "n new");
    check_no_line(&prompt, "n new");
    type(&keyboard, " tab\r9\n");
    check_line(&prompt, "n new tab");
    check_line(&prompt, "9");
    check_no_line(&prompt, "");
    assert_false(prompt.has_ended);
    sh_prompt_close(&prompt);
    close_keyboard(&keyboard);
}

static void test_keys_that_correct(void **state)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    open_terminal(&keyboard);
    sh_prompt_open(&prompt);
    type(&keyboard, "t\xC3\xA4\x7F"); /* both bytes of a character go */
    check_no_line(&prompt, "t");
    type(&keyboard, "\b\b\x7F");
    check_no_line(&prompt, "");
    type(&keyboard, "wrong\x15n\tright\x01\n"); /* Ctrl-U; a control byte that means nothing */
    check_line(&prompt, "n\tright");
    sh_prompt_close(&prompt);
    close_keyboard(&keyboard);
}

static void test_the_terminal_is_put_back(void **state)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    struct termios before;
    struct termios during;
    struct termios after;
    open_terminal(&keyboard);
    assert_int_equal(tcgetattr(STDIN_FILENO, &before), 0);
    sh_prompt_open(&prompt);
    assert_int_equal(tcgetattr(STDIN_FILENO, &during), 0);
    assert_int_equal(during.c_lflag & (tcflag_t)(ICANON | ECHO), 0);
    assert_true((during.c_lflag & (tcflag_t)ISIG) != 0); /* Ctrl-C interrupts */
    sh_prompt_close(&prompt);
    sh_prompt_close(&prompt);
    assert_int_equal(tcgetattr(STDIN_FILENO, &after), 0);
    assert_int_equal(after.c_lflag, before.c_lflag);
    assert_memory_equal(after.c_cc, before.c_cc, sizeof after.c_cc);
    close_keyboard(&keyboard);
}

static void test_a_terminal_that_hangs_up_ends(void **state)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    open_terminal(&keyboard);
    sh_prompt_open(&prompt);
    type(&keyboard, "q");
    check_no_line(&prompt, "q");
    (void)close(keyboard.keys);
    keyboard.keys = -1;
    check_no_line(&prompt, "q"); /* nobody said so */
    assert_true(prompt.has_ended);
    sh_prompt_close(&prompt);
    close_keyboard(&keyboard);
}

static void test_lines_of_a_pipe(void **state)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    open_pipe(&keyboard);
    sh_prompt_open(&prompt);
    assert_false(prompt.is_terminal);
    type(&keyboard, "9\nx 8");
    check_line(&prompt, "9");
    check_no_line(&prompt, "x 8");
    assert_false(prompt.has_ended);
    (void)close(keyboard.keys);
    keyboard.keys = -1;
    check_line(&prompt, "x 8"); /* the last line may lack its end */
    check_no_line(&prompt, "");
    assert_true(prompt.has_ended);
    sh_prompt_close(&prompt);
    close_keyboard(&keyboard);
}

static void test_a_silent_prompt_leaves_the_bytes(void **state)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    char left[4] = "";
    open_pipe(&keyboard);
    sh_prompt_open_silent(&prompt);
    type(&keyboard, "9\n");
    check_no_line(&prompt, "");
    assert_int_equal(read(STDIN_FILENO, left, sizeof left), 2);
    assert_string_equal(left, "9\n");
    sh_prompt_close(&prompt);
    close_keyboard(&keyboard);
}

/* A line of n bytes: as long as there is room it comes whole, then it is cut. */
static void check_length(size_t n, size_t n_expected)
{
    struct keyboard keyboard;
    struct sh_prompt prompt;
    char line[SH_PROMPT_LINE_BYTES];
    open_pipe(&keyboard);
    sh_prompt_open(&prompt);
    for (size_t i = 0; i < n; i++) {
        type(&keyboard, "w");
    }
    type(&keyboard, "\nq\n");
    assert_true(sh_prompt_find_line(&prompt, line));
    assert_int_equal(strlen(line), n_expected);
    check_line(&prompt, "q");
    sh_prompt_close(&prompt);
    close_keyboard(&keyboard);
}

static void test_the_longest_line(void **state)
{
    check_length(SH_PROMPT_LINE_BYTES - 2, SH_PROMPT_LINE_BYTES - 2);
    check_length(SH_PROMPT_LINE_BYTES - 1, SH_PROMPT_LINE_BYTES - 1);
    check_length(SH_PROMPT_LINE_BYTES, SH_PROMPT_LINE_BYTES - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_line_in_pieces_on_a_terminal),
        cmocka_unit_test(test_keys_that_correct),
        cmocka_unit_test(test_the_terminal_is_put_back),
        cmocka_unit_test(test_a_terminal_that_hangs_up_ends),
        cmocka_unit_test(test_lines_of_a_pipe),
        cmocka_unit_test(test_a_silent_prompt_leaves_the_bytes),
        cmocka_unit_test(test_the_longest_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
