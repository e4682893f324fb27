/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/finger_check.h"

#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

static const struct sh_finger_sum_past none = {.n_sessions = 0};

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
    assert_int_equal(sh_finger_check_mark(&analysis, &none), SH_OK);
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
    assert_int_equal(sh_finger_check_mark(&analysis, &none), SH_OK);
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
    assert_int_equal(sh_finger_check_mark(&analysis, &none), SH_OK);
    assert_int_equal(analysis.n_quality, 0);
    sh_analysis_close(&analysis);
    fill(&analysis, 8, 1); /* too few to say what is usual */
    assert_int_equal(sh_finger_check_mark(&analysis, &none), SH_OK);
    assert_int_equal(analysis.n_quality, 0);
    sh_analysis_close(&analysis);
}

/* All draws of a session are apart from what was usual, even where they are few. */
static void test_apart_from_the_past(void **state)
{
    const struct sh_finger_sum_past past = {
        .n_sessions = 5, .ratio = 1.3, .spread = 0.02, .shot_spread = 0.01, .reach_t = 4.604};
    for (unsigned n = 4; n <= 24; n += 20) {
        struct sh_analysis analysis;
        fill(&analysis, n, 0);
        assert_int_equal(sh_finger_check_mark(&analysis, &past), SH_OK);
        assert_int_equal(analysis.n_quality, 1);
        assert_non_null(strstr(analysis.quality[0].text,
                               "1.300 of the string's force as a rule in 5 earlier sessions; "
                               "otherwise in draw 1 (1.040), draw 2 (1.045)"));
        assert_non_null(strstr(analysis.quality[0].text, "by chance)"));
        for (size_t i = 0; i < analysis.n_shots; i++) {
            assert_true(analysis.shots[i].quality[SH_CODE_QUALITY_FINGER_SUM]);
        }
        sh_analysis_close(&analysis);
    }
}

/* Of a draw that is apart from this session only, the session's own ratio is said. */
static void test_apart_from_today(void **state)
{
    const struct sh_finger_sum_past past = {
        .n_sessions = 5, .ratio = 1.06, .spread = 0.1, .shot_spread = 0.01, .reach_t = 4.604};
    struct sh_analysis analysis;
    fill(&analysis, 24, 1ul << 6);
    assert_int_equal(sh_finger_check_mark(&analysis, &past), SH_OK);
    assert_non_null(strstr(analysis.quality[0].text, "1.050 of the string's force as a rule "
                                                     "here; otherwise in draw 7 (0.900): "));
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_draw_disagrees), cmocka_unit_test(test_many_draws),
        cmocka_unit_test(test_nothing_said),       cmocka_unit_test(test_apart_from_the_past),
        cmocka_unit_test(test_apart_from_today),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
