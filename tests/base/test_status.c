/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/status.h"

#include <errno.h>
#include <string.h>

#include "support/cmocka_all.h"

static void test_names_and_texts(void **state)
{
    assert_string_equal(sh_status_name(SH_OK), "SH_OK");
    assert_string_equal(sh_status_name(SH_ERR_SHORT), "SH_ERR_SHORT");
    assert_string_equal(sh_status_text(SH_ERR_MEMORY), "out of memory");
    assert_string_equal(sh_status_name((enum sh_status) - 999), "SH_ERR_UNKNOWN");
    assert_string_equal(sh_status_text((enum sh_status) - 999), "unknown error");
}

static void test_first_failure_wins(void **state)
{
    struct sh_error err = {0};
    assert_int_equal(
        sh_error_set(&err, SH_ERR_FORMAT, "a.wav", "give audio", "no %s", "header"),
        SH_ERR_FORMAT);
    assert_int_equal(sh_error_set(&err, SH_ERR_IO, "b", "c", "later"), SH_ERR_IO);
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(&err, line);
    assert_string_equal(line, "a.wav: no header; give audio");
    assert_int_equal(err.status, SH_ERR_FORMAT);
}

static void test_parts_may_be_missing(void **state)
{
    struct sh_error err = {0};
    sh_error_set(&err, SH_ERR_FULL, NULL, NULL, "queue full");
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(&err, line);
    assert_string_equal(line, "queue full");
    err = (struct sh_error){.status = SH_ERR_BUSY};
    sh_error_format(&err, line);
    assert_string_equal(line, "in use by something else");
    assert_int_equal(sh_error_set(NULL, SH_ERR_IO, NULL, NULL, "x"), SH_ERR_IO);
}

static void test_stays_one_line_and_in_bounds(void **state)
{
    char big[2000];
    memset(big, 'w', sizeof big - 1);
    big[sizeof big - 1] = '\0';
    struct sh_error err = {0};
    sh_error_set(&err, SH_ERR_IO, "evil\nname\x1b[2J", big, "%s", big);
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(&err, line);
    assert_true(strlen(line) < sizeof line);
    assert_null(strchr(line, '\n'));
    assert_null(strchr(line, '\x1b'));
    assert_non_null(strstr(line, "evil?name?[2J"));
}

static void test_os_numbers(void **state)
{
    static const struct {
        int os_number;
        enum sh_status status;
    } cases[] = {{ENOENT, SH_ERR_NOT_FOUND}, {EACCES, SH_ERR_PERMISSION},
                 {EPERM, SH_ERR_PERMISSION}, {ENOMEM, SH_ERR_MEMORY},
                 {EBUSY, SH_ERR_BUSY},       {EEXIST, SH_ERR_EXISTS},
                 {EIO, SH_ERR_IO},           {ENOSPC, SH_ERR_IO}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_error err = {0};
        assert_int_equal(sh_error_set_os(&err, cases[i].os_number, "f", NULL, "cannot open"),
                         cases[i].status);
        assert_int_equal(err.os_number, cases[i].os_number);
        if (cases[i].status == SH_ERR_MEMORY) {
            assert_string_equal(err.what, "out of memory"); /* and nothing else */
        } else {
            assert_non_null(strstr(err.what, strerror(cases[i].os_number)));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_and_texts),
        cmocka_unit_test(test_first_failure_wins),
        cmocka_unit_test(test_parts_may_be_missing),
        cmocka_unit_test(test_stays_one_line_and_in_bounds),
        cmocka_unit_test(test_os_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
