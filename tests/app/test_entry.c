/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/entry.h"

#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_entry parse(const char *line)
{
    struct sh_entry entry;
    struct sh_error err = {0};
    assert_int_equal(sh_entry_parse(line, &entry, &err), SH_OK);
    return entry;
}

static void test_scores(void **state)
{
    struct sh_entry entry = parse(" 9 ");
    assert_int_equal(entry.kind, SH_ENTRY_MARK);
    assert_int_equal(entry.mark.kind, SH_MARK_ARROW);
    assert_near(entry.mark.score.value, 9.0, 0, 0);
    assert_near(parse("X").mark.score.value, 10.0, 0, 0);
    assert_near(parse("m").mark.score.value, 0.0, 0, 0);
    entry = parse("9 8\tx M 0");
    assert_int_equal(entry.mark.kind, SH_MARK_END);
    assert_int_equal(entry.mark.n_scores, 5);
    assert_near(entry.mark.scores[2], 10.0, 0, 0);
    assert_near(entry.mark.scores[4], 0.0, 0, 0);
    assert_false(entry.mark.score.is_given);
}

static void test_commands(void **state)
{
    struct sh_entry entry = parse("n new tab  leather");
    assert_int_equal(entry.mark.kind, SH_MARK_NOTE);
    assert_string_equal(entry.mark.text, "new tab  leather");
    entry = parse("c 120 6");
    assert_int_equal(entry.mark.kind, SH_MARK_CLOCK);
    assert_near(entry.mark.seconds.value, 120.0, 0, 0);
    assert_near(entry.mark.arrows.value, 6.0, 0, 0);
    assert_false(parse("C 90").mark.arrows.is_given);
    assert_int_equal(parse("s").mark.kind, SH_MARK_CLOCK_STOP);
    entry = parse("p before 3");
    assert_string_equal(entry.mark.when, "before");
    assert_near(entry.mark.rating.value, 3.0, 0, 0);
    entry = parse("p after 0");
    assert_string_equal(entry.mark.when, "after");
    entry = parse("p 2");
    assert_int_equal(entry.mark.kind, SH_MARK_PAIN);
    assert_near(entry.mark.rating.value, 2.0, 0, 0);
    entry = parse("a rook");
    assert_int_equal(entry.kind, SH_ENTRY_ARCHER);
    assert_string_equal(entry.athlete, "rook");
    assert_int_equal(parse("q").kind, SH_ENTRY_END);
    assert_int_equal(parse("  ").kind, SH_ENTRY_NOTHING);
}

static void test_clock_keys(void **state)
{
    static const struct {
        const char *line;
        enum sh_entry_clock clock;
    } rows[] = {{"c", SH_ENTRY_CLOCK_START},
                {" C ", SH_ENTRY_CLOCK_START},
                {"c o", SH_ENTRY_CLOCK_START_OTHER},
                {"h", SH_ENTRY_CLOCK_HALT},
                {"o", SH_ENTRY_CLOCK_OTHER_SHOT}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sh_entry entry = parse(rows[i].line);
        assert_int_equal(entry.kind, SH_ENTRY_CLOCK);
        assert_int_equal(entry.clock, rows[i].clock);
    }
}

static void test_refusals(void **state)
{
    static const char *const lines[] = {
        "11",      "9 -1",  "9,8",      "nine",     "x x y",        "c x",
        "c o o",   "h 1",   "o no",     "c 0",      "c 120 6 7",    "c 3601",
        "p",       "p 11",  "p noon 2", "p before", "p before 2 3", "p beforehand 2",
        "s now",   "q now", "n",        "a",        "9x",           "?",
        "n t\xC3", "a \xFF"};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        struct sh_entry entry;
        struct sh_error err = {0};
        assert_int_equal(sh_entry_parse(lines[i], &entry, &err), SH_ERR_FORMAT);
        assert_int_equal(entry.kind, SH_ENTRY_NOTHING);
        assert_non_null(strstr(err.what, "is not understood"));
        assert_true(strlen(err.todo) > 0);
    }
}

static void test_longest_note_and_most_scores(void **state)
{
    char line[SH_MARK_TEXT_BYTES + 4] = "n ";
    memset(line + 2, 'w', SH_MARK_TEXT_BYTES - 1);
    assert_int_equal(strlen(parse(line).mark.text), SH_MARK_TEXT_BYTES - 1);
    line[SH_MARK_TEXT_BYTES + 1] = 'w';
    struct sh_entry entry;
    assert_int_equal(sh_entry_parse(line, &entry, NULL), SH_ERR_FORMAT);
    char scores[2 * SH_MARK_SCORES_MAX + 3] = "";
    for (size_t i = 0; i < SH_MARK_SCORES_MAX; i++) {
        (void)strcat(scores, "9 ");
    }
    assert_int_equal(parse(scores).mark.n_scores, SH_MARK_SCORES_MAX);
    (void)strcat(scores, "9");
    assert_int_equal(sh_entry_parse(scores, &entry, NULL), SH_ERR_FORMAT);
}

/* What is said of a typed line. */
static void check_answer(const char *line, const char *expected)
{
    struct sh_entry entry = parse(line);
    struct sh_text text;
    sh_text_init(&text, 0);
    if (entry.mark.kind == SH_MARK_ARROW && entry.mark.score.value < 9.5) {
        entry.mark.shot = (struct sh_mark_number){true, 3.0};
    }
    sh_entry_format(&entry, &text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.n_bytes > 0 ? text.data : "", expected);
    sh_text_close(&text);
}

static void test_answers(void **state)
{
    check_answer("", "");
    check_answer("q", "");
    check_answer("9", "Kept: score 9 for shot 3\n");
    check_answer("x", "Kept: score 10\n");
    check_answer("9 8 x m", "Kept: end: 9 8 10 0\n");
    check_answer("n gust", "Kept: note\n");
    check_answer("c 120 6", "Kept: clock of 120 s\n");
    check_answer("s", "Kept: clock stopped\n");
    check_answer("p 2", "Kept: pain 2. Stop on pain.\n");
    check_answer("a ro\x1b[2Jok", "Now shooting: ro\xEF\xBF\xBD[2Jok\n");
}

/* The help fits into a narrow terminal and names each letter. */
static void test_the_help_is_narrow(void **state)
{
    size_t n_columns = 0;
    const char *help = sh_entry_get_help();
    for (const char *at = help; *at != '\0'; at++) {
        n_columns = *at == '\n' ? 0 : n_columns + 1;
        assert_true(n_columns < 40);
    }
    static const char *const begins[] = {"9 ",  "9 8 x ", "n TEXT ", "c 120 6 ",
                                         "s  ", "p 2 ",   "a NAME ", "q "};
    for (size_t i = 0; i < sizeof begins / sizeof begins[0]; i++) {
        assert_non_null(strstr(help, begins[i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_scores),
        cmocka_unit_test(test_commands),
        cmocka_unit_test(test_clock_keys),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_longest_note_and_most_scores),
        cmocka_unit_test(test_answers),
        cmocka_unit_test(test_the_help_is_narrow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
