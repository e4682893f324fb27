/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/edit_json.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static json_t *parse(const char *text)
{
    json_t *object = json_loads(text, 0, NULL);
    assert_non_null(object);
    return object;
}

static void test_tags(void **state)
{
    struct sh_tag tag;
    json_t *full = parse("{\"key\":\"tab\",\"value\":\"thick\"}");
    json_t *empty = parse("{\"key\":\"tab\",\"value\":\"\"}");
    json_t *missing = parse("{\"key\":\"tab\"}");
    assert_int_equal(sh_edit_json_read_tag(full, &tag, NULL), SH_OK);
    assert_string_equal(tag.key, "tab");
    assert_string_equal(tag.value, "thick");
    assert_int_equal(sh_edit_json_read_tag(empty, &tag, NULL), SH_OK);
    assert_string_equal(tag.value, "");
    assert_int_equal(sh_edit_json_read_tag(missing, &tag, NULL), SH_OK);
    assert_string_equal(tag.value, "");
    json_decref(full);
    json_decref(empty);
    json_decref(missing);
}

static void test_lengths_of_a_tag(void **state)
{
    char text[SH_SESSION_NAME_BYTES + 1];
    struct sh_tag tag;
    for (size_t n = SH_SESSION_NAME_BYTES - 1; n <= SH_SESSION_NAME_BYTES; n++) {
        const enum sh_status expected = n < SH_SESSION_NAME_BYTES ? SH_OK : SH_ERR_ARGUMENT;
        memset(text, 'k', n);
        text[n] = '\0';
        json_t *key = json_pack("{s:s, s:s}", "key", text, "value", "x");
        json_t *value = json_pack("{s:s, s:s}", "key", "x", "value", text);
        assert_int_equal(sh_edit_json_read_tag(key, &tag, NULL), expected);
        assert_int_equal(sh_edit_json_read_tag(value, &tag, NULL), expected);
        json_decref(key);
        json_decref(value);
    }
}

static void test_what_is_no_tag(void **state)
{
    static const char *const wrong[] = {"{}",
                                        "{\"value\":\"x\"}",
                                        "{\"key\":\"\",\"value\":\"x\"}",
                                        "{\"key\":3,\"value\":\"x\"}",
                                        "{\"key\":\"tab\",\"value\":null}",
                                        "{\"key\":\"tab\",\"value\":[\"x\"]}"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct sh_error err = {0};
        struct sh_tag tag;
        json_t *object = parse(wrong[i]);
        assert_int_equal(sh_edit_json_read_tag(object, &tag, &err), SH_ERR_ARGUMENT);
        assert_string_equal(err.what, "no tag");
        json_decref(object);
    }
    struct sh_tag tag;
    json_t *nul = json_loads("{\"key\":\"t\\u0000b\",\"value\":\"x\"}", JSON_ALLOW_NUL, NULL);
    assert_non_null(nul);
    assert_int_equal(sh_edit_json_read_tag(nul, &tag, NULL), SH_ERR_ARGUMENT);
    json_decref(nul);
}

static void test_corrections(void **state)
{
    struct sh_mark mark;
    json_t *moved = parse("{\"event\":\"clicker_s\",\"value_s\":49.812}");
    json_t *not_there = parse("{\"event\":\"full-draw\",\"value_s\":null}");
    assert_int_equal(sh_edit_json_read_correction(moved, 2, 61.5, &mark, NULL), SH_OK);
    assert_int_equal(mark.kind, SH_MARK_CORRECTION);
    assert_string_equal(mark.event, "clicker_s");
    assert_near(mark.t_s, 61.5, 0.0, 0.0);
    assert_true(mark.shot.is_given && mark.value_s.is_given && !mark.value_u_s.is_given);
    assert_near(mark.shot.value, 2.0, 0.0, 0.0);
    assert_near(mark.value_s.value, 49.812, 0.0, 0.0);
    assert_int_equal(sh_edit_json_read_correction(not_there, 2, 61.5, &mark, NULL), SH_OK);
    assert_string_equal(mark.event, "full_draw_s");
    assert_false(mark.value_s.is_given);
    json_decref(moved);
    json_decref(not_there);
}

static void test_what_is_no_correction(void **state)
{
    static const struct {
        const char *text;
        const char *what;
    } wrong[] = {{"{}", "no event of a draw"},
                 {"{\"event\":\"lunch_s\",\"value_s\":1}", "no event of a draw"},
                 {"{\"event\":7,\"value_s\":1}", "no event of a draw"},
                 {"{\"event\":\"clicker_s\"}", "no time of an event"},
                 {"{\"event\":\"clicker_s\",\"value_s\":\"1\"}", "no time of an event"},
                 {"{\"event\":\"clicker_s\",\"value_s\":-0.001}", "no time of an event"},
                 {"{\"event\":\"clicker_s\",\"value_s\":10000001}", "no time of an event"}};
    static const char *const right[] = {"{\"event\":\"clicker_s\",\"value_s\":0}",
                                        "{\"event\":\"clicker_s\",\"value_s\":10000000}"};
    struct sh_mark mark;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct sh_error err = {0};
        json_t *object = parse(wrong[i].text);
        assert_int_equal(sh_edit_json_read_correction(object, 1, 5.0, &mark, &err),
                         SH_ERR_ARGUMENT);
        assert_string_equal(err.what, wrong[i].what);
        json_decref(object);
    }
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        json_t *object = parse(right[i]);
        assert_int_equal(sh_edit_json_read_correction(object, 1, 5.0, &mark, NULL), SH_OK);
        json_decref(object);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tags),
        cmocka_unit_test(test_lengths_of_a_tag),
        cmocka_unit_test(test_what_is_no_tag),
        cmocka_unit_test(test_corrections),
        cmocka_unit_test(test_what_is_no_correction),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
