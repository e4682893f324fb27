/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_words.h"

#include <ctype.h>
#include <string.h>

#include "base/day.h"
#include "report/limit_list.h"
#include "report/load_page.h"
#include "report/load_plot.h"
#include "report/load_table.h"
#include "report/made_load.h"
#include "report/markup.h"
#include "report/table_check.h"
#include "support/cmocka_all.h"

#define FLAT_BYTES 32768u

static struct made_load made;
static struct sh_text text;

static int open_made(void **state)
{
    made_load_open(&made, false);
    sh_text_init(&text, 0);
    return 0;
}

static int close_made(void **state)
{
    made_load_close(&made);
    sh_text_close(&text);
    return 0;
}

static void check(const char *wanted)
{
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data, wanted);
    sh_text_reset(&text);
}

static void test_limits_in_words(void **state)
{
    sh_load_words_put_limit(&text, &made.entry[0]);
    check(
        "finger peak force of the ring finger, at most 47.5 N in each shot; set by hand "
        "<clinic> on 2026-05-01; from 2026-05-01 to 2026-06-01; planned: +2.5 N each week, but "
        "the step that is due waits until a person confirms it, as a rating rose or a limit "
        "was reached");
    sh_load_words_put_limit(&text, &made.entry[1]);
    check("finger share of the ring finger, at most 25 % in each day; nobody is named who set "
          "it; until 2026-05-01; not in force");
    sh_load_words_put_limit(&text, &made.entry[3]);
    check("finger impulse of all three fingers together, at most 5000 N s in each day; nobody "
          "is named who set it; without an end");
}

static void test_other_words(void **state)
{
    const struct sh_day_load *hand =
        sh_load_sheet_find(&made.sheet, made.sheet.first_day + 4)->load;
    const struct sh_day_load *lost =
        sh_load_sheet_find(&made.sheet, made.sheet.first_day + 5)->load;
    const struct sh_day_load *clipped =
        sh_load_sheet_find(&made.sheet, made.sheet.first_day + 6)->load;
    const struct sh_quantity ring = sh_day_load_get_impulse_n_s(clipped, 2);
    sh_load_words_put_draws(&text, hand);
    check("60 draws; 60 draws added by hand, without a force (bow of 160 N)");
    sh_load_words_put_draws(&text, lost);
    check("at least 0 draws; 1 recording could not be read");
    sh_load_words_put_sum(&text, &ring, &clipped->impulse_n_s[2]);
    check("unknown (at least 103.1 \xC2\xB1"
          "3.9 N s; channel reached its range)");
    sh_load_words_put_notes(&text, &made.sheet, made.sheet.first_day + 6);
    check("pain during shooting: 2.5 of 10 points, higher than the one before; limit reached: "
          "no. 1");
    const size_t n_verdicts = made.sheet.n_verdicts;
    made.sheet.n_verdicts = 0;
    sh_load_words_put_notes(&text, &made.sheet, made.sheet.first_day + 6);
    check("pain during shooting: 2.5 of 10 points, higher than the one before");
    made.sheet.n_verdicts = n_verdicts;
    sh_load_words_put_notes(&text, &made.sheet, made.sheet.first_day + 4);
    check("limit of which it is unknown whether it was reached: no. 4");
    sh_load_words_put_verdicts(&text, &made.sheet, 1);
    check("reached on 1 day: 2026-05-13");
    sh_load_words_put_verdicts(&text, &made.sheet, 4);
    check("not known to have been reached on any day shown; unknown on 1 day");
    sh_load_words_put_rating(&text, made.rating, 2);
    check("2026-05-13 during shooting: 2.5 of 10 points, higher than the one before");
    sh_load_words_put_sensor(&text, &made.sensor[0]);
    check("index finger: calibrated on 2026-05-01, standard uncertainty 1.2 % of the force at "
          "50 N; 2 recordings, 2026-05-07 to 2026-05-13");
    sh_load_words_put_sensor(&text, &made.sensor[2]);
    check("ring finger: no sensor, its load is unknown; 1 recording, 2026-05-07");
}

/* What may stand behind a number. */
static const char *const units[] = {"N s",         "N",
                                    "%",           "s",
                                    "draw",        "draws",
                                    "d",           "day",
                                    "days",        "let-down",
                                    "recording",   "of 10 points",
                                    "points",      "times the 28-day",
                                    "let-downs",   "recordings",
                                    "of 1 draws",  "of 2 draws",
                                    "of 60 draws", "of 0 draws",
                                    "to"};

static bool is_word_end(char c)
{
    return isalnum((unsigned char)c) == 0;
}

/* True where a unit stands at a place, perhaps behind its uncertainty ("±12"), or a hyphen. */
static bool has_unit(const char *at)
{
    const char *next = at + strspn(at, " \n");
    at = strncmp(next, "\xC2\xB1", 2) == 0 ? next : at; /* within a cell */
    while (*at == ' ' || *at == '-') {
        at++;
    }
    if (strncmp(at, "\xC2\xB1", 2) == 0) {
        at += 2;
        at += strspn(at, "0123456789.");
        at += strspn(at, " ");
    }
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        size_t n = strlen(units[i]);
        if (strncmp(at, units[i], n) == 0 &&
            (is_word_end(units[i][n - 1]) || is_word_end(at[n]))) {
            return strcmp(units[i], "to") != 0;
        }
    }
    return false;
}

/* Dates, years of a source, a limit's number and the program's version are no figures. */
static size_t skip_other(const char *start, const char *at)
{
    int day = 0;
    char date[SH_DAY_BYTES] = "";
    (void)strncpy(date, at, SH_DAY_BYTES - 1);
    if (sh_day_parse(date, &day)) {
        return SH_DAY_BYTES - 1;
    }
    bool is_year = at - start > 7 && strncmp(at - 7, "et al. ", 7) == 0;
    bool is_number = at - start > 4 && strncmp(at - 4, "no. ", 4) == 0;
    bool is_version = at - start > 11 && strncmp(at - 11, "stringhand ", 11) == 0;
    return is_year || is_number || is_version ? strspn(at, "0123456789.") : 0;
}

/* Each number of a text has a unit behind it, in the same line or cell. */
static void check_units(const char *string)
{
    const char *at = string;
    size_t n_checked = 0;
    while (*at != '\0') {
        if (isdigit((unsigned char)*at) == 0) {
            at++;
            continue;
        }
        size_t n_other = skip_other(string, at);
        size_t n = strspn(at, "0123456789.");
        if (n_other == 0 && !has_unit(at + n)) {
            fail_msg("no unit behind '%.*s'", 40, at);
        }
        at += n_other > 0 ? n_other : n;
        const char *next = at + strspn(at, " \n");
        if (strncmp(next, "\xC2\xB1", 2) == 0) {
            at = next + 2 + strspn(next + 2, "0123456789.");
        }
        if (strncmp(at, " of ", 4) == 0) { /* "2 of 10 points", "1 of 2 draws" */
            at += 4 + strspn(at + 4, "0123456789.");
        }
        n_checked++;
    }
    assert_true(n_checked > 20);
}

/* What a reader sees of a page: without its head, tags as line breaks. */
static void strip(char *page)
{
    char *to = page;
    bool is_tag = false;
    for (const char *at = strstr(page, "<main>"); *at != '\0'; at++) {
        is_tag = is_tag || *at == '<';
        if (!is_tag && *at == '&') {
            *to++ = '\'';
            at = strchr(at, ';');
        } else if (!is_tag) {
            *to++ = *at;
        } else if (*at == '>') {
            is_tag = false;
            *to++ = '\n';
        }
    }
    *to = '\0';
}

/* Lines and their indents as one blank. */
static void flatten(const char *string, char flat[FLAT_BYTES])
{
    size_t n = 0;
    for (const char *at = string; *at != '\0'; at++) {
        char c = *at == '\n' ? ' ' : *at;
        assert_true(n + 1 < FLAT_BYTES);
        if (c != ' ' || n == 0 || flat[n - 1] != ' ') {
            flat[n++] = c;
        }
    }
    flat[n] = '\0';
}

static void check_cautions(const char *string)
{
    static const char *const pieces[] = {"Not a medical device.", "Stop on pain",
                                         "never as inside a limit", "Shoot only on a range",
                                         "Never draw and let go without an arrow"};
    char flat[FLAT_BYTES];
    flatten(string, flat);
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
        if (strstr(flat, pieces[i]) == NULL) {
            fail_msg("'%s' is not said", pieces[i]);
        }
    }
}

static void test_the_table(void **state)
{
    char flat[FLAT_BYTES];
    assert_int_equal(sh_load_table_write(&made.sheet, &text), SH_OK);
    flatten(text.data, flat);
    check_units(flat);
    check_cautions(text.data);
    assert_non_null(strstr(text.data, "2026-05-09 to 2026-05-10 unknown"));
    assert_non_null(strstr(text.data, "2026-05-08 rest"));
    assert_non_null(strstr(text.data, "ask your specialist"));
    assert_null(strstr(text.data, "Impellizzeri")); /* no ratio, no objections needed */
}

static void test_the_page(void **state)
{
    static const char *const plain[] = {"draws", NULL};
    static const char *const none[] = {NULL};
    assert_int_equal(sh_load_page_write(&made.sheet, &text), SH_OK);
    markup_check(text.data);
    markup_check_has(text.data, "default-src 'none'");
    markup_check_has(text.data, "w&lt;ren");
    markup_check_has(text.data, "hand &lt;clinic&gt;");
    assert_null(strstr(text.data, "<script"));
    assert_null(strstr(text.data, "http:"));
    assert_null(strstr(text.data, "https"));
    assert_true(table_check(text.data, plain, none) > 10);
    strip(text.data);
    check_units(text.data);
    check_cautions(text.data);
}

static void test_the_list_of_limits(void **state)
{
    const struct sh_limit_list list = {.athlete = "w\x1Bren",
                                       .day = made.sheet.last_day,
                                       .entries = made.entry,
                                       .n_entries = 4};
    const struct sh_limit_list none = {.athlete = "wren", .day = made.sheet.last_day};
    assert_int_equal(sh_limit_list_write_table(&list, &text), SH_OK);
    check_cautions(text.data);
    assert_null(strchr(text.data, '\x1B'));
    assert_non_null(strstr(text.data, "no. 4: "));
    sh_text_reset(&text);
    assert_int_equal(sh_limit_list_write_table(&none, &text), SH_OK);
    assert_non_null(strstr(text.data, "none is set. The program has none of its own."));
    sh_text_reset(&text);
    assert_int_equal(sh_limit_list_write_json(&list, &text), SH_OK);
    assert_non_null(strstr(text.data, "\"format\": \"stringhand-limits\""));
    check_cautions(text.data);
}

/* After thirty days the ratio is there, beside both averages and with what speaks against it;
 * no word calls a part of it good or bad. */
static void test_the_ratio_has_its_objections(void **state)
{
    static const char *const verdicts[] = {"good",      "bad",      "danger",
                                           "safe zone", "sweet",    "optimal",
                                           "high risk", "too high", "too low"};
    made_load_close(&made);
    made_load_open(&made, true);
    assert_int_equal(sh_load_page_write(&made.sheet, &text), SH_OK);
    markup_check(text.data);
    markup_check_has(text.data, "Impellizzeri");
    markup_check_has(text.data, "7-day average");
    strip(text.data);
    check_units(text.data);
    for (size_t i = 0; i < sizeof verdicts / sizeof verdicts[0]; i++) {
        assert_null(strstr(text.data, verdicts[i]));
    }
    sh_text_reset(&text);
    assert_int_equal(sh_load_table_write(&made.sheet, &text), SH_OK);
    char flat[FLAT_BYTES];
    assert_non_null(strstr(text.data, "Impellizzeri"));
    flatten(text.data, flat);
    check_units(flat);
}

static void test_the_plot(void **state)
{
    sh_load_plot_draw(&text, &made.sheet);
    assert_int_equal(markup_count(text.data, "class=\"filled\""), 2); /* ring, two days */
    assert_int_equal(markup_count(text.data, ">?</text>"), 8);
    assert_int_equal(markup_count(text.data, ">\xE2\x80\x93</text>"), 1);
    markup_check(text.data);
    sh_text_reset(&text);
    made.sheet.first_day++;
    made.sheet.last_day = made.sheet.first_day;
    sh_load_plot_draw(&text, &made.sheet);
    assert_int_equal(text.n_bytes, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_limits_in_words, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_other_words, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_the_table, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_the_page, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_the_list_of_limits, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_the_ratio_has_its_objections, open_made,
                                        close_made),
        cmocka_unit_test_setup_teardown(test_the_plot, open_made, close_made),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
