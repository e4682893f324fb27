/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/thresholds.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static char path[64];

static int make_file(void **state)
{
    (void)snprintf(path, sizeof path, "/tmp/sh_thresholds_XXXXXX");
    int file = mkstemp(path);
    return file < 0 ? -1 : close(file);
}

static int remove_file(void **state)
{
    return unlink(path);
}

static enum sh_status
read_text(const char *text, struct sh_thresholds *thresholds, struct sh_error *err)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
    *err = (struct sh_error){0};
    return sh_thresholds_read(path, thresholds, err);
}

/* Values of docs/findings.md. */
static void test_defaults(void **state)
{
    struct sh_thresholds thresholds = sh_thresholds_default();
    assert_near(thresholds.creep_least_n, 0.5, 0, 0);
    assert_near(thresholds.creep_tremor_ratio, 0.8, 0, 0);
    assert_near(thresholds.creep_tremor_offset_n, 0.2, 0, 0);
    assert_near(thresholds.flinch_least_n, 0.8, 0, 0);
    assert_near(thresholds.flinch_tremor_ratio, 3.0, 0, 0);
    assert_near(thresholds.collapse_least_n, 0.8, 0, 0);
    assert_near(thresholds.collapse_tremor_ratio, 1.2, 0, 0);
    assert_near(thresholds.anticipated_under_s, 0.085, 0, 0);
    assert_near(thresholds.late_over_s, 0.4, 0, 0);
    assert_near(thresholds.long_hold_over_s, 6.0, 0, 0);
    assert_near(thresholds.short_hold_under_s, 1.0, 0, 0);
    assert_near(thresholds.tremor_rise_ratio, 1.5, 0, 0);
    assert_near(thresholds.rushed_quantile, 0.05, 0, 0);
    assert_near(thresholds.clock_risk_under_s, 5.0, 0, 0);
    assert_near(thresholds.finger_slide_change, -0.06, 0, 0);
    for (int i = 0; i < SH_CODE_COUNT; i++) {
        assert_false(thresholds.is_user[i]);
    }
}

static void test_a_file_changes_what_it_names(void **state)
{
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_error err;
    assert_int_equal(read_text("; stricter\n[creep]\nleast_n = 0\n\n[long-hold]\nover_s=120\n",
                               &thresholds, &err),
                     SH_OK);
    assert_near(thresholds.creep_least_n, 0.0, 0, 0);
    assert_near(thresholds.creep_tremor_ratio, 0.8, 0, 0);
    assert_near(thresholds.long_hold_over_s, 120.0, 0, 0);
    assert_true(thresholds.is_user[SH_CODE_CREEP]);
    assert_true(thresholds.is_user[SH_CODE_LONG_HOLD]);
    assert_false(thresholds.is_user[SH_CODE_FLINCH]);
    assert_int_equal(read_text("", &thresholds, &err), SH_OK);
}

static void test_refusals_name_the_line(void **state)
{
    static const struct {
        const char *text;
        enum sh_status status;
        const char *what;
        int line;
    } cases[] = {
        {"[creep]\nleast_n = 0.4\n[wobble]\nleast_n = 1\n", SH_ERR_FORMAT,
         "'wobble' is no finding", 4},
        {"[creep]\nmost_n = 0.4\n", SH_ERR_FORMAT, "'most_n' is no threshold of this finding",
         2},
        {"[creep]\nleast_n = half\n", SH_ERR_FORMAT, "'half' is no number", 2},
        {"[creep]\nleast_n = 0.4 N\n", SH_ERR_FORMAT, "'0.4 N' is no number", 2},
        {"[creep]\nleast_n = nan\n", SH_ERR_FORMAT, "'nan' is no number", 2},
        {"[creep]\nleast_n = 100.1\n", SH_ERR_ARGUMENT, "'100.1' is out of range", 2},
        {"[creep]\nleast_n = -0.1\n", SH_ERR_ARGUMENT, "'-0.1' is out of range", 2},
        {"[creep]\nleast_n = 1\nleast_n = 2\n", SH_ERR_FORMAT, "'least_n' is given twice", 3},
        {"least_n = 1\n", SH_ERR_FORMAT, "'' is no finding", 1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_thresholds thresholds = sh_thresholds_default();
        struct sh_error err;
        char where[128];
        (void)snprintf(where, sizeof where, "%s:%d", path, cases[i].line);
        assert_int_equal(read_text(cases[i].text, &thresholds, &err), cases[i].status);
        assert_string_equal(err.what, cases[i].what);
        assert_string_equal(err.where, where);
        assert_near(thresholds.creep_least_n, 0.5, 0, 0);
        assert_false(thresholds.is_user[SH_CODE_CREEP]);
    }
}

static void test_a_line_that_is_nothing(void **state)
{
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_error err;
    assert_int_equal(read_text("[creep]\njust words\n", &thresholds, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what, "line 2 is neither a section nor a setting");
}

static void test_no_file(void **state)
{
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_error err = {0};
    assert_int_equal(sh_thresholds_read("/nowhere/t.ini", &thresholds, &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "/nowhere/t.ini");
    err = (struct sh_error){0};
    assert_int_equal(sh_thresholds_read("/tmp", &thresholds, &err), SH_ERR_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defaults),
        cmocka_unit_test_setup_teardown(test_a_file_changes_what_it_names, make_file,
                                        remove_file),
        cmocka_unit_test_setup_teardown(test_refusals_name_the_line, make_file, remove_file),
        cmocka_unit_test_setup_teardown(test_a_line_that_is_nothing, make_file, remove_file),
        cmocka_unit_test(test_no_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
