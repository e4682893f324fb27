/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "loop/program.h"
#include "support/cmocka_all.h"

/* The simulated recording is of 2026-05-14. */
#define DAY "2026-05-14"

static int open_home(void **state)
{
    struct program program;
    char path[SCRATCH_PATH_BYTES];
    (void)scratch_set_up(state);
    const struct scratch *home = *state;
    scratch_path(home, "recordings", path);
    assert_int_equal(mkdir(path, 0700), 0);
    scratch_path(home, "recordings/evening", path);
    const char *words[] = {"simulate", "--out", path,     "--set", "fingers",
                           "--draws",  "2",     "--seed", "6",     NULL};
    assert_int_equal(program_run(&program, home, "simulate", words), 0);
    return 0;
}

/* `load wren` in the home with up to five more words; what it says on either voice. */
static int run(const struct scratch *home, const char *const *more, char **out, char **err)
{
    struct program program;
    const char *words[12] = {"load", "wren", "--home", home->folder};
    for (size_t i = 0; more[i] != NULL; i++) {
        words[4 + i] = more[i];
    }
    int status = program_run(&program, home, "load", words);
    *out = program_read_out(&program);
    *err = program_read_err(&program);
    return status;
}

static void
check(const struct scratch *home, const char *const *more, int status, const char *says)
{
    char *out = NULL;
    char *err = NULL;
    int got = run(home, more, &out, &err);
    if (got != status || (strstr(out, says) == NULL && strstr(err, says) == NULL)) {
        fail_msg("%s: status %d, said %s%s", more[0] != NULL ? more[0] : "", got, out, err);
    }
    free(out);
    free(err);
}

static void test_told_and_shown(void **state)
{
    const struct scratch *home = *state;
    static const char *const add[] = {"--add", "2026-05-12", "60", "160", NULL};
    static const char *const rest[] = {"--rest", "2026-05-13", NULL};
    static const char *const both[] = {"--rest", "2026-05-12", NULL};
    static const char *const before[] = {"--rating", DAY, "before", "1", NULL};
    static const char *const during[] = {"--rating", DAY, "during", "3", NULL};
    static const char *const show[] = {"--until", DAY, NULL};
    static const char *const forget[] = {"--forget", "2026-05-12", NULL};
    check(home, add, 0, "60 draws added by hand");
    check(home, rest, 0, "rest");
    check(home, both, 1, "already said to have draws");
    check(home, before, 0, "1 of 10 before shooting");
    check(home, during, 0, "Pain while shooting: stop.");
    check(home, during, 0, "stop");
    check(home, show, 0, "2026-05-12 unmeasured: 60 draws");
    check(home, show, 0, DAY " measured: 2 draws");
    check(home, show, 0, "higher than the one before");
    check(home, show, 0, "Not a medical device.");
    check(home, forget, 0, "what was said is taken back (1)");
    check(home, forget, 1, "nothing was said of this day");
    check(home, show, 0, "2026-05-13 rest");
}

static void test_each_form(void **state)
{
    const struct scratch *home = *state;
    char page[SCRATCH_PATH_BYTES];
    scratch_path(home, "load.html", page);
    const char *json[] = {"--until", DAY, "--format", "json", NULL};
    const char *csv[] = {"--until", DAY, "--format", "csv", NULL};
    const char *html[] = {"--until", DAY, "-o", page, NULL};
    check(home, json, 0, "\"kind\": \"measured\"");
    check(home, csv, 0, DAY ",measured,2,2,");
    check(home, html, 0, "");
    char *text = scratch_read(page, NULL);
    assert_non_null(strstr(text, "What the fingers of wren carried"));
    free(text);
    const char *nowhere[] = {"--until", DAY, "-o", "/nowhere/load.html", NULL};
    check(home, nowhere, 1, "/nowhere/load.html");
}

/* What cannot be read stops nothing but is said, and its day is not measured. */
static void test_a_broken_recording(void **state)
{
    const struct scratch *home = *state;
    char path[SCRATCH_PATH_BYTES];
    const char *show[] = {"--until", DAY, NULL};
    scratch_path(home, "recordings/broken", path);
    assert_int_equal(mkdir(path, 0700), 0);
    scratch_path(home, "recordings/broken/recording.json", path);
    scratch_write(path, "{", 1);
    check(home, show, 0, "broken/recording.json");
    check(home, show, 0, DAY " measured");
}

static void test_a_broken_person(void **state)
{
    const struct scratch *home = *state;
    char path[SCRATCH_PATH_BYTES];
    const char *show[] = {"--until", DAY, NULL};
    const char *rest[] = {"--rest", DAY, NULL};
    scratch_path(home, "people/wren.json", path);
    scratch_write(path, "{\"format\": 3}", 13);
    check(home, show, 1, "people/wren.json");
    check(home, rest, 1, "people/wren.json");
    char *text = scratch_read(path, NULL);
    assert_string_equal(text, "{\"format\": 3}");
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_told_and_shown),
        cmocka_unit_test(test_each_form),
        cmocka_unit_test(test_a_broken_recording),
        cmocka_unit_test(test_a_broken_person),
    };
    return cmocka_run_group_tests(tests, open_home, scratch_tear_down);
}
