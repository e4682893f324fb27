/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/string_signal.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_string_signal make_signal(unsigned faults, uint64_t seed)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_bow_law bow;
    struct sh_archer_plan plan;
    struct sh_random random;
    struct sh_string_signal signal;
    sh_random_init(&random, seed);
    sh_archer_plan_draw(&plan, faults, &random);
    assert_int_equal(sh_bow_law_init(&bow, &config, NULL), SH_OK);
    sh_string_signal_init(&signal, &bow, &plan);
    return signal;
}

/* Nothing before, about the bow's force at full length, nothing long after. */
static void test_levels(void **state)
{
    for (uint64_t seed = 0; seed < 50; seed++) {
        const struct sh_string_signal signal = make_signal(0, seed);
        const struct sh_archer_plan *plan = &signal.plan;
        assert_near(sh_string_signal_get_force_n(&signal, -1.0), 0.0, 1e-12, 0.0);
        assert_near(sh_string_signal_get_travel_m(&signal, plan->expansion_end_s), 0.48, 1e-9,
                    0.0);
        assert_near(sh_bow_law_get_force_n(&signal.bow, sh_string_signal_get_travel_m(
                                                            &signal, plan->preload_end_s)),
                    plan->preload_ratio * 178.0, 1e-9, 0.0);
        const double allowed_n = plan->sway_n + 5.0 * plan->tremor_rms_n;
        assert_near(sh_string_signal_get_force_n(&signal, plan->loose_s), 178.0, allowed_n,
                    0.0);
        assert_near(sh_string_signal_get_force_n(&signal, plan->loose_s + 2.0), 0.0, 1e-6, 0.0);
    }
}

/* No jumps: steps of 0.1 ms stay below the steepest slope of the drop, of 3 ms at least. */
static void test_continuous(void **state)
{
    for (uint64_t seed = 0; seed < 16; seed++) {
        const struct sh_string_signal signal = make_signal((unsigned)seed * 32u, seed);
        const double end_s = signal.plan.loose_s + 2.0;
        double last_n = sh_string_signal_get_force_n(&signal, -0.1);
        for (int i = 1; - 0.1 + 1e-4 * i < end_s; i++) {
            const double force_n = sh_string_signal_get_force_n(&signal, -0.1 + 1e-4 * i);
            assert_true(fabs(force_n - last_n) < 190.0 * 1.5708 / 0.003 * 1e-4);
            last_n = force_n;
        }
    }
}

/* release_s is where a tenth of the drop has fallen. */
static void test_release(void **state)
{
    for (uint64_t seed = 0; seed < 50; seed++) {
        const struct sh_string_signal signal = make_signal(0, seed);
        const double release_s = sh_string_signal_get_release_s(&signal);
        assert_near(sh_string_signal_get_force_n(&signal, release_s),
                    0.9 * signal.loose_force_n, 0.0, 1e-9);
        assert_true(release_s > signal.plan.loose_s);
        assert_true(release_s < signal.plan.loose_s + 0.3 * signal.plan.drop_s);
    }
}

/* So it is however the fall bends, and the bend moves it. */
static void test_bent_release(void **state)
{
    struct sh_string_signal signal = make_signal(0, 3);
    double before_s = 0.0;
    for (int i = -2; i <= 2; i++) {
        signal.plan.drop_bend = 0.3 * (double)i;
        const double release_s = sh_string_signal_get_release_s(&signal);
        assert_near(sh_string_signal_get_force_n(&signal, release_s),
                    0.9 * signal.loose_force_n, 0.0, 1e-9);
        assert_true(release_s > before_s);
        before_s = release_s;
    }
}

/* Creep, flinch and collapse take away travel where the plan says, and only the first two
 * give it back. */
static void test_faults(void **state)
{
    const struct sh_string_signal creep = make_signal(SH_ARCHER_CREEP, 5);
    const struct sh_archer_plan *plan = &creep.plan;
    const double middle_s = 0.5 * (plan->anchor_s + 0.35 + plan->expansion_end_s);
    assert_true(sh_string_signal_get_travel_m(&creep, middle_s) <
                sh_string_signal_get_travel_m(&creep, plan->anchor_s + 0.35) + 1e-3 +
                    plan->expansion_m - plan->creep_m);
    assert_near(sh_string_signal_get_travel_m(&creep, plan->expansion_end_s), 0.48, 1e-9, 0.0);

    const struct sh_string_signal flinch = make_signal(SH_ARCHER_FLINCH, 6);
    plan = &flinch.plan;
    const double before_m = sh_string_signal_get_travel_m(&flinch, plan->flinch_s - 0.12);
    const double dip_m = sh_string_signal_get_travel_m(&flinch, plan->flinch_s);
    assert_near(before_m - dip_m, plan->flinch_m, 5e-4, 0.0);

    const struct sh_string_signal collapse = make_signal(SH_ARCHER_COLLAPSE, 7);
    plan = &collapse.plan;
    assert_near(sh_string_signal_get_travel_m(&collapse, plan->loose_s),
                0.48 - plan->collapse_m, 1e-9, 0.0);
}

/* A let-down takes far longer than 150 ms from 90 % to 10 % and ends at rest. */
static void test_let_down(void **state)
{
    const struct sh_string_signal signal = make_signal(SH_ARCHER_LET_DOWN, 8);
    const double loose_s = signal.plan.loose_s;
    const double ratio_150ms =
        sh_string_signal_get_force_n(&signal, loose_s + 0.15) / signal.loose_force_n;
    assert_true(ratio_150ms > 0.5);
    assert_near(sh_string_signal_get_force_n(&signal, loose_s + signal.plan.let_down_s), 0.0,
                1e-9, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_levels),  cmocka_unit_test(test_continuous),
        cmocka_unit_test(test_release), cmocka_unit_test(test_bent_release),
        cmocka_unit_test(test_faults),  cmocka_unit_test(test_let_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
