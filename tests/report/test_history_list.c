/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/history_list.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"

static void
add(struct sh_history_list *list, const char *athlete, const char *started, size_t n)
{
    struct sh_index_entry entry = {.duration_s = 612.4, .n_shots = n};
    entry.recording.utc_offset_min = 120;
    (void)snprintf(entry.recording.athlete, sizeof entry.recording.athlete, "%s", athlete);
    (void)snprintf(entry.recording.started, sizeof entry.recording.started, "%s", started);
    (void)snprintf(entry.recording.folder, sizeof entry.recording.folder, "/range/a, \"b\"");
    (void)snprintf(entry.recording.content, sizeof entry.recording.content, "00000000000000aa");
    assert_int_equal(sh_history_list_add(list, &entry), SH_OK);
}

static void make(struct sh_history_list *list)
{
    *list = (struct sh_history_list){0};
    add(list, "wren", "2026-05-14T09:30:00.000Z", 12);
    add(list, "rook", "2026-05-14T22:30:00.000Z", 6);
    add(list, "wren", "2026-05-16T09:30:00.000Z", 30);
}

static void test_table(void **state)
{
    struct sh_history_list list;
    struct sh_text text;
    make(&list);
    sh_text_init(&text, 0);
    assert_int_equal(sh_history_list_write_table(&list, &text), SH_OK);
    assert_string_equal(text.data,
                        "archer                recordings   draws  first day   last day  \n"
                        "wren                           2      42  2026-05-14  2026-05-16\n"
                        "rook                           1       6  2026-05-15  2026-05-15\n");
    sh_text_close(&text);
    sh_history_list_close(&list);
}

static void test_nothing(void **state)
{
    struct sh_history_list list = {0};
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_history_list_write_table(&list, &text), SH_OK);
    assert_string_equal(text.data, "No recordings.\n");
    sh_text_close(&text);
    sh_history_list_close(&list);
}

static void test_json(void **state)
{
    struct sh_history_list list;
    struct sh_text text;
    make(&list);
    sh_text_init(&text, 0);
    assert_int_equal(sh_history_list_write_json(&list, &text), SH_OK);
    json_t *root = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    const json_t *recordings = json_object_get(root, "recordings");
    assert_int_equal(json_array_size(recordings), 3);
    const json_t *last = json_array_get(recordings, 2);
    assert_string_equal(json_string_value(json_object_get(last, "athlete")), "wren");
    assert_string_equal(json_string_value(json_object_get(last, "folder")), "/range/a, \"b\"");
    assert_int_equal(json_integer_value(json_object_get(last, "draws")), 30);
    json_decref(root);
    sh_text_close(&text);
    sh_history_list_close(&list);
}

static void test_csv(void **state)
{
    struct sh_history_list list = {0};
    struct sh_text text;
    add(&list, "wren", "2026-05-14T09:30:00.000Z", 12);
    sh_text_init(&text, 0);
    assert_int_equal(sh_history_list_write_csv(&list, &text), SH_OK);
    assert_string_equal(
        text.data,
        "folder,content,started,session,athlete,bow,channels,program,duration_s,draws"
        "\r\n\"/range/a, \"\"b\"\"\",00000000000000aa,2026-05-14T09:30:00.000Z,,wren,"
        ",,,612.39999999999998,12\r\n");
    sh_text_close(&text);
    sh_history_list_close(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table),
        cmocka_unit_test(test_nothing),
        cmocka_unit_test(test_json),
        cmocka_unit_test(test_csv),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
