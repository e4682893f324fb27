/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_cursor.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static const char example[] =
    "{\"number\": 2.5, \"whole\": 7, \"below\": -3, \"truth\": true, \"text\": \"wren\","
    " \"list\": [1, 2.5], \"object\": {}, \"nothing\": null}";

struct fixture {
    json_t *root;
    struct sh_error err;
    struct sh_json_cursor cursor;
};

static void open_fixture(struct fixture *fixture)
{
    fixture->root = json_loads(example, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(fixture->root);
    fixture->err = (struct sh_error){0};
    sh_json_cursor_init(&fixture->cursor, "a.json", &fixture->err);
}

/* The cursor must have failed at where; leaves it as new. */
static void expect_failure(struct fixture *fixture, const char *where, const char *what)
{
    assert_int_equal(fixture->cursor.status, SH_ERR_FORMAT);
    assert_int_equal(fixture->err.status, SH_ERR_FORMAT);
    assert_string_equal(fixture->err.where, where);
    assert_string_equal(fixture->err.what, what);
    fixture->err = (struct sh_error){0};
    fixture->cursor.status = SH_OK;
}

static void test_right_types_are_read(void **state)
{
    struct fixture f;
    open_fixture(&f);
    double number = 0.0;
    uint64_t count = 0;
    int integer = 0;
    bool truth = false;
    char text[5] = "";
    const json_t *inside = NULL;
    double tuple[2] = {0.0};
    assert_true(sh_json_cursor_number(&f.cursor, f.root, "number", &number));
    assert_near(number, 2.5, 0.0, 0.0);
    assert_true(sh_json_cursor_number(&f.cursor, f.root, "whole", &number));
    assert_near(number, 7.0, 0.0, 0.0);
    assert_true(sh_json_cursor_count(&f.cursor, f.root, "whole", &count));
    assert_int_equal(count, 7);
    assert_true(sh_json_cursor_integer(&f.cursor, f.root, "below", 3, &integer));
    assert_int_equal(integer, -3);
    assert_true(sh_json_cursor_bool(&f.cursor, f.root, "truth", &truth));
    assert_true(truth);
    assert_true(sh_json_cursor_text(&f.cursor, f.root, "text", text, sizeof text));
    assert_string_equal(text, "wren");
    assert_true(sh_json_cursor_object(&f.cursor, f.root, "object", &inside));
    assert_true(json_is_object(inside));
    assert_true(sh_json_cursor_array(&f.cursor, f.root, "list", &inside));
    assert_true(sh_json_cursor_tuple(&f.cursor, inside, tuple, 2));
    assert_near(tuple[1], 2.5, 0.0, 0.0);
    assert_int_equal(f.cursor.status, SH_OK);
    json_decref(f.root);
}

static void test_missing_and_null_are_no_failure(void **state)
{
    struct fixture f;
    open_fixture(&f);
    double number = 5.0;
    const json_t *inside = f.root;
    assert_false(sh_json_cursor_number(&f.cursor, f.root, "absent", &number));
    assert_false(sh_json_cursor_number(&f.cursor, f.root, "nothing", &number));
    assert_false(sh_json_cursor_array(&f.cursor, f.root, "nothing", &inside));
    assert_false(sh_json_cursor_object(&f.cursor, f.root, "absent", &inside));
    assert_near(number, 5.0, 0.0, 0.0);
    assert_ptr_equal(inside, f.root);
    assert_int_equal(f.cursor.status, SH_OK);
    sh_json_cursor_need(&f.cursor, true, "number");
    assert_int_equal(f.cursor.status, SH_OK);
    sh_json_cursor_need(&f.cursor, false, "absent");
    expect_failure(&f, "a.json: absent", "is missing");
    json_decref(f.root);
}

static void test_wrong_types_are_named(void **state)
{
    struct fixture f;
    open_fixture(&f);
    double number = 0.0;
    uint64_t count = 0;
    int integer = 0;
    bool truth = false;
    char text[4];
    const json_t *inside = NULL;
    assert_false(sh_json_cursor_number(&f.cursor, f.root, "text", &number));
    expect_failure(&f, "a.json: text", "is not a number");
    assert_false(sh_json_cursor_count(&f.cursor, f.root, "number", &count));
    expect_failure(&f, "a.json: number", "is not a whole number from 0 up");
    assert_false(sh_json_cursor_count(&f.cursor, f.root, "below", &count));
    expect_failure(&f, "a.json: below", "is not a whole number from 0 up");
    assert_false(sh_json_cursor_integer(&f.cursor, f.root, "below", 2, &integer));
    expect_failure(&f, "a.json: below", "is not a whole number from -2 to 2");
    assert_false(sh_json_cursor_integer(&f.cursor, f.root, "text", 2, &integer));
    expect_failure(&f, "a.json: text", "is not a whole number from -2 to 2");
    assert_false(sh_json_cursor_bool(&f.cursor, f.root, "whole", &truth));
    expect_failure(&f, "a.json: whole", "is neither true nor false");
    assert_false(sh_json_cursor_text(&f.cursor, f.root, "list", text, sizeof text));
    expect_failure(&f, "a.json: list", "is not a text");
    assert_false(sh_json_cursor_text(&f.cursor, f.root, "text", text, sizeof text));
    expect_failure(&f, "a.json: text", "is too long a text");
    assert_false(sh_json_cursor_array(&f.cursor, f.root, "object", &inside));
    expect_failure(&f, "a.json: object", "is not a list");
    assert_false(sh_json_cursor_object(&f.cursor, f.root, "list", &inside));
    expect_failure(&f, "a.json: list", "is not an object");
    json_decref(f.root);
}

static void test_tuples_want_their_length(void **state)
{
    struct fixture f;
    open_fixture(&f);
    double tuple[3];
    const json_t *list = json_object_get(f.root, "list");
    assert_false(sh_json_cursor_tuple(&f.cursor, list, tuple, 3));
    expect_failure(&f, "a.json", "is not a list of 3 numbers");
    assert_false(sh_json_cursor_tuple(&f.cursor, f.root, tuple, 3));
    expect_failure(&f, "a.json", "is not a list of 3 numbers");
    json_t *mixed = json_loads("[1, \"2\"]", 0, NULL);
    assert_false(sh_json_cursor_tuple(&f.cursor, mixed, tuple, 2));
    expect_failure(&f, "a.json", "is not a list of 2 numbers");
    json_decref(mixed);
    json_decref(f.root);
}

static void test_path_names_where_it_stands(void **state)
{
    struct fixture f;
    open_fixture(&f);
    double number = 0.0;
    size_t root = sh_json_cursor_enter(&f.cursor, "streams");
    size_t list = sh_json_cursor_enter_index(&f.cursor, 12);
    assert_false(sh_json_cursor_number(&f.cursor, f.root, "text", &number));
    expect_failure(&f, "a.json: streams[12].text", "is not a number");
    sh_json_cursor_leave(&f.cursor, list);
    sh_json_cursor_fail(&f.cursor, SH_ERR_FORMAT, NULL, "is odd", "do this");
    assert_string_equal(f.err.todo, "do this");
    expect_failure(&f, "a.json: streams", "is odd");
    sh_json_cursor_leave(&f.cursor, root);
    sh_json_cursor_fail(&f.cursor, SH_ERR_FORMAT, NULL, "is odd", NULL);
    expect_failure(&f, "a.json", "is odd");
    json_decref(f.root);
}

static void test_first_failure_wins_and_stops_reading(void **state)
{
    struct fixture f;
    open_fixture(&f);
    double number = 5.0;
    double tuple[2];
    sh_json_cursor_fail(&f.cursor, SH_ERR_UNSUPPORTED, "version", "is 2", NULL);
    sh_json_cursor_fail(&f.cursor, SH_ERR_FORMAT, "later", "is odd", NULL);
    assert_int_equal(f.cursor.status, SH_ERR_UNSUPPORTED);
    assert_string_equal(f.err.where, "a.json: version");
    assert_false(sh_json_cursor_number(&f.cursor, f.root, "number", &number));
    assert_near(number, 5.0, 0.0, 0.0);
    assert_false(sh_json_cursor_tuple(&f.cursor, json_object_get(f.root, "list"), tuple, 2));
    json_decref(f.root);
}

static void test_long_paths_are_cut(void **state)
{
    struct fixture f;
    open_fixture(&f);
    char key[200];
    memset(key, 'k', sizeof key - 1);
    key[sizeof key - 1] = '\0';
    for (int i = 0; i < 5; i++) {
        (void)sh_json_cursor_enter(&f.cursor, key);
    }
    assert_int_equal(f.cursor.n_path_bytes, SH_JSON_CURSOR_PATH_BYTES - 1);
    assert_int_equal(strlen(f.cursor.path), SH_JSON_CURSOR_PATH_BYTES - 1);
    sh_json_cursor_leave(&f.cursor, 0);
    assert_string_equal(f.cursor.path, "");
    json_decref(f.root);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_right_types_are_read),
        cmocka_unit_test(test_missing_and_null_are_no_failure),
        cmocka_unit_test(test_wrong_types_are_named),
        cmocka_unit_test(test_tuples_want_their_length),
        cmocka_unit_test(test_path_names_where_it_stands),
        cmocka_unit_test(test_first_failure_wins_and_stops_reading),
        cmocka_unit_test(test_long_paths_are_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
