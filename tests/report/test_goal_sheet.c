/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/goal_sheet.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/day.h"
#include "series/goal_band.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Three sessions, the last in another month; two ends of two arrows in each. */
static const double holds[12] = {2.5, 1.0, 2.5, 2.6, 2.4, 4.0, 2.5, 2.5, 2.5, 2.5, 1.5, 2.5};
static const size_t ends[12] = {1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6};

struct made {
    struct sh_goal_sheet_session sessions[3];
    struct sh_person person;
    double hold_s[12];
    struct sh_goal_sheet sheet;
};

static void make(struct made *made, bool has_goal)
{
    static const char *const days[] = {"2026-04-30", "2026-05-01", "2026-05-31"};
    const struct sh_person_goal old = {.what = "hold_time_s",
                                       .least = 1.0,
                                       .most = 2.0,
                                       .set_on = "2026-01-01",
                                       .ended_on = "2026-04-01"};
    const struct sh_person_goal goal = {.what = "hold_time_s",
                                        .least = 2.0,
                                        .most = 3.0,
                                        .basis = "best-arrows",
                                        .arrows = 41,
                                        .set_by = "coach",
                                        .set_on = "2026-04-01"};
    *made = (struct made){.person = {.name = "wren"}};
    for (size_t i = 0; i < 3; i++) {
        assert_true(sh_day_parse(days[i], &made->sessions[i].day));
        made->sessions[i].first = 4 * i;
        (void)strcpy(made->sessions[i].name, i == 1 ? "club evening" : "");
    }
    memcpy(made->hold_s, holds, sizeof holds);
    made->hold_s[3] = (double)NAN;
    if (has_goal) {
        assert_int_equal(sh_person_add_goal(&made->person, &old), SH_OK);
        assert_int_equal(sh_person_add_goal(&made->person, &goal), SH_OK);
    }
    made->sheet = (struct sh_goal_sheet){.person = &made->person,
                                         .sessions = made->sessions,
                                         .n_sessions = 3,
                                         .hold_s = made->hold_s,
                                         .end = ends,
                                         .n = 12};
}

static void check_line(const char *text, const char *begins, const char *holds_too)
{
    const char *line = strstr(text, begins);
    if (line == NULL || strstr(line, holds_too) == NULL ||
        strstr(line, holds_too) > strchr(line, '\n')) {
        fail_msg("no line '%s ... %s' in:\n%s", begins, holds_too, text);
    }
}

static void test_as_a_table(void **state)
{
    struct made made;
    struct sh_text text;
    make(&made, true);
    sh_text_init(&text, 0);
    assert_int_equal(sh_goal_sheet_write_table(&made.sheet, &text), SH_OK);
    assert_non_null(strstr(text.data,
                           "now: hold 2 to 3 s, set on 2026-04-01 by coach, from the "
                           "middle 80 %"));
    assert_non_null(strstr(text.data, "% of 41"));
    assert_non_null(strstr(text.data, "earlier: hold 1 to 2 s, set on 2026-01-01, until "));
    check_line(text.data, "2026-04-30", "3      1       2     0    67 %");
    check_line(text.data, "2026-05-01  club evening", "4      0       3     1    75 %");
    check_line(text.data, "2026-05    ", "8      1       6     1    75 %");
    for (const char *line = text.data; *line != '\0'; line = strchr(line, '\n') + 1) {
        assert_true(strcspn(line, "\n") <= 80);
    }
    sh_text_close(&text);
    sh_person_close(&made.person);
}

/* Each figure is that of the arrows it says it is of. */
static void test_as_json(void **state)
{
    struct made made;
    struct sh_text text;
    enum sh_goal_place place[8];
    struct sh_goal_share may;
    const struct sh_goal_band band = {2.0, 3.0};
    make(&made, true);
    sh_text_init(&text, 0);
    assert_int_equal(sh_goal_sheet_write_json(&made.sheet, &text), SH_OK);
    json_t *root = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    assert_int_equal(json_array_size(json_object_get(root, "goals")), 2);
    assert_int_equal(json_array_size(json_object_get(root, "sessions")), 3);
    const json_t *months = json_object_get(root, "months");
    assert_int_equal(json_array_size(months), 2);
    const json_t *month = json_array_get(months, 1);
    assert_string_equal(json_string_value(json_object_get(month, "month")), "2026-05");
    for (size_t i = 0; i < 8; i++) {
        place[i] = sh_goal_band_judge(&band, made.hold_s[4 + i]);
    }
    sh_goal_band_find_share(place, ends + 4, 8, &may);
    assert_int_equal(json_integer_value(json_object_get(month, "arrows")), 8);
    assert_int_equal(json_integer_value(json_object_get(month, "ends")), 4);
    assert_near(json_number_value(json_object_get(month, "share")), may.ratio, 0, 0);
    assert_near(json_number_value(json_object_get(month, "lo")), may.lo, 0, 0);
    assert_near(json_number_value(json_object_get(month, "hi")), may.hi, 0, 0);
    json_decref(root);
    sh_text_close(&text);
    sh_person_close(&made.person);
}

static void test_without_a_goal(void **state)
{
    struct made made;
    struct sh_text text;
    make(&made, false);
    sh_text_init(&text, 0);
    assert_int_equal(sh_goal_sheet_write_table(&made.sheet, &text), SH_OK);
    assert_non_null(strstr(text.data, "none is in force"));
    assert_null(strstr(text.data, "2026"));
    sh_text_close(&text);
    sh_text_init(&text, 0);
    assert_int_equal(sh_goal_sheet_write_json(&made.sheet, &text), SH_OK);
    assert_non_null(strstr(text.data, "\"sessions\": []"));
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_as_a_table),
        cmocka_unit_test(test_as_json),
        cmocka_unit_test(test_without_a_goal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
