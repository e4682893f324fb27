/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/file_text.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

static void test_whole_file_is_read(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_text text;
    const size_t n_bytes = 200001; /* several parts, and not a whole number of them */
    char *bytes = malloc(n_bytes);
    assert_non_null(bytes);
    memset(bytes, 'x', n_bytes);
    scratch_open(&scratch);
    scratch_path(&scratch, "long", path);
    scratch_write(path, bytes, n_bytes);
    sh_text_init(&text, 0);
    assert_int_equal(sh_file_text_read(path, NULL, &text, NULL), SH_OK);
    assert_int_equal(text.n_bytes, n_bytes);
    assert_memory_equal(text.data, bytes, n_bytes);
    sh_text_close(&text);
    free(bytes);
    scratch_close(&scratch);
}

static void test_limit_is_kept(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    struct sh_text text;
    scratch_open(&scratch);
    scratch_path(&scratch, "ten", path);
    scratch_write(path, "0123456789", 10);
    sh_text_init(&text, 10); /* and the closing NUL */
    assert_int_equal(sh_file_text_read(path, NULL, &text, &err), SH_ERR_FULL);
    assert_string_equal(err.what, "the file is larger than 10 bytes");
    sh_text_close(&text);
    sh_text_init(&text, 11);
    assert_int_equal(sh_file_text_read(path, NULL, &text, NULL), SH_OK);
    assert_string_equal(text.data, "0123456789");
    sh_text_close(&text);
    scratch_close(&scratch);
}

static void test_other_things_are_refused(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    struct sh_text text;
    scratch_open(&scratch);
    sh_text_init(&text, 0);
    assert_int_equal(sh_file_text_read(scratch.folder, "give a file", &text, &err),
                     SH_ERR_FORMAT);
    assert_string_equal(err.where, scratch.folder);
    assert_string_equal(err.todo, "give a file");
    scratch_path(&scratch, "pipe", path);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_int_equal(sh_file_text_read(path, NULL, &text, NULL), SH_ERR_FORMAT);
    scratch_path(&scratch, "absent", path);
    assert_int_equal(sh_file_text_read(path, NULL, &text, NULL), SH_ERR_NOT_FOUND);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_whole_file_is_read),
        cmocka_unit_test(test_limit_is_kept),
        cmocka_unit_test(test_other_things_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
