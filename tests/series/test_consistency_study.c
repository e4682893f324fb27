/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency_study.h"

#include "series/shot_rows.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* All measures alike: five tests of one p, each times five. */
static void test_all_parts(void **state)
{
    const struct shot_rows_archer archer = {12, 6, 0.1, 0.2, 0.0, 0.0, -0.3, false};
    const struct sh_clock_effect_arrows arrows = {4, 6};
    const struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_consistency_set set = {0};
    struct sh_consistency_study study;
    struct sh_random random;
    sh_random_init(&random, 3);
    shot_rows_shoot(&set, &archer, &random);
    assert_int_equal(sh_consistency_study_open(&set, &config, &arrows, &study), SH_OK);
    assert_int_equal(study.clock[0].first_number, 4);
    assert_int_equal(study.clock[4].last_number, 6);
    const double p = study.clock[0].p;
    assert_near(study.clock[0].p_of_all, 5.0 * p < 1.0 ? 5.0 * p : 1.0, 0, 1e-12);
    assert_int_equal(study.last[0].n_free, 12);
    assert_int_equal(study.steady[0].column.n, 72);
    assert_int_equal(study.survival.n_released, 72);
    assert_false(study.links[0].is_known);
    assert_false(study.hold_per_second.is_known);
    sh_consistency_study_close(&study);
    assert_null(study.steady[0].marks);
    sh_consistency_set_close(&set);
}

static void test_settings(void **state)
{
    const struct sh_clock_effect_arrows arrows = {0, 0};
    struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_consistency_set set = {0};
    struct sh_consistency_study study;
    assert_int_equal(sh_consistency_study_open(&set, &config, &arrows, &study), SH_OK);
    sh_consistency_study_close(&study);
    config.n_draws = 1;
    assert_int_equal(sh_consistency_study_open(&set, &config, &arrows, &study),
                     SH_ERR_ARGUMENT);
    sh_consistency_study_close(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_parts),
        cmocka_unit_test(test_settings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
