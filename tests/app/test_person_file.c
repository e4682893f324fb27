/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/person_file.h"

#include <stdlib.h>
#include <string.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

static enum sh_status add_rest(void *context, struct sh_person *person, struct sh_error *err)
{
    const struct sh_person_rest rest = {.date = "2026-05-04"};
    size_t *n_before = context;
    (void)err;
    *n_before = person->n_rests;
    return sh_person_add_rest(person, &rest);
}

static enum sh_status refuse(void *context, struct sh_person *person, struct sh_error *err)
{
    (void)context;
    (void)person;
    return sh_error_set(err, SH_ERR_EXISTS, "here", NULL, "no");
}

static void test_made_read_and_changed(void **state)
{
    struct scratch scratch;
    char home[SCRATCH_PATH_BYTES];
    char file[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    size_t n_before = 99;
    const struct sh_person_file_change add = {add_rest, &n_before};
    const struct sh_person_file_change no = {refuse, NULL};
    scratch_open(&scratch);
    scratch_path(&scratch, "new/home", home);
    scratch_path(&scratch, "new/home/people/wren.json", file);
    assert_int_equal(sh_person_file_edit(home, "wren", &no, &err), SH_ERR_EXISTS);
    assert_false(scratch_exists(home)); /* nothing is made for nothing */
    err = (struct sh_error){0};
    assert_int_equal(sh_person_file_edit(home, "wren", &add, &err), SH_OK);
    assert_int_equal(n_before, 0);
    assert_int_equal(sh_person_file_edit(home, "wren", &add, &err), SH_OK);
    assert_int_equal(n_before, 1);
    char *before = scratch_read(file, NULL);
    assert_int_equal(sh_person_file_edit(home, "wren", &no, &err), SH_ERR_EXISTS);
    char *after = scratch_read(file, NULL);
    assert_string_equal(before, after);
    free(before);
    free(after);
    scratch_write(file, "{", 1);
    err = (struct sh_error){0};
    assert_int_equal(sh_person_file_edit(home, "wren", &add, &err), SH_ERR_FORMAT);
    after = scratch_read(file, NULL);
    assert_string_equal(after, "{"); /* what cannot be read is not written over */
    free(after);
    err = (struct sh_error){0};
    assert_int_equal(sh_person_file_edit(home, "", &add, &err), SH_ERR_ARGUMENT);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_made_read_and_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
