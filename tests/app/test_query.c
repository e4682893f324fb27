/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/query.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_words(void **state)
{
    char word[SH_QUERY_WORD_BYTES];
    assert_true(sh_query_find_word("a=1&align=clicker", "align", word));
    assert_string_equal(word, "clicker");
    assert_true(sh_query_find_word("align=&b=2", "align", word));
    assert_string_equal(word, "");
    assert_true(sh_query_find_word("a=1&a=2", "a", word));
    assert_string_equal(word, "1");
    assert_true(sh_query_find_word("a=1234567890123456789012345678901", "a", word)); /* 31 */
    assert_false(sh_query_find_word("a=12345678901234567890123456789012", "a", word));
    assert_string_equal(word, "");
    word[0] = 'w';
    assert_false(sh_query_find_word("", "a", word));
    assert_false(sh_query_find_word("ab=1&xa=2&a", "a", word));
    assert_false(sh_query_find_word("&&&", "a", word));
    assert_int_equal(word[0], 'w');
}

static void test_numbers(void **state)
{
    assert_near(sh_query_get_number("from=-1.5&to=2e3", "from", 7.0), -1.5, 0.0, 0.0);
    assert_near(sh_query_get_number("from=-1.5&to=2e3", "to", 7.0), 2000.0, 0.0, 0.0);
    assert_near(sh_query_get_number("from=1", "to", 7.0), 7.0, 0.0, 0.0);
    assert_true(isnan(sh_query_get_number("to=", "to", 7.0)));
    assert_true(isnan(sh_query_get_number("to=1x", "to", 7.0)));
    assert_true(isnan(sh_query_get_number("to=nan", "to", 7.0)));
    assert_true(
        isnan(sh_query_get_number("to=00000000000000000000000000000000001", "to", 7.0)));
    assert_true(isinf(sh_query_get_number("to=inf", "to", 7.0)));
}

static void test_counts(void **state)
{
    assert_int_equal(sh_query_get_count("n=1", "n", 5.0), 1);
    assert_int_equal(sh_query_get_count("n=999999.9", "n", 5.0), 999999);
    assert_int_equal(sh_query_get_count("", "n", 5.0), 5);
    assert_int_equal(sh_query_get_count("n=0.99", "n", 5.0), 0);
    assert_int_equal(sh_query_get_count("n=1000000", "n", 5.0), 0);
    assert_int_equal(sh_query_get_count("n=inf", "n", 5.0), 0);
    assert_int_equal(sh_query_get_count("n=-3", "n", 5.0), 0);
    assert_int_equal(sh_query_get_count("n=many", "n", 5.0), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
