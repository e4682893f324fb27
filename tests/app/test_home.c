/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/home.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/cmocka_all.h"

static void test_order_of_places(void **state)
{
    char path[SH_HOME_PATH_BYTES];
    assert_int_equal(setenv("HOME", "/home/heron", 1), 0);
    assert_int_equal(setenv("XDG_DATA_HOME", "/data", 1), 0);
    assert_int_equal(sh_home_find("here", path, NULL), SH_OK);
    assert_string_equal(path, "here");
    assert_int_equal(sh_home_find(NULL, path, NULL), SH_OK);
    assert_string_equal(path, "/data/stringhand");
    assert_int_equal(setenv("XDG_DATA_HOME", "not/absolute", 1), 0);
    assert_int_equal(sh_home_find(NULL, path, NULL), SH_OK);
    assert_string_equal(path, "/home/heron/.local/share/stringhand");
    assert_int_equal(unsetenv("HOME"), 0);
    struct sh_error err = {0};
    assert_int_equal(sh_home_find(NULL, path, &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.todo, "give --home FOLDER");
}

static void test_path_too_long(void **state)
{
    static char longest[SH_HOME_PATH_BYTES + 1];
    char path[SH_HOME_PATH_BYTES];
    memset(longest, 'a', SH_HOME_PATH_BYTES);
    assert_int_equal(sh_home_find(longest, path, NULL), SH_ERR_FULL);
    longest[SH_HOME_PATH_BYTES - 1] = '\0';
    assert_int_equal(sh_home_find(longest, path, NULL), SH_OK);
}

static void test_folders_are_private_and_may_be_there(void **state)
{
    char top[] = "/tmp/sh_home_XXXXXX";
    assert_non_null(mkdtemp(top));
    char path[256];
    (void)snprintf(path, sizeof path, "%s/a/b", top);
    assert_int_equal(sh_home_make_folder(path, NULL), SH_OK);
    assert_int_equal(sh_home_make_folder(path, NULL), SH_OK);
    struct stat found;
    assert_int_equal(stat(path, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0700);
    (void)snprintf(path, sizeof path, "%s/file", top);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_int_equal(fclose(file), 0);
    struct sh_error err = {0};
    assert_int_equal(sh_home_make_folder(path, &err), SH_ERR_EXISTS);
    (void)snprintf(path, sizeof path, "%s/file/c", top);
    assert_int_not_equal(sh_home_make_folder(path, NULL), SH_OK);
    assert_int_equal(unlink(err.where), 0);
    (void)snprintf(path, sizeof path, "%s/a/b", top);
    assert_int_equal(rmdir(path), 0);
    path[strlen(path) - 2] = '\0';
    assert_int_equal(rmdir(path), 0);
    assert_int_equal(rmdir(top), 0);
}

static void test_names(void **state)
{
    static const struct {
        const char *athlete;
        const char *name;
    } cases[] = {{"wren", "2026-05-14_0930_wren"},
                 {"", "2026-05-14_0930"},
                 {"../rook x", "2026-05-14_0930_%2E.%2Frook%20x"},
                 {"tär", "2026-05-14_0930_t%C3%A4r"}};
    struct tm local = {.tm_year = 126, .tm_mon = 4, .tm_mday = 14, .tm_hour = 9, .tm_min = 30};
    char name[64];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_int_equal(sh_home_format_recording(&local, cases[i].athlete, name, sizeof name),
                         SH_OK);
        assert_string_equal(name, cases[i].name);
    }
    assert_int_equal(sh_home_format_recording(&local, "wren", name, 15), SH_ERR_FULL);
    assert_int_equal(sh_home_format_recording(&local, "wren", name, 18), SH_ERR_FULL);
}

static void check_name(const char *folder, const char *expected)
{
    char name[16];
    sh_home_copy_name(folder, name, sizeof name);
    assert_string_equal(name, expected);
}

static void test_name_of_a_folder(void **state)
{
    check_name("/range/tuesday", "tuesday");
    check_name("tuesday///", "tuesday");
    check_name("tuesday", "tuesday");
    check_name("/", "");
    check_name("a-name-that-is-too-long", "a-name-that-is-");
    check_name("/usr/.", "usr");
    check_name("/usr/bin/..", "usr");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order_of_places),
        cmocka_unit_test(test_path_too_long),
        cmocka_unit_test(test_folders_are_private_and_may_be_there),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_name_of_a_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
