/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_put.h"

#include <math.h>
#include <stdlib.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* The tree as one line of text; the caller frees it. */
static char *dump(const json_t *root)
{
    char *text = json_dumps(root, JSON_COMPACT);
    assert_non_null(text);
    return text;
}

static void check(const json_t *root, const char *expected)
{
    char *text = dump(root);
    assert_string_equal(text, expected);
    free(text);
}

static void test_values_are_set(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    const double values[2] = {1.0, 2.5};
    json_t *root = json_object();
    sh_json_put_number(&put, root, "whole", -3.0);
    sh_json_put_number(&put, root, "real", 0.5);
    sh_json_put_number(&put, root, "large", 9007199254740992.0);
    sh_json_put_count(&put, root, "count", INT64_MAX);
    sh_json_put_text(&put, root, "text", "blue 66");
    sh_json_put_value(&put, root, "truth", json_true());
    sh_json_put_numbers(&put, root, "list", values, 2);
    json_t *rows = sh_json_put_list(&put, root, "rows");
    sh_json_put_numbers_at(&put, rows, 0, values, 2);
    sh_json_put_text(&put, sh_json_put_object_at(&put, rows, 1), "a", "b");
    sh_json_put_number(&put, sh_json_put_object(&put, root, "object"), "c", 0.0);
    assert_int_equal(put.status, SH_OK);
    check(root, "{\"whole\":-3,\"real\":0.5,\"large\":9007199254740992.0,"
                "\"count\":9223372036854775807,\"text\":\"blue 66\",\"truth\":true,"
                "\"list\":[1,2.5],\"rows\":[[1,2.5],{\"a\":\"b\"}],\"object\":{\"c\":0}}");
    json_decref(root);
}

static void test_equal_numbers_stay_as_written(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    const double values[2] = {1.0, 2.0};
    json_t *root =
        json_loads("{\"a\": 5.0, \"b\": 6, \"list\": [1.0, 2], \"rows\": [[1.0, 2.0]],"
                   " \"none\": null}",
                   0, NULL);
    sh_json_put_number(&put, root, "a", 5.0);
    sh_json_put_number(&put, root, "b", 6.5);
    sh_json_put_numbers(&put, root, "list", values, 2);
    sh_json_put_numbers_at(&put, json_object_get(root, "rows"), 0, values, 2);
    sh_json_put_nothing(&put, root, "none");
    sh_json_put_nothing(&put, root, "absent");
    assert_int_equal(put.status, SH_OK);
    check(root, "{\"a\":5.0,\"b\":6.5,\"list\":[1.0,2],\"rows\":[[1.0,2.0]],\"none\":null}");
    sh_json_put_nothing(&put, root, "a");
    sh_json_put_numbers(&put, root, "list", values, 1);
    sh_json_put_trim(&put, json_object_get(root, "rows"), 0);
    check(root, "{\"b\":6.5,\"list\":[1],\"rows\":[],\"none\":null}");
    json_decref(root);
}

static void test_objects_and_lists_replace_other_things(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_loads("{\"a\": 5, \"b\": {\"x\": 1}, \"c\": [7]}", 0, NULL);
    assert_non_null(sh_json_put_object(&put, root, "a"));
    assert_non_null(sh_json_put_list(&put, root, "b"));
    assert_non_null(sh_json_put_object_at(&put, json_object_get(root, "c"), 0));
    check(root, "{\"a\":{},\"b\":[],\"c\":[{}]}");
    json_decref(root);
}

static void expect(struct sh_json_put *put, enum sh_status status, const char *key)
{
    assert_int_equal(put->status, status);
    assert_string_equal(put->key, key);
    *put = (struct sh_json_put){SH_OK, NULL};
}

static void test_what_json_cannot_hold_is_refused(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    const double values[2] = {1.0, (double)INFINITY};
    json_t *root = json_object();
    sh_json_put_number(&put, root, "a", (double)NAN);
    expect(&put, SH_ERR_NOT_FINITE, "a");
    sh_json_put_numbers(&put, root, "b", values, 2);
    expect(&put, SH_ERR_NOT_FINITE, "b");
    sh_json_put_count(&put, root, "c", (uint64_t)INT64_MAX + 1);
    expect(&put, SH_ERR_ARGUMENT, "c");
    sh_json_put_text(&put, root, "d", "\xff\xfe");
    expect(&put, SH_ERR_FORMAT, "d");
    sh_json_put_value(&put, root, "e", NULL);
    expect(&put, SH_ERR_MEMORY, "e");
    check(root, "{}");
    json_decref(root);
}

static void test_nothing_happens_after_a_failure(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    const double value = 1.0;
    json_t *root = json_loads("{\"list\": [1]}", 0, NULL);
    sh_json_put_fail(&put, SH_ERR_FULL, "first");
    sh_json_put_fail(&put, SH_ERR_MEMORY, "second");
    sh_json_put_number(&put, root, "a", 1.0);
    sh_json_put_count(&put, root, "a", 1);
    sh_json_put_text(&put, root, "a", "b");
    sh_json_put_value(&put, root, "a", json_object());
    sh_json_put_numbers(&put, root, "a", &value, 1);
    sh_json_put_nothing(&put, root, "list");
    sh_json_put_trim(&put, json_object_get(root, "list"), 0);
    assert_null(sh_json_put_object(&put, root, "a"));
    assert_null(sh_json_put_list(&put, root, "list"));
    assert_null(sh_json_put_object_at(&put, json_object_get(root, "list"), 5));
    sh_json_put_numbers_at(&put, json_object_get(root, "list"), 0, &value, 1);
    check(root, "{\"list\":[1]}");
    expect(&put, SH_ERR_FULL, "first");
    json_decref(root);
}

static void test_unknown_numbers_and_the_end(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    struct sh_text text;
    json_t *root = json_object();
    sh_json_put_known(&put, root, "a", true, 2.5);
    sh_json_put_known(&put, root, "b", false, 2.5);
    sh_text_init(&text, 0);
    assert_int_equal(sh_json_put_finish(&put, root, &text), SH_OK);
    assert_string_equal(text.data, "{\"a\": 2.5, \"b\": null}\n");
    sh_text_reset(&text);
    sh_json_put_fail(&put, SH_ERR_FORMAT, "c");
    assert_int_equal(sh_json_put_finish(&put, json_object(), &text), SH_ERR_FORMAT);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_are_set),
        cmocka_unit_test(test_unknown_numbers_and_the_end),
        cmocka_unit_test(test_equal_numbers_stay_as_written),
        cmocka_unit_test(test_objects_and_lists_replace_other_things),
        cmocka_unit_test(test_what_json_cannot_hold_is_refused),
        cmocka_unit_test(test_nothing_happens_after_a_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
