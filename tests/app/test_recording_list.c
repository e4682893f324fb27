/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/recording_list.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

static void make_folder(const struct scratch *scratch, const char *name)
{
    char path[SCRATCH_PATH_BYTES];
    scratch_path(scratch, name, path);
    assert_int_equal(mkdir(path, 0700), 0);
}

static void make_recording(const struct scratch *scratch, const char *name)
{
    char file[SCRATCH_PATH_BYTES];
    char path[SCRATCH_PATH_BYTES];
    make_folder(scratch, name);
    (void)snprintf(file, sizeof file, "%.400s/recording.json", name);
    scratch_path(scratch, file, path);
    scratch_write(path, "{}", 2);
}

static int open_place(void **state)
{
    char link_path[SCRATCH_PATH_BYTES];
    (void)scratch_set_up(state);
    const struct scratch *scratch = *state;
    make_recording(scratch, "tuesday");
    make_recording(scratch, "monday");
    make_recording(scratch, "monday/inner"); /* inside a recording: not looked for */
    make_recording(scratch, ".hidden");
    make_folder(scratch, "club");
    make_recording(scratch, "club/friday");
    make_folder(scratch, "a");
    make_folder(scratch, "a/b");
    make_folder(scratch, "a/b/c");
    make_recording(scratch, "a/b/c/deep");
    make_folder(scratch, "a/b/c/d");
    make_recording(scratch, "a/b/c/d/deeper");
    scratch_path(scratch, "turn", link_path);
    assert_int_equal(symlink(".", link_path), 0); /* round and round, were it followed */
    return 0;
}

static void check_ends(const char *path, const char *end)
{
    assert_true(strlen(path) > strlen(end));
    assert_string_equal(path + strlen(path) - strlen(end), end);
}

static void test_recordings_below_in_order(void **state)
{
    const struct scratch *scratch = *state;
    static const char *const expected[] = {"/a/b/c/deep", "/club/friday", "/monday",
                                           "/tuesday"};
    struct sh_recording_list list = {0};
    struct sh_error err = {0};
    char path[SCRATCH_PATH_BYTES];
    assert_int_equal(sh_recording_list_add(&list, scratch->folder, &err), SH_OK);
    scratch_path(scratch, "tuesday", path);
    assert_int_equal(sh_recording_list_add(&list, path, &err), SH_OK); /* twice */
    scratch_path(scratch, "turn/club/..", path);
    assert_int_equal(sh_recording_list_add(&list, path, &err), SH_OK); /* by another way */
    sh_recording_list_settle(&list);
    assert_int_equal(list.n, sizeof expected / sizeof expected[0]);
    for (size_t i = 0; i < list.n; i++) {
        check_ends(list.folder[i], expected[i]);
    }
    sh_recording_list_close(&list);
    assert_null(list.folder);
}

static void test_no_folder(void **state)
{
    const struct scratch *scratch = *state;
    struct sh_recording_list list = {0};
    struct sh_error err = {0};
    char path[SCRATCH_PATH_BYTES];
    scratch_path(scratch, "nowhere", path);
    assert_int_equal(sh_recording_list_add(&list, path, &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, path);
    sh_recording_list_settle(&list);
    assert_int_equal(list.n, 0);
    sh_recording_list_close(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recordings_below_in_order),
        cmocka_unit_test(test_no_folder),
    };
    return cmocka_run_group_tests(tests, open_place, scratch_tear_down);
}
