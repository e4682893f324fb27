/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/score_link.h"

#include <math.h>

#include "series/shot_rows.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The worked example: ranks of ten pairs with squared differences of 194: 1 - 6 x 194 / 990. */
static void test_by_hand(void **state)
{
    static const double x[10] = {106, 100, 86, 101, 99, 103, 97, 113, 112, 110};
    static const double y[10] = {7, 27, 2, 50, 28, 29, 20, 12, 6, 17};
    struct sh_consistency_set set = {0};
    struct sh_score_link links[SH_CONSISTENCY_MEASURES];
    for (size_t i = 0; i < 10; i++) {
        struct sh_consistency_row *row = shot_rows_add(&set, 0, 0, (unsigned)i + 1, x[i]);
        row->has_score = true;
        row->score = y[i];
    }
    shot_rows_add(&set, 0, 0, 11, 1.0); /* without a score */
    set.rows[3].value[SH_CONSISTENCY_CREEP] = sh_quantity_unknown(SH_WHY_NOT_ASKED);
    assert_int_equal(sh_score_link_get(&set, links), SH_OK);
    assert_true(links[SH_CONSISTENCY_HOLD].is_known);
    assert_int_equal(links[SH_CONSISTENCY_HOLD].n, 10);
    assert_near(links[SH_CONSISTENCY_HOLD].spearman.value, 1.0 - 6.0 * 194.0 / 990.0, 1e-12, 0);
    assert_near(links[SH_CONSISTENCY_HOLD].p_of_all, 1.0, 1e-12, 0);
    assert_false(sh_score_link_is_seen(&links[SH_CONSISTENCY_HOLD]));
    assert_false(links[SH_CONSISTENCY_CREEP].is_known); /* nine: one too few */
    sh_consistency_set_close(&set);
}

/* Fisher's z of 0.5 is 0.549306: 3 + 1.125 x 11.678971 / 0.301737 = 46.54, so 47. */
static void test_needed(void **state)
{
    assert_near(sh_score_link_get_needed(0.5), 47.0, 0, 0);
    assert_true(sh_score_link_get_needed(0.28) > sh_score_link_get_needed(0.29));
    assert_true(isnan(sh_score_link_get_needed(0.0)));
    assert_true(isnan(sh_score_link_get_needed(1.0)));
}

/* What so many shots show is what so many are needed for. A clear link is seen. */
static void test_visible(void **state)
{
    struct sh_consistency_set set = {0};
    struct sh_score_link links[SH_CONSISTENCY_MEASURES];
    for (unsigned i = 0; i < 60; i++) {
        struct sh_consistency_row *row =
            shot_rows_add(&set, 0, i / 6, i % 6 + 1, 3.0 + 0.1 * (double)i);
        row->has_score = true;
        row->score = 10.0 - floor((double)i / 15.0);
    }
    assert_int_equal(sh_score_link_get(&set, links), SH_OK);
    assert_true(sh_score_link_is_seen(&links[0]));
    assert_true(links[0].spearman.value < -0.9);
    assert_near(sh_score_link_get_needed(links[0].visible), 60.0, 1.0, 0);
    sh_consistency_set_close(&set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_needed),
        cmocka_unit_test(test_visible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
