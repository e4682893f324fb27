/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/bow_file.h"

#include <string.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void
read_text(const char *text, enum sh_status expected, struct sh_bow_file *file, const char *says)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, "bow.ini", path);
    scratch_write(path, text, strlen(text));
    assert_int_equal(sh_bow_file_read(path, file, &err), expected);
    if (says != NULL && strstr(err.what, says) == NULL) {
        fail_msg("wanted '%s', said '%s'", says, err.what);
    }
    assert_true(expected == SH_OK || strstr(err.where, "bow.ini:") != NULL);
    scratch_close(&scratch);
}

static void test_what_is_written_reads_the_same(void **state)
{
    struct sh_bow_file file = {.draw_length_m = 0.7112,
                               .energy_j = sh_quantity_known(42.5, 0.25),
                               .measured = "2026-05-01",
                               .bow = {.name = "blue 66",
                                       .draw_weight_n = sh_quantity_known(178.25, 1.5),
                                       .stiffness_n_per_m = sh_quantity_known(412.0, 9.0),
                                       .clicker = SH_ANSWER_YES}};
    struct sh_bow_file again;
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_bow_file_format(&file, &text);
    read_text(text.data, SH_OK, &again, NULL);
    assert_string_equal(again.bow.name, "blue 66");
    assert_string_equal(again.measured, "2026-05-01");
    assert_near(again.bow.draw_weight_n.value, 178.25, 0.0, 0.0);
    assert_near(again.bow.draw_weight_n.u, 1.5, 0.0, 0.0);
    assert_near(again.bow.stiffness_n_per_m.value, 412.0, 0.0, 0.0);
    assert_near(again.bow.stiffness_n_per_m.u, 9.0, 0.0, 0.0);
    assert_near(again.energy_j.value, 42.5, 0.0, 0.0);
    assert_near(again.draw_length_m, 0.7112, 0.0, 0.0);
    assert_int_equal(again.bow.clicker, SH_ANSWER_YES);
    sh_text_close(&text);
}

static void test_what_is_not_given_is_unknown(void **state)
{
    struct sh_bow_file file;
    read_text("; mine\n[bow]\nclicker = no\ndraw_weight_n = 178 ; at 28 in\n", SH_OK, &file,
              NULL);
    assert_false(sh_quantity_is_known(&file.bow.stiffness_n_per_m));
    assert_true(sh_quantity_is_known(&file.bow.draw_weight_n));
    assert_near(file.bow.draw_weight_n.u, 0.0, 0.0, 0.0);
    assert_int_equal(file.bow.clicker, SH_ANSWER_NO);
    assert_string_equal(file.bow.name, "");
}

static void test_refusals(void **state)
{
    static const struct {
        const char *text;
        const char *says;
    } bad[] = {
        {"[stave]\nname = a\n", "no such key"},
        {"name = a\n", "no such key"},
        {"[bow]\nlimbs = 2\n", "no such key"},
        {"[bow]\nname = a\nname = b\n", "given twice"},
        {"[bow]\nname =\n", "empty or too long"},
        {"[bow]\nclicker = perhaps\n", "neither yes nor no"},
        {"[bow]\ndraw_weight_n = heavy\n", "no number"},
        {"[bow]\ndraw_weight_n = 0\n", "out of its range"},
        {"[bow]\ndraw_weight_n = 400.1\n", "out of its range"},
        {"[bow]\nstiffness_n_per_m = 2000.1\n", "out of its range"},
        {"[bow]\nstiffness_n_per_m = nan\n", "out of its range"},
        {"[bow]\ndraw_weight_n = 100\ndraw_weight_u_n = -1\n", "out of its range"},
        {"[bow]\nstiffness_u_n_per_m = 1\n", "stands without its value"},
        {"[bow]\nmeasured = 2026-05-01 or so\n", "empty or too long"},
        {"[bow\n", "cannot be read"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct sh_bow_file file;
        read_text(bad[i].text, SH_ERR_FORMAT, &file, bad[i].says);
    }
    struct sh_bow_file file;
    struct sh_error err = {0};
    assert_int_equal(sh_bow_file_read("no-such-file.ini", &file, &err), SH_ERR_NOT_FOUND);
    read_text("[bow]\ndraw_weight_n = 400\nstiffness_n_per_m = 2000\n", SH_OK, &file, NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_written_reads_the_same),
        cmocka_unit_test(test_what_is_not_given_is_unknown),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
