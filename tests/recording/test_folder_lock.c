/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/folder_lock.h"

#include <sys/stat.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

static void test_one_at_a_time(void **state)
{
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    int first = SH_FOLDER_LOCK_NONE;
    int second = SH_FOLDER_LOCK_NONE;
    scratch_open(&scratch);
    scratch_path(&scratch, "evening", folder);
    assert_int_equal(mkdir(folder, 0777), 0);
    assert_int_equal(sh_folder_lock_take(folder, &first, &err), SH_OK);
    assert_true(first != SH_FOLDER_LOCK_NONE);
    assert_int_equal(sh_folder_lock_take(folder, &second, &err), SH_ERR_BUSY);
    assert_int_equal(second, SH_FOLDER_LOCK_NONE);
    assert_string_equal(err.what, "the recording is being written");
    sh_folder_lock_drop(&first);
    assert_int_equal(first, SH_FOLDER_LOCK_NONE);
    err = (struct sh_error){0};
    assert_int_equal(sh_folder_lock_take(folder, &second, &err), SH_OK);
    sh_folder_lock_drop(&second);
    sh_folder_lock_drop(&second);
    scratch_close(&scratch);
}

static void test_no_folder(void **state)
{
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    int lock = 0;
    scratch_open(&scratch);
    scratch_path(&scratch, "nowhere", folder);
    assert_int_equal(sh_folder_lock_take(folder, &lock, &err), SH_ERR_NOT_FOUND);
    assert_int_equal(lock, SH_FOLDER_LOCK_NONE);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_at_a_time),
        cmocka_unit_test(test_no_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
