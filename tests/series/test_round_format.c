/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/round_format.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The figures of docs/clock.md. */
static void test_defaults(void **state)
{
    static const struct {
        const char *name;
        double shooting_s;
        unsigned n_arrows;
        unsigned n_archers;
    } rows[] = {{"alternating", 20.0, 3, 1}, {"three-90", 90.0, 3, 1},
                {"three-120", 120.0, 3, 1},  {"six-180", 180.0, 6, 1},
                {"six-240", 240.0, 6, 1},    {"team", 120.0, 6, 3},
                {"mixed", 80.0, 4, 2},       {"shoot-off", 60.0, 3, 3}};
    const struct sh_round_format_set set = sh_round_format_default();
    assert_int_equal(set.n_formats, 9);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct sh_round_format *format = sh_round_format_find(&set, rows[i].name);
        assert_non_null(format);
        assert_near(format->line_up_s, 10.0, 0.0, 0.0);
        assert_near(format->shooting_s, rows[i].shooting_s, 0.0, 0.0);
        assert_near(format->warning_s, i == 0 ? 0.0 : 30.0, 0.0, 0.0);
        assert_int_equal(format->n_arrows, rows[i].n_arrows);
        assert_int_equal(format->n_archers, rows[i].n_archers);
        assert_int_equal(sh_round_format_check(format, "here", NULL), SH_OK);
    }
    assert_null(sh_round_format_find(&set, "no such"));
    assert_string_equal(sh_round_format_kind_name(set.format[0].kind), "alternating");
    assert_string_equal(sh_round_format_kind_name(set.format[1].kind), "end");
}

static const struct {
    const char *key;
    const char *text;
    enum sh_status status;
} values[] = {
    {"line_up_s", "0", SH_OK},
    {"line_up_s", "5", SH_OK},
    {"line_up_s", "4.9", SH_ERR_ARGUMENT},
    {"line_up_s", "600", SH_OK},
    {"line_up_s", "600.1", SH_ERR_ARGUMENT},
    {"line_up_s", "-1", SH_ERR_ARGUMENT},
    {"line_up_s", "ten", SH_ERR_FORMAT},
    {"line_up_s", "10 s", SH_ERR_FORMAT},
    {"line_up_s", "nan", SH_ERR_FORMAT},
    {"shooting_s", "0", SH_ERR_ARGUMENT},
    {"shooting_s", "5", SH_OK},
    {"shooting_s", "3600", SH_OK},
    {"shooting_s", "inf", SH_ERR_FORMAT},
    {"warning_s", "0", SH_OK},
    {"warning_s", "0.5", SH_ERR_ARGUMENT},
    {"arrows", "0", SH_ERR_ARGUMENT},
    {"arrows", "1", SH_OK},
    {"arrows", "72", SH_OK},
    {"arrows", "73", SH_ERR_ARGUMENT},
    {"arrows", "2.5", SH_ERR_FORMAT},
    {"archers", "6", SH_OK},
    {"archers", "7", SH_ERR_ARGUMENT},
    {"arrows_a_turn", "0", SH_OK},
    {"turn_signals", "1", SH_OK},
    {"turn_signals", "2", SH_ERR_ARGUMENT},
    {"kind", "end", SH_OK},
    {"kind", "ends", SH_ERR_FORMAT},
    {"colour", "1", SH_ERR_NOT_FOUND},
};

static void test_values(void **state)
{
    const struct sh_round_format_set set = sh_round_format_default();
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        struct sh_round_format format = set.format[5];
        struct sh_error err = {0};
        enum sh_status status =
            sh_round_format_set_value(&format, values[i].key, values[i].text, "here", &err);
        if (status != values[i].status) {
            fail_msg("%s = %s gave %d", values[i].key, values[i].text, (int)status);
        }
        if (status != SH_OK) {
            assert_string_equal(err.where, "here");
            assert_true(err.todo[0] != '\0');
            assert_memory_equal(&format, &set.format[5], sizeof format);
        }
    }
}

static void test_values_together(void **state)
{
    const struct sh_round_format_set set = sh_round_format_default();
    struct sh_round_format format = *sh_round_format_find(&set, "team");
    format.warning_s = 119.0;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_OK);
    format.warning_s = 120.0;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_ERR_ARGUMENT);
    format.warning_s = 0.0;
    format.n_arrows_turn = 7;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_ERR_ARGUMENT);
    format.n_arrows_turn = 6;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_OK);
    format.kind = SH_ROUND_FORMAT_ALTERNATING;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_ERR_ARGUMENT);
    format.n_archers = 1;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_OK);
    format.warning_s = 10.0;
    assert_int_equal(sh_round_format_check(&format, "here", NULL), SH_ERR_ARGUMENT);
}

static enum sh_status
read_text(const char *text, struct sh_round_format_set *set, struct sh_error *err)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "rounds.ini", path);
    scratch_write(path, text, strlen(text));
    enum sh_status status = sh_round_format_read(path, set, err);
    scratch_close(&scratch);
    return status;
}

static void test_file(void **state)
{
    struct sh_round_format_set set = sh_round_format_default();
    assert_int_equal(read_text("; ours\n[three-90]\nwarning_s = 20\n\n[lunch round]\n"
                               "arrows = 4\nshooting_s = 100 ; a hundred\n",
                               &set, NULL),
                     SH_OK);
    assert_int_equal(set.n_formats, 10);
    assert_near(sh_round_format_find(&set, "three-90")->warning_s, 20.0, 0.0, 0.0);
    assert_near(sh_round_format_find(&set, "three-90")->shooting_s, 90.0, 0.0, 0.0);
    const struct sh_round_format *lunch = sh_round_format_find(&set, "lunch round");
    assert_non_null(lunch);
    assert_int_equal(lunch->n_arrows, 4);
    assert_near(lunch->shooting_s, 100.0, 0.0, 0.0);
    assert_near(lunch->line_up_s, 10.0, 0.0, 0.0);
}

static void test_bad_files(void **state)
{
    static const struct {
        const char *text;
        enum sh_status status;
        const char *where_end;
    } rows[] = {
        {"arrows = 3\n", SH_ERR_FORMAT, "rounds.ini:1"},
        {"[team]\n\narrow = 3\n", SH_ERR_FORMAT, "rounds.ini:3"},
        {"[team]\narrows = x\n", SH_ERR_FORMAT, "rounds.ini:2"},
        {"[team]\narrows = 99\n", SH_ERR_ARGUMENT, "rounds.ini:2"},
        {"[team]\nnonsense\n", SH_ERR_FORMAT, "rounds.ini"},
        {"[team]\nwarning_s = 200\n", SH_ERR_ARGUMENT, "rounds.ini"},
        {"[a name of thirty-two bytes, no less]\narrows = 3\n", SH_ERR_FORMAT, "rounds.ini:2"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sh_round_format_set set = sh_round_format_default();
        const struct sh_round_format_set before = set;
        struct sh_error err = {0};
        assert_int_equal(read_text(rows[i].text, &set, &err), rows[i].status);
        assert_memory_equal(&set, &before, sizeof set);
        size_t n = strlen(rows[i].where_end);
        assert_true(strlen(err.where) > n);
        assert_string_equal(err.where + strlen(err.where) - n, rows[i].where_end);
    }
}

static void test_full_and_missing(void **state)
{
    char text[2048] = "";
    struct sh_round_format_set set = sh_round_format_default();
    size_t n = 0;
    for (unsigned i = 0; i < SH_ROUND_FORMATS_MAX - 9; i++) {
        n += (size_t)snprintf(text + n, sizeof text - n, "[f%u]\narrows = 3\n", i);
    }
    assert_int_equal(read_text(text, &set, NULL), SH_OK);
    assert_int_equal(set.n_formats, SH_ROUND_FORMATS_MAX);
    assert_int_equal(read_text("[more]\narrows = 3\n", &set, NULL), SH_ERR_FULL);
    assert_int_equal(set.n_formats, SH_ROUND_FORMATS_MAX);
    assert_int_equal(sh_round_format_read("/nowhere/rounds.ini", &set, NULL), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_round_format_read("/", &set, NULL), SH_ERR_IO);
}

/* What is set by its key is got by it, for every key. */
static void test_keys(void **state)
{
    const struct sh_round_format_set set = sh_round_format_default();
    struct sh_round_format format = *sh_round_format_find(&set, "team");
    size_t n = 0;
    for (; sh_round_format_get_key(n) != NULL; n++) {
        const char *key = sh_round_format_get_key(n);
        const char *text = strcmp(key, "turn_signals") == 0 ? "1" : "5";
        assert_int_equal(sh_round_format_set_value(&format, key, text, NULL, NULL), SH_OK);
        assert_near(sh_round_format_get_value(&format, n), strtod(text, NULL), 0.0, 0.0);
    }
    assert_int_equal(n, 7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defaults),
        cmocka_unit_test(test_values),
        cmocka_unit_test(test_values_together),
        cmocka_unit_test(test_file),
        cmocka_unit_test(test_bad_files),
        cmocka_unit_test(test_full_and_missing),
        cmocka_unit_test(test_keys),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
