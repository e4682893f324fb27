/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/atomic_file.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

static void check_text(const char *path, const char *expected)
{
    char *text = scratch_read(path, NULL);
    assert_string_equal(text, expected);
    free(text);
}

static void test_file_is_made_and_replaced(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    char fresh[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a.json", path);
    scratch_path(&scratch, "a.json.new", fresh);
    assert_int_equal(sh_atomic_file_write(path, "one", 3, NULL), SH_OK);
    check_text(path, "one");
    assert_int_equal(sh_atomic_file_write(path, "four", 4, NULL), SH_OK);
    check_text(path, "four");
    assert_int_equal(sh_atomic_file_write(path, "", 0, NULL), SH_OK);
    check_text(path, "");
    assert_false(scratch_exists(fresh));
    scratch_close(&scratch);
}

static void test_missing_folder_is_told(void **state)
{
    struct sh_error err = {0};
    assert_int_equal(sh_atomic_file_write("/nowhere/at/all/a.json", "one", 3, &err),
                     SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "/nowhere/at/all/a.json.new");
    err = (struct sh_error){0};
    assert_int_equal(sh_atomic_file_sync_folder("/nowhere/at/all/a.json", &err),
                     SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "/nowhere/at/all");
}

static void test_folder_in_the_place_stays(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    char fresh[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, "a.json", path);
    scratch_path(&scratch, "a.json.new", fresh);
    assert_int_equal(mkdir(path, 0777), 0);
    assert_int_equal(sh_atomic_file_write(path, "one", 3, &err), SH_ERR_IO);
    assert_int_equal(err.status, SH_ERR_IO);
    assert_true(scratch_exists(path));
    assert_false(scratch_exists(fresh));
    scratch_close(&scratch);
}

static void test_paths_too_long_are_refused(void **state)
{
    char path[5000];
    memset(path, 'a', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    assert_int_equal(sh_atomic_file_write(path, "one", 3, NULL), SH_ERR_ARGUMENT);
    path[4900] = '/';
    assert_int_equal(sh_atomic_file_sync_folder(path, NULL), SH_ERR_ARGUMENT);
}

/* In a child of its own: a limit of 1000 bytes a file stands for a full disk. */
static int write_over_limit(const char *path, struct sh_error *err)
{
    char bytes[4000];
    memset(bytes, 'x', sizeof bytes);
    const struct rlimit limit = {1000, 1000};
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0 || signal(SIGXFSZ, SIG_IGN) == SIG_ERR) {
        return 100;
    }
    return -(int)sh_atomic_file_write(path, bytes, sizeof bytes, err);
}

static void test_full_disk_keeps_the_old_text(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    char fresh[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    int result = 0;
    scratch_open(&scratch);
    scratch_path(&scratch, "a.json", path);
    scratch_path(&scratch, "a.json.new", fresh);
    scratch_write(path, "old", 3);
    pid_t child = fork();
    if (child == 0) {
        _exit(write_over_limit(path, &err));
    }
    assert_int_equal(waitpid(child, &result, 0), child);
    assert_true(WIFEXITED(result));
    assert_int_equal(WEXITSTATUS(result), -(int)SH_ERR_IO);
    check_text(path, "old");
    assert_false(scratch_exists(fresh));
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_file_is_made_and_replaced),
        cmocka_unit_test(test_missing_folder_is_told),
        cmocka_unit_test(test_folder_in_the_place_stays),
        cmocka_unit_test(test_paths_too_long_are_refused),
        cmocka_unit_test(test_full_disk_keeps_the_old_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
