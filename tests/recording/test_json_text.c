/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

static void check(json_t *value, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_non_null(value);
    sh_json_text_write(&text, value);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
    json_decref(value);
}

static json_t *load(const char *text)
{
    return json_loads(text, JSON_DECODE_ANY, NULL);
}

static void test_short_values_stand_on_one_line(void **state)
{
    check(load("{\"b\":[1,2.5,{}],\"a\":{\"x\":null,\"y\":\"\\u00e9\\n\"}}"),
          "{\"b\": [1, 2.5, {}], \"a\": {\"x\": null, \"y\": \"\xc3\xa9\\n\"}}");
    check(load("[]"), "[]");
    check(load("true"), "true");
}

/* A list whose line has n bytes: "[9, 9, ... 10...]" would not be exact, so one text of n - 4.
 */
static json_t *make_line(size_t n_bytes)
{
    char word[128];
    memset(word, 'w', sizeof word);
    word[n_bytes - 4] = '\0';
    return json_pack("[s]", word);
}

static void test_lines_break_above_their_length(void **state)
{
    struct sh_text text;
    for (size_t n_bytes = 94; n_bytes <= 97; n_bytes++) {
        json_t *value = make_line(n_bytes);
        sh_text_init(&text, 0);
        sh_json_text_write(&text, value);
        /* 95 bytes, so that a comma still fits the 96 */
        assert_int_equal(strchr(text.data, '\n') != NULL, n_bytes > 95);
        sh_text_close(&text);
        json_decref(value);
    }
}

static void test_long_values_have_an_element_a_line(void **state)
{
    json_t *root = json_pack(
        "{s:[f,f], s:{s:s}, s:[[i,i],[i,i]]}", "numbers", 0.1, 4e-5, "object", "long",
        "wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww", "rows", 1, 2, 3, 4);
    check(root, "{\n"
                "  \"numbers\": [0.1, 4e-5],\n"
                "  \"object\": {\"long\": "
                "\"wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww\"},\n"
                "  \"rows\": [[1, 2], [3, 4]]\n"
                "}");
}

static void test_reals_come_back_the_same(void **state)
{
    static const double values[] = {
        0.0125, 0.1 + 0.2,           1.0 / 3.0, -1e-310, 1.7976931348623157e308,
        5e-324, 123456789.123456789, 1000.0};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        struct sh_text text;
        json_t *value = json_real(values[i]);
        sh_text_init(&text, 0);
        sh_json_text_write(&text, value);
        json_t *back = json_loadb(text.data, text.n_bytes, JSON_DECODE_ANY, NULL);
        assert_true(json_is_real(back));
        double got = json_real_value(back);
        assert_memory_equal(&got, &values[i], sizeof got);
        json_decref(back);
        json_decref(value);
        sh_text_close(&text);
    }
    check(json_real(0.0125), "0.0125");
    check(json_real(1000.0), "1000.0");
    check(json_real(0.1 + 0.2), "0.30000000000000004");
}

static void test_limit_of_the_text_is_kept(void **state)
{
    struct sh_text text;
    json_t *value = load("{\"a\": [1, 2, 3]}");
    for (size_t limit = 1; limit <= 16; limit++) {
        sh_text_init(&text, limit);
        sh_json_text_write(&text, value);
        assert_int_equal(text.status, SH_ERR_FULL);
        sh_text_close(&text);
    }
    sh_text_init(&text, 17);
    sh_json_text_write(&text, value);
    assert_int_equal(text.status, SH_OK);
    sh_text_close(&text);
    json_decref(value);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_short_values_stand_on_one_line),
        cmocka_unit_test(test_lines_break_above_their_length),
        cmocka_unit_test(test_long_values_have_an_element_a_line),
        cmocka_unit_test(test_reals_come_back_the_same),
        cmocka_unit_test(test_limit_of_the_text_is_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
