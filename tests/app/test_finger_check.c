/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/finger_check.h"

#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

/* n draws of ratios 1.04 to 1.06; those whose bit is set in odd have 0.90. */
static void fill(struct sh_analysis *analysis, unsigned n, unsigned long odd)
{
    struct sh_shot_record *record = calloc(1, sizeof *record);
    assert_non_null(record);
    sh_analysis_init(analysis, "tuesday", "wren");
    for (unsigned i = 0; i < n; i++) {
        record->shot.n = i + 1u;
        record->measures.finger_sum_ratio = sh_quantity_known(
            (odd >> i & 1u) != 0 ? 0.9 : 1.04 + 0.02 * (double)(i % 5u) / 4.0, 0.001);
        assert_int_equal(sh_analysis_add(analysis, record), SH_OK);
    }
    free(record);
}

static void test_one_draw_disagrees(void **state)
{
    struct sh_analysis analysis;
    fill(&analysis, 24, 1ul << 6);
    assert_int_equal(sh_finger_check_mark(&analysis), SH_OK);
    assert_int_equal(analysis.n_quality, 1);
    assert_int_equal(analysis.quality[0].code, SH_CODE_QUALITY_FINGER_SUM);
    assert_non_null(strstr(analysis.quality[0].text, "1.050 of the string's force"));
    assert_non_null(strstr(analysis.quality[0].text, "in draw 7 (0.900): "));
    assert_non_null(strstr(analysis.quality[0].text, "by chance)"));
    for (size_t i = 0; i < analysis.n_shots; i++) {
        assert_int_equal(analysis.shots[i].quality[SH_CODE_QUALITY_FINGER_SUM], i == 6);
    }
    sh_analysis_close(&analysis);
}

/* As many as fit are named, and the sentence stays whole. */
static void test_many_draws(void **state)
{
    struct sh_analysis analysis;
    fill(&analysis, 30, 0x3ffu);
    assert_int_equal(sh_finger_check_mark(&analysis), SH_OK);
    assert_int_equal(analysis.n_quality, 1);
    assert_non_null(strstr(analysis.quality[0].text, "draw 1 (0.900), draw 2 (0.900)"));
    assert_non_null(strstr(analysis.quality[0].text, ", ...: a sensor"));
    assert_non_null(strstr(analysis.quality[0].text, "by chance)"));
    sh_analysis_close(&analysis);
}

static void test_nothing_said(void **state)
{
    struct sh_analysis analysis;
    fill(&analysis, 24, 0);
    assert_int_equal(sh_finger_check_mark(&analysis), SH_OK);
    assert_int_equal(analysis.n_quality, 0);
    sh_analysis_close(&analysis);
    fill(&analysis, 8, 1); /* too few to say what is usual */
    assert_int_equal(sh_finger_check_mark(&analysis), SH_OK);
    assert_int_equal(analysis.n_quality, 0);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_draw_disagrees),
        cmocka_unit_test(test_many_draws),
        cmocka_unit_test(test_nothing_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
