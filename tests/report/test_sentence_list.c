/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sentence_list.h"

#include "support/cmocka_all.h"

static void test_sentences_are_appended(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_object();
    struct sh_sentence_list list = {&put, sh_json_put_list(&put, root, "sentences")};
    assert_int_equal(sh_sentence_list_take(&list, "The hold was short."), SH_OK);
    assert_int_equal(sh_sentence_list_take(&list, "It was steady."), SH_OK);
    assert_int_equal(json_array_size(list.list), 2);
    assert_string_equal(json_string_value(json_array_get(list.list, 1)), "It was steady.");
    json_decref(root);
}

static void test_a_list_that_is_not_there(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    struct sh_sentence_list list = {&put, NULL};
    assert_int_equal(sh_sentence_list_take(&list, "Nobody hears it."), SH_ERR_MEMORY);
    assert_int_equal(put.status, SH_ERR_MEMORY);
    assert_string_equal(put.key, "sentences");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sentences_are_appended),
        cmocka_unit_test(test_a_list_that_is_not_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
