/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/take_folder.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

static const struct tm morning = {
    .tm_year = 126, .tm_mon = 4, .tm_mday = 14, .tm_hour = 9, .tm_min = 30};

static void check(const struct sh_take_folder_config *config, const char *expected)
{
    char path[SH_HOME_PATH_BYTES];
    struct sh_error err = {0};
    assert_int_equal(sh_take_folder_choose(config, path, &err), SH_OK);
    assert_string_equal(path, expected);
    assert_false(scratch_exists(path));
}

static void test_names_in_the_home(void **state)
{
    struct scratch scratch;
    char home[SCRATCH_PATH_BYTES];
    char expected[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "home", home);
    const struct sh_take_folder_config config = {
        .home = home, .athlete = "wren", .local = morning, .n_before = 3};
    scratch_path(&scratch, "home/recordings/2026-05-14_0930_wren", expected);
    check(&config, expected);
    assert_int_equal(mkdir(expected, 0700), 0); /* recordings/ has been made */
    scratch_path(&scratch, "home/recordings/2026-05-14_0930_wren-2", expected);
    check(&config, expected); /* the same archer within the minute */
    assert_int_equal(mkdir(expected, 0700), 0);
    scratch_path(&scratch, "home/recordings/2026-05-14_0930_wren-3", expected);
    check(&config, expected);
    scratch_close(&scratch);
}

/* 80 letters of two bytes: 480 bytes of percent signs, more than a name may have. */
static void test_a_long_name_is_left_out(void **state)
{
    struct scratch scratch;
    char expected[SCRATCH_PATH_BYTES];
    char athlete[161] = "";
    scratch_open(&scratch);
    for (size_t i = 0; i < 80; i++) {
        (void)strcat(athlete, "\xC3\xA4");
    }
    const struct sh_take_folder_config config = {
        .home = scratch.folder, .athlete = athlete, .local = morning};
    scratch_path(&scratch, "recordings/2026-05-14_0930", expected);
    check(&config, expected);
    scratch_close(&scratch);
}

static void test_names_as_given(void **state)
{
    struct scratch scratch;
    char out[SCRATCH_PATH_BYTES];
    char expected[SCRATCH_PATH_BYTES];
    char path[SH_HOME_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "tuesday", out);
    struct sh_take_folder_config config = {.out = out, .athlete = "wren", .local = morning};
    check(&config, out);
    config.n_before = 1;
    scratch_path(&scratch, "tuesday-2", expected);
    check(&config, expected);
    assert_int_equal(mkdir(expected, 0700), 0);
    scratch_path(&scratch, "tuesday-3", expected);
    check(&config, expected);
    assert_int_equal(mkdir(out, 0700), 0);
    config.n_before = 0;
    struct sh_error err = {0};
    assert_int_equal(sh_take_folder_choose(&config, path, &err), SH_ERR_EXISTS);
    assert_string_equal(err.where, out);
    assert_string_equal(err.todo, "give --out a new folder");
    scratch_close(&scratch);
}

static void test_what_is_refused(void **state)
{
    struct scratch scratch;
    char file[SCRATCH_PATH_BYTES];
    char path[SH_HOME_PATH_BYTES];
    static char longest[SH_HOME_PATH_BYTES + 1];
    scratch_open(&scratch);
    scratch_path(&scratch, "file", file);
    scratch_write(file, "", 0);
    memset(longest, 'w', SH_HOME_PATH_BYTES);
    struct sh_take_folder_config config = {.home = file, .athlete = "wren", .local = morning};
    struct sh_error no_folder = {0};
    assert_int_not_equal(sh_take_folder_choose(&config, path, &no_folder), SH_OK);
    assert_true(strlen(no_folder.todo) > 0);
    config.home = longest;
    struct sh_error long_home = {0};
    assert_int_equal(sh_take_folder_choose(&config, path, &long_home), SH_ERR_FULL);
    config.out = longest;
    struct sh_error long_out = {0};
    assert_int_equal(sh_take_folder_choose(&config, path, &long_out), SH_ERR_FULL);
    assert_string_equal(long_out.todo, "take a shorter path");
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_in_the_home),
        cmocka_unit_test(test_a_long_name_is_left_out),
        cmocka_unit_test(test_names_as_given),
        cmocka_unit_test(test_what_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
