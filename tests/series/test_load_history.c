/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/load_history.h"

#include "support/cmocka_all.h"
#include "support/near.h"

#define DAY 20000

static void draw_on(struct sh_day_load_list *list, int day, double impulse_n_s)
{
    struct sh_day_load_draw draw = {0};
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        draw.impulse_n_s[i] = sh_quantity_known(impulse_n_s, 0.5);
    }
    sh_day_load_add_draw(sh_day_load_list_find(list, day), &draw, 0.0);
}

/* Measured, rest, by hand, measured, unknown, measured. */
static void test_each_kind_of_day(void **state)
{
    struct sh_day_load_list list = {0};
    struct sh_load_history history = {0};
    assert_int_equal(sh_day_load_list_open(DAY, DAY + 5, &list), SH_OK);
    draw_on(&list, DAY, 100.0);
    sh_day_load_list_set_rest(&list, DAY + 1);
    sh_day_load_add_by_hand(sh_day_load_list_find(&list, DAY + 2), 60, 0.0);
    draw_on(&list, DAY + 3, 200.0);
    draw_on(&list, DAY + 5, 300.0);
    sh_day_load_list_settle(&list);
    assert_int_equal(sh_load_history_open(&list, &history), SH_OK);
    assert_int_equal(history.n_rows, 6);
    const struct sh_load_history_row *rows = history.rows;
    assert_int_equal(rows[3].day, DAY + 3);
    assert_near(rows[0].amount[SH_LOAD_HISTORY_ALL].value, 300.0, 0, 0);
    const struct sh_load_history_average *ring = &rows[1].average[SH_LOAD_HISTORY_RING];
    assert_near(ring->value[0].value, 75.0, 0, 1e-15);
    assert_near(ring->value[1].value, 100.0 * 27.0 / 29.0, 0, 1e-14);
    assert_int_equal(ring->ratio.why, SH_WHY_TOO_SHORT);
    assert_int_equal(ring->n_days, 2);
    /* what the fingers carried on the third day is not known, the draws are */
    assert_int_equal(rows[2].average[SH_LOAD_HISTORY_ALL].value[0].why, SH_WHY_NOT_GIVEN);
    assert_near(rows[2].average[SH_LOAD_HISTORY_DRAWS].value[0].value,
                0.75 * 0.75 + 0.25 * 60.0, 0, 1e-14);
    assert_near(rows[3].average[SH_LOAD_HISTORY_RING].value[0].value, 200.0, 0, 0);
    assert_int_equal(rows[3].average[SH_LOAD_HISTORY_RING].n_days, 1);
    assert_int_equal(rows[4].average[SH_LOAD_HISTORY_DRAWS].value[1].why, SH_WHY_NOT_GIVEN);
    assert_near(rows[5].average[SH_LOAD_HISTORY_DRAWS].value[1].value, 1.0, 0, 0);
    sh_load_history_close(&history);
    sh_load_history_close(&history);
    sh_day_load_list_close(&list);
}

/* Twenty-eight days of 100 N s; the ratio is known from the last of them on. */
static void test_when_the_ratio_is_known(void **state)
{
    struct sh_day_load_list list = {0};
    struct sh_load_history history = {0};
    assert_int_equal(sh_day_load_list_open(DAY, DAY + 27, &list), SH_OK);
    for (int i = 0; i < 28; i++) {
        draw_on(&list, DAY + i, 100.0);
    }
    sh_day_load_list_settle(&list);
    assert_int_equal(sh_load_history_open(&list, &history), SH_OK);
    assert_int_equal(history.rows[26].average[SH_LOAD_HISTORY_ALL].ratio.why, SH_WHY_TOO_SHORT);
    const struct sh_quantity *ratio = &history.rows[27].average[SH_LOAD_HISTORY_ALL].ratio;
    assert_true(sh_quantity_is_known(ratio));
    assert_near(ratio->value, 1.0, 0, 1e-13);
    sh_load_history_close(&history);
    sh_day_load_list_close(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_kind_of_day),
        cmocka_unit_test(test_when_the_ratio_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
