/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "live/origin.h"
#include "support/cmocka_all.h"

static void test_this_machine_alone(void **state)
{
    struct sh_origin_names names;
    sh_origin_find_names(false, &names);
    assert_true(sh_origin_is_host(&names, 8123, "localhost:8123"));
    assert_true(sh_origin_is_host(&names, 8123, "LocalHost:8123"));
    assert_true(sh_origin_is_host(&names, 8123, "127.0.0.1:8123"));
    assert_false(sh_origin_is_host(&names, 8123, NULL));
    assert_false(sh_origin_is_host(&names, 8123, ""));
    assert_false(sh_origin_is_host(&names, 8123, "localhost"));
    assert_false(sh_origin_is_host(&names, 8123, "localhost:8124"));
    assert_false(sh_origin_is_host(&names, 8123, "localhost:8123.quarry.example"));
    assert_false(sh_origin_is_host(&names, 8123, "quarry.example:8123"));
    assert_false(sh_origin_is_host(&names, 8123, "127.0.0.1.quarry.example:8123"));
    assert_false(sh_origin_is_host(&names, 8123, "127.0.0.2:8123"));
    assert_false(sh_origin_is_host(&names, 8123, "localhost:08123"));
    assert_true(sh_origin_is_host(&names, 80, "localhost"));
}

static void test_open_has_more_names(void **state)
{
    struct sh_origin_names closed;
    struct sh_origin_names open;
    sh_origin_find_names(false, &closed);
    sh_origin_find_names(true, &open);
    assert_int_equal(closed.n, 2);
    assert_true(open.n > 2); /* the host's own name at least */
    assert_false(sh_origin_is_host(&open, 8123, "quarry.example:8123"));
}

static void test_origin_is_the_page_itself(void **state)
{
    assert_true(sh_origin_is_same("http://localhost:8123", "localhost:8123"));
    assert_true(sh_origin_is_same("HTTP://LOCALHOST:8123", "localhost:8123"));
    assert_false(sh_origin_is_same(NULL, "localhost:8123"));
    assert_false(sh_origin_is_same("null", "localhost:8123"));
    assert_false(sh_origin_is_same("https://localhost:8123", "localhost:8123"));
    assert_false(sh_origin_is_same("http://localhost:8124", "localhost:8123"));
    assert_false(sh_origin_is_same("http://localhost:8123/", "localhost:8123"));
    assert_false(sh_origin_is_same("http://quarry.example", "localhost:8123"));
    assert_false(sh_origin_is_same("http://", NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_this_machine_alone),
                                       cmocka_unit_test(test_open_has_more_names),
                                       cmocka_unit_test(test_origin_is_the_page_itself)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
