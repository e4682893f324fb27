/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_field.h"

#include <math.h>
#include <string.h>

#include "recording/json_case.h"
#include "recording/mark.h"
#include "support/cmocka_all.h"
#include "support/near.h"

struct record {
    double number;
    double needed;
    struct sh_mark_number given;
    uint64_t count;
    char text[8];
    char date[11];
};

#define MEMBER(name) offsetof(struct record, name), sizeof(((struct record *)0)->name)

static const struct sh_json_field fields[] = {
    {"number", MEMBER(number), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_FROM_0, false, "do this"},
    {"needed", MEMBER(needed), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_NOT_0, true, NULL},
    {"given", MEMBER(given), SH_JSON_FIELD_GIVEN, SH_JSON_FIELD_ABOVE_0, false, NULL},
    {"count", MEMBER(count), SH_JSON_FIELD_COUNT, SH_JSON_FIELD_ANY, false, NULL},
    {"text", MEMBER(text), SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, false, NULL},
    {"date", MEMBER(date), SH_JSON_FIELD_DATE, SH_JSON_FIELD_ANY, false, NULL},
};

#define N_FIELDS (sizeof fields / sizeof fields[0])

static enum sh_status parse(const char *text, struct record *record, struct sh_error *err)
{
    struct sh_json_cursor cursor;
    json_t *root = json_case_load(text);
    sh_json_cursor_init(&cursor, "a.json", err);
    sh_json_field_parse(&cursor, root, fields, N_FIELDS, record);
    json_decref(root);
    return cursor.status;
}

static void check_format(const char *before, const struct record *record, const char *after)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_case_load(before);
    sh_json_field_format(&put, root, fields, N_FIELDS, record);
    assert_int_equal(put.status, SH_OK);
    json_case_check_text(root, JSON_COMPACT, after);
}

static const char full[] = "{\"number\":0.5,\"needed\":-1,\"given\":2,\"count\":3,"
                           "\"text\":\"seven..\",\"date\":\"2026-05-14\"}";

static void test_all_types_lead_back(void **state)
{
    struct record record;
    assert_int_equal(parse(full, &record, NULL), SH_OK);
    assert_near(record.number, 0.5, 0.0, 0.0);
    assert_near(record.needed, -1.0, 0.0, 0.0);
    assert_true(record.given.is_given);
    assert_near(record.given.value, 2.0, 0.0, 0.0);
    assert_int_equal(record.count, 3);
    assert_string_equal(record.text, "seven..");
    assert_string_equal(record.date, "2026-05-14");
    check_format("{}", &record, full);
    check_format(full, &record, full);
}

static void test_missing_fields_stay_away(void **state)
{
    struct record record;
    memset(&record, 0x55, sizeof record);
    assert_int_equal(parse("{\"needed\":1}", &record, NULL), SH_OK);
    assert_near(record.number, 0.0, 0.0, 0.0);
    assert_false(record.given.is_given);
    assert_int_equal(record.count, 0);
    assert_string_equal(record.text, "");
    check_format("{}", &record, "{\"needed\":1}");
    check_format(full, &record, "{\"number\":0,\"needed\":1,\"count\":0}");
}

static void test_a_number_that_is_none_is_not_lost(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    const struct record record = {.needed = 1.0, .number = (double)NAN};
    json_t *root = json_object();
    sh_json_field_format(&put, root, fields, N_FIELDS, &record);
    assert_int_equal(put.status, SH_ERR_NOT_FINITE);
    assert_string_equal(put.key, "number");
    json_decref(root);
}

static void test_offences_are_named(void **state)
{
    static const struct json_case_offence cases[] = {
        {"{\"number\":-0.5,\"needed\":1}", "a.json: number", "is below 0"},
        {"{\"needed\":0}", "a.json: needed", "is 0"},
        {"{}", "a.json: needed", "is missing"},
        {"{\"needed\":null}", "a.json: needed", "is missing"},
        {"{\"needed\":1,\"given\":0}", "a.json: given", "is not above 0"},
        {"{\"needed\":1,\"given\":true}", "a.json: given", "is not a number"},
        {"{\"needed\":1,\"count\":1.5}", "a.json: count", "is not a whole number from 0 up"},
        {"{\"needed\":1,\"text\":\"eight...\"}", "a.json: text", "is too long a text"},
        {"{\"needed\":1,\"date\":\"14 May\"}", "a.json: date", "is not a date"},
        {"{\"needed\":1,\"date\":\"\"}", "a.json: date", "is not a date"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct record record;
        struct sh_error err = {0};
        const enum sh_status status = parse(cases[i].text, &record, &err);
        json_case_check_offence(&cases[i], status, &err);
        assert_string_equal(err.todo, i == 0  ? "do this"
                                      : i < 8 ? ""
                                              : "write it as 2026-05-14");
    }
}

static void test_dates_have_one_shape(void **state)
{
    assert_true(sh_json_field_is_date("2026-05-14"));
    assert_true(sh_json_field_is_date("0001-12-31"));
    static const char *const wrong[] = {
        "",           "2026-5-14",  "2026-05-1",   "2026-00-10", "2026-13-10", "2026-05-00",
        "2026-05-32", "2026/05/14", "2026-05-14 ", " 026-05-14", "2026-+5-14", "14-05-2026"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        assert_false(sh_json_field_is_date(wrong[i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_types_lead_back),
        cmocka_unit_test(test_missing_fields_stay_away),
        cmocka_unit_test(test_a_number_that_is_none_is_not_lost),
        cmocka_unit_test(test_offences_are_named),
        cmocka_unit_test(test_dates_have_one_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
