/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_sheet.h"

#include <jansson.h>
#include <string.h>

#include "base/day.h"
#include "report/load_csv.h"
#include "report/load_json.h"
#include "report/made_load.h"
#include "support/cmocka_all.h"
#include "support/near.h"

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

static void test_rows_and_weeks(void **state)
{
    int monday = sh_day_get_monday(made.sheet.first_day);
    assert_null(sh_load_sheet_find(&made.sheet, made.sheet.first_day - 1));
    assert_null(sh_load_sheet_find(&made.sheet, made.sheet.last_day + 1));
    assert_int_equal(sh_load_sheet_find(&made.sheet, made.sheet.last_day)->day,
                     made.sheet.last_day);
    const struct sh_day_load first = sh_load_sheet_get_week(&made.sheet, monday);
    assert_int_equal(first.n_draws, 2);
    assert_int_equal(first.n_days_of[SH_DAY_LOAD_REST], 1);
    assert_int_equal(first.n_days_of[SH_DAY_LOAD_UNKNOWN], 2);
    made.sheet.last_day = made.sheet.first_day; /* what is not shown does not count */
    const struct sh_day_load cut = sh_load_sheet_get_week(&made.sheet, monday);
    assert_int_equal(cut.n_days_of[SH_DAY_LOAD_REST], 0);
    assert_true(sh_load_sheet_has_draws(&made.sheet));
    made.sheet.first_day++;
    made.sheet.last_day = made.sheet.first_day;
    assert_false(sh_load_sheet_has_draws(&made.sheet));
}

static const json_t *get(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (value == NULL) {
        fail_msg("there is no key %s", key);
    }
    return value;
}

static const json_t *get_day(const json_t *root, size_t i)
{
    return json_array_get(get(root, "days"), i);
}

static void test_json(void **state)
{
    assert_int_equal(sh_load_json_write(&made.sheet, &text), SH_OK);
    json_t *root = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(get(root, "format")), "stringhand-load");
    assert_int_equal(json_integer_value(get(root, "version")), 1);
    assert_string_equal(json_string_value(get(root, "athlete")), "w<ren");
    assert_int_equal(json_array_size(get(root, "days")), 10);
    const json_t *first = get_day(root, 0);
    assert_string_equal(json_string_value(get(first, "date")), "2026-05-07");
    assert_string_equal(json_string_value(get(first, "kind")), "measured");
    assert_int_equal(json_integer_value(get(first, "draws")), 2);
    assert_near(json_number_value(get(first, "impulse_sum_n_s")), 2 * 509.875, 0, 1e-15);
    assert_near(json_number_value(json_array_get(get(first, "finger_impulse_n_s"), 2)), 206.25,
                0, 1e-15);
    assert_near(json_number_value(json_array_get(get(first, "draws_above_level"), 0)), 1, 0, 0);
    assert_true(json_is_null(get(first, "impulse_sum_7_over_28_day"))); /* one day only */
    assert_near(json_number_value(get(get_day(root, 1), "impulse_sum_n_s")), 0, 0, 0);
    assert_true(json_is_null(get(get_day(root, 2), "impulse_sum_n_s")));
    assert_true(json_is_null(get(get_day(root, 2), "draws")));
    assert_true(json_is_null(get(get_day(root, 4), "impulse_sum_n_s")));
    assert_int_equal(json_integer_value(get(get_day(root, 4), "draws")), 60);
    assert_true(json_is_null(get(get_day(root, 5), "draws")));
    assert_near(json_number_value(get(get_day(root, 6), "impulse_sum_at_least_n_s")), 509.875,
                0, 1e-15);
    assert_int_equal(json_array_size(get(root, "weeks")), 2);
    assert_int_equal(json_array_size(get(root, "limits")), 4);
    assert_true(json_is_true(get(json_array_get(get(root, "limits"), 0), "step_waits")));
    assert_true(json_is_false(get(json_array_get(get(root, "limits"), 1), "in_force")));
    const json_t *reached = get(json_array_get(get(root, "limits"), 0), "reached_on");
    assert_int_equal(json_array_size(reached), 1);
    assert_string_equal(json_string_value(json_array_get(reached, 0)), "2026-05-13");
    assert_int_equal(json_array_size(get(json_array_get(get(root, "limits"), 3), "unknown_on")),
                     1);
    assert_int_equal(json_array_size(get(root, "ratings")), 3);
    assert_true(json_is_true(get(json_array_get(get(root, "ratings"), 2), "rose")));
    assert_int_equal(json_array_size(get(root, "sensors")), 3);
    assert_true(json_array_size(get(root, "cautions")) >= 4);
    json_decref(root);
}

/* Each row has as many cells as the head; unknown is empty, never 0. */
static void test_csv(void **state)
{
    assert_int_equal(sh_load_csv_write(&made.sheet, &text), SH_OK);
    size_t n_wanted = 0;
    size_t n_rows = 0;
    for (char *line = strtok(text.data, "\r\n"); line != NULL; line = strtok(NULL, "\r\n")) {
        size_t n = 1;
        for (const char *at = line; *at != '\0'; at++) {
            n += *at == ',' ? 1 : 0;
        }
        n_wanted = n_rows == 0 ? n : n_wanted;
        assert_int_equal(n, n_wanted);
        if (n_rows == 0) {
            assert_int_equal(strncmp(line, "date,kind,draws,", 16), 0);
            assert_non_null(strstr(line, ",finger_impulse_n_s_1,finger_impulse_n_s_2,"));
        }
        if (n_rows == 3) {
            assert_int_equal(strncmp(line, "2026-05-09,unknown,,0,", 22), 0);
        }
        n_rows++;
    }
    assert_int_equal(n_rows, 11);
}

static void test_the_same_bytes(void **state)
{
    struct sh_text again;
    sh_text_init(&again, 0);
    assert_int_equal(sh_load_json_write(&made.sheet, &text), SH_OK);
    assert_int_equal(sh_load_json_write(&made.sheet, &again), SH_OK);
    assert_string_equal(text.data, again.data);
    sh_text_close(&again);
}

/* Each number of the machine-readable forms has its unit, or what it counts, in its key. */
static void test_keys_carry_units(void **state)
{
    static const char *const ends[] = {"_n",
                                       "_n_s",
                                       "draws",
                                       "_days",
                                       "days_",
                                       "recordings",
                                       "version",
                                       "_share",
                                       "_share_u",
                                       "let_downs",
                                       "_ratio",
                                       "number",
                                       "_0_to_10",
                                       "most",
                                       "least",
                                       "_step",
                                       "_on", /* dates */
                                       "_over_28_day",
                                       "_over_28_day_u",
                                       "draws_7_day",
                                       "draws_28_day",
                                       "draws_at_least",
                                       "draws_added",
                                       "draws_without_force",
                                       "recordings_unread",
                                       "draws_with_peak",
                                       "draws_above_level"};
    assert_int_equal(sh_load_json_write(&made.sheet, &text), SH_OK);
    json_t *root = json_loads(text.data, 0, NULL);
    assert_non_null(root);
    const char *const lists[] = {"days", "weeks", "limits", "ratings", "sensors"};
    for (size_t k = 0; k < sizeof lists / sizeof lists[0]; k++) {
        const char *key = NULL;
        json_t *value = NULL;
        json_t *entry = json_array_get(json_object_get(root, lists[k]), 0);
        json_object_foreach(entry, key, value)
        {
            bool is_number = json_is_number(value) || json_is_array(value);
            bool is_fine = !is_number || strncmp(key, "days_", 5) == 0;
            for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
                size_t n = strlen(ends[i]);
                is_fine = is_fine ||
                          (strlen(key) >= n && strcmp(key + strlen(key) - n, ends[i]) == 0);
            }
            if (!is_fine) {
                fail_msg("%s: %s has no unit", lists[k], key);
            }
        }
    }
    json_decref(root);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_rows_and_weeks, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_json, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_csv, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_the_same_bytes, open_made, close_made),
        cmocka_unit_test_setup_teardown(test_keys_carry_units, open_made, close_made),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
