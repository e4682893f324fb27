/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/day.h"

#include <time.h>

#include "support/cmocka_all.h"

static int get(const char *text)
{
    int day = 0;
    assert_true(sh_day_parse(text, &day));
    return day;
}

static void test_known_days(void **state)
{
    assert_int_equal(get("1970-01-01"), 0);
    assert_int_equal(get("1969-12-31"), -1);
    assert_int_equal(get("2000-03-01"), 11017);
    assert_int_equal(get("2026-05-14") - get("2025-05-14"), 365);
    assert_int_equal(get("2024-03-01") - get("2024-02-28"), 2);
    assert_int_equal(get("2100-03-01") - get("2100-02-28"), 1);
}

/* The C library's calendar is the judge, day by day over 400 years. */
static void test_each_day_as_the_library_counts(void **state)
{
    for (int day = get("1900-01-01"); day <= get("2300-12-31"); day++) {
        char text[SH_DAY_BYTES];
        char wanted[SH_DAY_BYTES];
        struct tm utc;
        time_t seconds = (time_t)day * 86400;
        assert_non_null(gmtime_r(&seconds, &utc));
        assert_int_equal(strftime(wanted, sizeof wanted, "%Y-%m-%d", &utc), 10);
        sh_day_format(day, text);
        assert_string_equal(text, wanted);
        assert_int_equal(get(text), day);
        assert_int_equal(day - sh_day_get_monday(day), (utc.tm_wday + 6) % 7);
    }
}

static void test_the_ends_of_the_calendar(void **state)
{
    char text[SH_DAY_BYTES];
    sh_day_format(get("0001-01-01"), text);
    assert_string_equal(text, "0001-01-01");
    sh_day_format(get("0001-01-01") - 1, text);
    assert_string_equal(text, "");
    sh_day_format(get("9999-12-31"), text);
    assert_string_equal(text, "9999-12-31");
    sh_day_format(get("9999-12-31") + 1, text);
    assert_string_equal(text, "");
}

static void test_what_is_no_day(void **state)
{
    static const char *const texts[] = {
        "",           "2026",       "2026-5-14",   "2026-05-32", "2026-02-29", "2026-13-01",
        "2026-00-01", "2026-05-00", "2026-05-14 ", "2026/05/14", "0000-01-01", "20x6-05-14"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        int day = 77;
        assert_false(sh_day_parse(texts[i], &day));
        assert_int_equal(day, 77);
    }
}

/* Half past eleven at night in UTC is the next day two hours east, and so on. */
static void test_the_local_day_of_an_instant(void **state)
{
    static const struct {
        const char *text;
        int offset_min;
        const char *day;
    } cases[] = {
        {"2026-05-14T23:30:00.000Z", 0, "2026-05-14"},
        {"2026-05-14T23:30:00.000Z", 29, "2026-05-14"},
        {"2026-05-14T23:30:00.000Z", 30, "2026-05-15"},
        {"2026-05-14T00:30:00.000Z", -30, "2026-05-14"},
        {"2026-05-14T00:30:00.000Z", -31, "2026-05-13"},
        {"2026-12-31T22:00:00.000Z", 120, "2027-01-01"},
        {"2026-05-14T00:00:00.000Z", -1440, "2026-05-13"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        int day = 0;
        assert_true(sh_day_parse_instant(cases[i].text, cases[i].offset_min, &day));
        assert_int_equal(day, get(cases[i].day));
    }
    int day = 77;
    assert_false(sh_day_parse_instant("", 0, &day));
    assert_false(sh_day_parse_instant("2026-05-14", 0, &day));
    assert_false(sh_day_parse_instant("2026-05-14T24:00:00Z", 0, &day));
    assert_false(sh_day_parse_instant("2026-05-14T09:60:00Z", 0, &day));
    assert_false(sh_day_parse_instant("2026-05-14T09:00:00Z", 1441, &day));
    assert_int_equal(day, 77);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_days),
        cmocka_unit_test(test_each_day_as_the_library_counts),
        cmocka_unit_test(test_the_ends_of_the_calendar),
        cmocka_unit_test(test_what_is_no_day),
        cmocka_unit_test(test_the_local_day_of_an_instant),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
