/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "loop/program.h"
#include "support/cmocka_all.h"

/*
 * Every form in which fingers' loads leave the program carries the cautions: tables, JSON and
 * pages hold them; beside CSV, which has rows only, they are said on standard error. What is
 * printed is the page: nothing of it is hidden on paper but what the style sheet names.
 */
#define DAY       "2026-05-14"
#define WORDS_MAX 12u

static const char *const cautions[] = {"Not a medical device.", "top on pain"};

static int open_home(void **state)
{
    static const char *const names[] = {"first", "second"};
    char recordings[SCRATCH_PATH_BYTES];
    (void)scratch_set_up(state);
    const struct scratch *home = *state;
    scratch_path(home, "recordings", recordings);
    assert_int_equal(mkdir(recordings, 0700), 0);
    for (size_t i = 0; i < 2; i++) {
        struct program program;
        char path[SCRATCH_PATH_BYTES];
        char folder[SCRATCH_PATH_BYTES];
        (void)snprintf(folder, sizeof folder, "recordings/%s", names[i]);
        scratch_path(home, folder, path);
        const char *words[] = {"simulate",         "--out",   path, "--set",
                               "fingers",          "--draws", "6",  "--seed",
                               i == 0 ? "6" : "7", NULL};
        assert_int_equal(program_run(&program, home, "simulate", words), 0);
    }
    return 0;
}

static void check_has(const char *said)
{
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++) {
        assert_non_null(strstr(said, cautions[i]));
    }
}

/* Runs the words; the cautions stand in the file, or in what is said where there is none. */
static void
check(const struct scratch *home, const char *const words[WORDS_MAX], const char *file)
{
    struct program program;
    assert_int_equal(program_run(&program, home, "cautions", words), 0);
    char *out = file != NULL ? scratch_read(file, NULL) : program_read_out(&program);
    char *err = program_read_err(&program);
    const bool is_rows = file == NULL && strstr(out, "\r\n") != NULL; /* CSV */
    check_has(is_rows ? err : out);
    free(out);
    free(err);
}

static void test_load(void **state)
{
    const struct scratch *home = *state;
    static const char *const formats[] = {"table", "json", "csv"};
    char page[SCRATCH_PATH_BYTES];
    scratch_path(home, "load.html", page);
    for (size_t i = 0; i < 3; i++) {
        const char *words[WORDS_MAX] = {"load",    "wren", "--home",   home->folder,
                                        "--until", DAY,    "--format", formats[i]};
        check(home, words, NULL);
    }
    const char *words[WORDS_MAX] = {"load",    "wren", "--home", home->folder,
                                    "--until", DAY,    "-o",     page};
    check(home, words, page);
}

static void test_limits(void **state)
{
    const struct scratch *home = *state;
    static const char *const formats[] = {"table", "json"};
    for (size_t i = 0; i < 2; i++) {
        const char *words[WORDS_MAX] = {"limits",     "wren",     "--home",
                                        home->folder, "--format", formats[i]};
        check(home, words, NULL);
    }
}

static void test_compare(void **state)
{
    const struct scratch *home = *state;
    static const char *const formats[] = {"table", "json", "csv"};
    char page[SCRATCH_PATH_BYTES];
    char first[SCRATCH_PATH_BYTES];
    char second[SCRATCH_PATH_BYTES];
    scratch_path(home, "compare.html", page);
    scratch_path(home, "recordings/first", first);
    scratch_path(home, "recordings/second", second);
    for (size_t i = 0; i < 3; i++) {
        const char *words[WORDS_MAX] = {"compare",    first,      second,    "--home",
                                        home->folder, "--format", formats[i]};
        check(home, words, NULL);
    }
    const char *words[WORDS_MAX] = {"compare",    first, second, "--home",
                                    home->folder, "-o",  page};
    check(home, words, page);
}

static void test_report(void **state)
{
    const struct scratch *home = *state;
    char page[SCRATCH_PATH_BYTES];
    char first[SCRATCH_PATH_BYTES];
    scratch_path(home, "report.html", page);
    scratch_path(home, "recordings/first", first);
    const char *words[WORDS_MAX] = {"report", "-o", page, first};
    check(home, words, page);
}

/* On paper: no rule for print hides a caution. */
static void test_print(void **state)
{
    const struct scratch *home = *state;
    static const char *const pages[] = {"load.html", "compare.html", "report.html"};
    for (size_t i = 0; i < 3; i++) {
        char path[SCRATCH_PATH_BYTES];
        scratch_path(home, pages[i], path);
        char *text = scratch_read(path, NULL);
        for (char *at = strstr(text, "@media print{"); at != NULL;
             at = strstr(at + 1, "@media print{")) {
            const char *end = strstr(at, "}}");
            assert_non_null(end);
            const char *hides = strstr(at, "display:none");
            assert_true(hides == NULL || hides > end);
        }
        free(text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_load),    cmocka_unit_test(test_limits),
        cmocka_unit_test(test_compare), cmocka_unit_test(test_report),
        cmocka_unit_test(test_print),
    };
    return cmocka_run_group_tests(tests, open_home, scratch_tear_down);
}
