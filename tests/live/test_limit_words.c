/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/limit_words.h"

#include "support/cmocka_all.h"

static const struct sh_mark_number none = {.is_given = false};

static void check(const struct sh_limit_words *limit, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_limit_words_put(limit, &text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static void test_bounds_units_and_who(void **state)
{
    const struct sh_mark_number most = {true, 45.0};
    const struct sh_mark_number least = {true, 30.0};
    const struct sh_mark_number share = {true, 0.25};
    check(&(struct sh_limit_words){"finger_peak_n", "ring", "shot", "hand \"clinic\"", &most,
                                   &none},
          "\"ring finger peak force, at most 45 N a shot, set by hand \\\"clinic\\\"\"");
    check(&(struct sh_limit_words){"rest_s", "", "shot", "", &none, &least},
          "\"rest between draws, at least 30 s a shot\"");
    check(&(struct sh_limit_words){"finger_share", "ring", "session", "coach", &share, &share},
          "\"ring finger share, at most 25 %, at least 25 % a session, set by coach\"");
}

static void test_what_is_not_known_keeps_its_name(void **state)
{
    const struct sh_mark_number most = {true, 3.0};
    check(&(struct sh_limit_words){"naps", "", "day", "", &most, &none},
          "\"naps, at most 3 a day\"");
}

static void test_a_full_text_says_so(void **state)
{
    const struct sh_limit_words limit = {"rest_s", "", "shot", "", &none, &none};
    struct sh_text text;
    sh_text_init(&text, 8);
    sh_limit_words_put(&limit, &text);
    assert_int_not_equal(text.status, SH_OK);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bounds_units_and_who),
        cmocka_unit_test(test_what_is_not_known_keeps_its_name),
        cmocka_unit_test(test_a_full_text_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
