/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/reading_table.h"

#include <string.h>

#include "base/text.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void read_text(const char *text, enum sh_status expected, struct sh_reading_table *table)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, "readings.txt", path);
    scratch_write(path, text, strlen(text));
    assert_int_equal(sh_reading_table_read(path, table, &err), expected);
    assert_int_equal(err.status, expected);
    scratch_close(&scratch);
}

static void test_rows(void **state)
{
    struct sh_reading_table table;
    read_text("# kiln\n\n 0 , 812.5\r\n5 kg;4735.0 ; 3.5;2000 # hung\n\t10 lb, -8e3, 1\n"
              "5 kg, 4740, down\n5 kg, 4736, 3, 10, up\nsteady, 0.5, 16500\nsteady, 1, 16501",
              SH_OK, &table);
    assert_int_equal(table.n, 5);
    assert_near(table.row[0].counts, 812.5, 0.0, 0.0);
    assert_near(table.row[0].n_samples, 1.0, 0.0, 0.0);
    assert_near(table.row[1].mass_kg, 5.0, 0.0, 0.0);
    assert_near(table.row[1].noise_counts, 3.5, 0.0, 0.0);
    assert_near(table.row[1].n_samples, 2000.0, 0.0, 0.0);
    assert_near(table.row[2].mass_kg, 4.5359237, 1e-15, 0.0);
    assert_near(table.row[2].counts, -8000.0, 0.0, 0.0);
    assert_true(table.row[3].is_down);
    assert_false(table.row[4].is_down);
    assert_int_equal(table.n_steady, 2);
    assert_near(table.steady_counts[1], 16501.0, 0.0, 0.0);
}

/* Where nobody says, the way follows from the masses. */
static void test_ways(void **state)
{
    static const struct {
        const char *mass;
        bool is_down;
    } rows[] = {{"0", false},    {"1 kg", false}, {"2 kg", false},
                {"2 kg", false}, {"1 kg", true},  {"1 kg", true},
                {"0", true},     {"1 kg", false}, {"0", true}};
    struct sh_text text;
    struct sh_reading_table table;
    sh_text_init(&text, 0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        sh_text_printf(&text, "%s, 1\n", rows[i].mass);
    }
    read_text(text.data, SH_OK, &table);
    sh_text_close(&text);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(table.row[i].is_down, rows[i].is_down);
    }
}

static void test_refusals(void **state)
{
    static const char *const bad[] = {"",
                                      "# nothing\n",
                                      "5 kg",
                                      "5, 1",
                                      "5 kg, one",
                                      "5 kg, 1, 2, 3, 4",
                                      "5 kg, 1, 2, 3, up, 4",
                                      "5 kg, 1, -0.1",
                                      "5 kg, 1, 2, 0.9",
                                      "5 kg, inf",
                                      "steady, 1",
                                      "steady, -1, 2",
                                      "steady, 1, 2, 3"};
    struct sh_reading_table table;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        read_text(bad[i], SH_ERR_FORMAT, &table);
    }
    struct sh_text many;
    sh_text_init(&many, 0);
    for (size_t i = 0; i < SH_CALIBRATION_READINGS_MAX; i++) {
        sh_text_puts(&many, "1 g, 1\n");
    }
    read_text(many.data, SH_OK, &table);
    sh_text_puts(&many, "1 g, 1\n");
    read_text(many.data, SH_ERR_FULL, &table);
    sh_text_close(&many);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows),
        cmocka_unit_test(test_ways),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
