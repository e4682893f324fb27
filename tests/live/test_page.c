/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "live/page.h"
#include "support/cmocka_all.h"

static void test_first_file_is_a_page(void **state)
{
    const struct sh_page_file *file = sh_page_find("/");
    assert_non_null(file);
    assert_string_equal(file->path, "/");
    assert_string_equal(file->type, "text/html; charset=utf-8");
    assert_true(file->n_bytes > 15);
    assert_memory_equal(file->bytes, "<!doctype html>", 15);
}

static void test_other_paths_find_nothing(void **state)
{
    assert_null(sh_page_find(""));
    assert_null(sh_page_find("/."));
    assert_null(sh_page_find("//"));
    assert_null(sh_page_find("/../page.h"));
    assert_null(sh_page_find("page.js"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_first_file_is_a_page),
                                       cmocka_unit_test(test_other_paths_find_nothing)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
