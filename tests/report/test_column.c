/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/column.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_each_column_has_its_own_measure_and_head(void **state)
{
    static struct sh_shot_record record;
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        const struct sh_column *column = sh_column_get(i);
        assert_non_null(sh_column_get_quantity(column, &record));
        assert_true(column->factor > 0.0);
        for (size_t k = 0; k < i; k++) {
            const struct sh_column *other = sh_column_get(k);
            assert_ptr_not_equal(sh_column_get_quantity(column, &record),
                                 sh_column_get_quantity(other, &record));
            assert_true(strcmp(column->head, other->head) != 0 ||
                        strcmp(column->unit, other->unit) != 0);
        }
    }
}

/* The unit that is shown is the catalog's, or a named fraction of it. */
static void test_factors_fit_the_units(void **state)
{
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        const struct sh_column *column = sh_column_get(i);
        const char *si = sh_catalog_get_row(column->measure)->symbol;
        double expected = 1.0;
        if (strcmp(column->unit, si) != 0) {
            bool is_milli = column->unit[0] == 'm' && strcmp(column->unit + 1, si) == 0;
            bool is_percent = strcmp(column->unit, "%") == 0 && strcmp(si, "1") == 0;
            assert_true(is_milli || is_percent);
            expected = is_milli ? 1000.0 : 100.0;
        }
        assert_near(column->factor, expected, 0, 0);
    }
}

static void test_quantity_is_the_record_s(void **state)
{
    static struct sh_shot_record record;
    record.measures.quantity[SH_MEASURE_FINGER_SHARE_FIRST + 2] = sh_quantity_known(0.2, 0.01);
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        const struct sh_column *column = sh_column_get(i);
        bool is_ring = strcmp(column->head, "ring share") == 0;
        assert_int_equal(sh_quantity_is_known(sh_column_get_quantity(column, &record)),
                         is_ring);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_column_has_its_own_measure_and_head),
        cmocka_unit_test(test_factors_fit_the_units),
        cmocka_unit_test(test_quantity_is_the_record_s),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
