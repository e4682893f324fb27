/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/hidden_people.h"

#include <string.h>

#include "app/diary_home.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"

static void test_who_is_hidden(void **state)
{
    struct scratch home;
    struct sh_error err = {0};
    bool is_hidden = true;
    const struct sh_person wren = {.name = "wren", .hidden_on = "2026-05-14"};
    const struct sh_person rook = {.name = "rook"};
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&home);
    diary_home_make(&home);
    diary_home_write_person(&home, &wren);
    diary_home_write_person(&home, &rook);
    struct sh_hidden_people people = sh_hidden_people_open(home.folder);
    assert_int_equal(sh_hidden_people_find(&people, "", &is_hidden, &err), SH_OK);
    assert_false(is_hidden);
    assert_int_equal(sh_hidden_people_find(&people, "teal", &is_hidden, &err), SH_OK);
    assert_false(is_hidden);
    assert_int_equal(sh_hidden_people_find(&people, "rook", &is_hidden, &err), SH_OK);
    assert_false(is_hidden);
    for (int i = 0; i < 2; i++) { /* from the file, and as it was known */
        assert_int_equal(sh_hidden_people_find(&people, "wren", &is_hidden, &err), SH_OK);
        assert_true(is_hidden);
        is_hidden = false;
    }
    assert_int_equal(sh_hidden_people_check(home.folder, "rook", &err), SH_OK);
    assert_int_equal(sh_hidden_people_check(home.folder, "wren", &err), SH_ERR_NOT_FOUND);
    assert_non_null(strstr(err.todo, "--unhide wren"));
    scratch_path(&home, "people/plover.json", path);
    scratch_write(path, "{", 1);
    err = (struct sh_error){0};
    assert_int_equal(sh_hidden_people_find(&people, "plover", &is_hidden, &err), SH_ERR_FORMAT);
    assert_true(is_hidden); /* what does not say is not shown */
    err = (struct sh_error){0};
    assert_int_equal(sh_hidden_people_check(home.folder, "plover", &err), SH_ERR_FORMAT);
    sh_hidden_people_close(&people);
    scratch_close(&home);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_who_is_hidden),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
