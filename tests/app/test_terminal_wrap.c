/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/terminal_wrap.h"

#include <string.h>

#include "report/utf8.h"
#include "support/cmocka_all.h"

static void check(const char *given, size_t n_columns, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_terminal_wrap(given, n_columns, &text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    sh_text_close(&text);
}

static void test_what_fits_stays(void **state)
{
    check("", 20, "");
    check("\n", 20, "\n");
    check("Kept: note\n", 10, "Kept: note\n");
    check("  9        score\n  q        the end\n", 18,
          "  9        score\n  q        the end\n");
    check("no end of line", 40, "no end of line");
}

static void test_lines_end_between_words(void **state)
{
    check("Shot 1: held 3.05 s at 177.1 N.\n", 20, "Shot 1: held 3.05 s\n  at 177.1 N.\n");
    check("  Draw length got shorter.\n", 20, "  Draw length got\n    shorter.\n");
    check("one two three\nfour\n", 7, "one two\n  three\nfour\n");
    check("one two three\n", 8, "one two\n  three\n");
    check("one two three\n", 6, "one\n  two\n  three\n");
    check("ends with blanks     \n", 12, "ends with\n  blanks\n");
}

static void test_long_words_stay_whole(void **state)
{
    check("a /home/wren/recordings/tuesday b\n", 10,
          "a\n  /home/wren/recordings/tuesday\n  b\n");
    check("/home/wren/recordings/tuesday\n", 10, "/home/wren/recordings/tuesday\n");
    check("word\n", 1, "word\n");
    check("two words\n", 0, "two\nwords\n");
}

/* Wide characters take two columns, and none is cut in two. */
static void test_columns_are_not_bytes(void **state)
{
    check("Żółta Pliszka\n", 13, "Żółta Pliszka\n");
    check("Żółta Pliszka\n", 12, "Żółta\n  Pliszka\n");
    check("鶴鶴 鶴鶴\n", 9, "鶴鶴 鶴鶴\n");
    check("鶴鶴 鶴鶴\n", 8, "鶴鶴\n  鶴鶴\n");
}

/* Words of a text, none of whose lines is wider than n_columns. */
static size_t count_words(char *text, size_t n_columns)
{
    size_t n_words = 0;
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        assert_in_range(sh_utf8_get_columns(line, strlen(line)), 1, n_columns);
        for (const char *at = line; *at != '\0'; at++) {
            n_words += *at != ' ' && (at == line || at[-1] == ' ') ? 1u : 0u;
        }
    }
    return n_words;
}

/* At any width no line is wider, all words are there, and wrapping again changes nothing. */
static void test_any_width(void **state)
{
    static const char sentence[] = "  The ring finger's share fell by 0.122 (0.120 to 0.124) "
                                   "in the hold, from 0.8 s on.\n";
    for (size_t n = 14; n < 100; n++) {
        struct sh_text text;
        struct sh_text again;
        sh_text_init(&text, 0);
        sh_text_init(&again, 0);
        sh_terminal_wrap(sentence, n, &text);
        sh_terminal_wrap(text.data, n, &again);
        assert_string_equal(again.data, text.data);
        assert_int_equal(count_words(text.data, n), 17);
        sh_text_close(&text);
        sh_text_close(&again);
    }
}

static void test_a_full_text_says_so(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 8);
    sh_terminal_wrap("one two three four\n", 7, &text);
    assert_int_not_equal(text.status, SH_OK);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_fits_stays),
        cmocka_unit_test(test_lines_end_between_words),
        cmocka_unit_test(test_long_words_stay_whole),
        cmocka_unit_test(test_columns_are_not_bytes),
        cmocka_unit_test(test_any_width),
        cmocka_unit_test(test_a_full_text_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
