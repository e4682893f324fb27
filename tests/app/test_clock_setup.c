/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_setup.h"

#include <string.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void test_find(void **state)
{
    struct sh_round_format format;
    struct sh_error err = {0};
    assert_int_equal(sh_clock_setup_find("mixed", NULL, "here", &format, NULL), SH_OK);
    assert_int_equal(format.n_arrows, 4);
    assert_int_equal(sh_clock_setup_find("Mixed", NULL, "here", &format, &err),
                     SH_ERR_ARGUMENT);
    assert_string_equal(err.where, "here");
    assert_non_null(strstr(err.todo, "shoot-off"));
}

static void test_find_in_a_file(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_round_format format;
    const char good[] = "[kiln]\nshooting_s = 75\n[team]\nshooting_s = 110\n";
    const char bad[] = "[kiln]\nshooting_s = 1\n";
    scratch_open(&scratch);
    scratch_path(&scratch, "rounds.ini", path);
    scratch_write(path, good, strlen(good));
    assert_int_equal(sh_clock_setup_find("kiln", path, "here", &format, NULL), SH_OK);
    assert_near(format.shooting_s, 75.0, 0.0, 0.0);
    assert_int_equal(sh_clock_setup_find("team", path, "here", &format, NULL), SH_OK);
    assert_near(format.shooting_s, 110.0, 0.0, 0.0);
    scratch_write(path, bad, strlen(bad));
    assert_int_equal(sh_clock_setup_find("team", path, "here", &format, NULL), SH_ERR_FORMAT);
    scratch_close(&scratch);
    assert_int_equal(sh_clock_setup_find("team", path, "here", &format, NULL),
                     SH_ERR_NOT_FOUND);
}

static void test_set(void **state)
{
    static const char *const bad[] = {"shooting_s",  "=",
                                      "shooting_s=", "shooting_s=1",
                                      "x=1",         "a_key_that_is_far_too_long_to_be_any=1"};
    struct sh_round_format format;
    struct sh_error err = {0};
    assert_int_equal(sh_clock_setup_find("free", NULL, "here", &format, NULL), SH_OK);
    assert_int_equal(sh_clock_setup_set(&format, "shooting_s=100", "here", NULL), SH_OK);
    assert_int_equal(sh_clock_setup_set(&format, "kind=alternating", "here", NULL), SH_OK);
    assert_near(format.shooting_s, 100.0, 0.0, 0.0);
    assert_int_equal(format.kind, SH_ROUND_FORMAT_ALTERNATING);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        err = (struct sh_error){0};
        assert_int_equal(sh_clock_setup_set(&format, bad[i], "here", &err), SH_ERR_ARGUMENT);
        assert_string_equal(err.where, "here");
        assert_true(err.todo[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_find),
        cmocka_unit_test(test_find_in_a_file),
        cmocka_unit_test(test_set),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
