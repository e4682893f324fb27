/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/archer.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_SHOTS 500u

static void check_order(const struct sh_archer_plan *plan)
{
    assert_true(plan->preload_ratio >= 0.05 && plan->preload_ratio <= 0.2);
    assert_true(plan->pause_ratio >= 0.5 && plan->pause_ratio <= 0.7);
    assert_true(plan->preload_end_s > 0.0);
    assert_true(plan->draw_begin_s > plan->preload_end_s);
    assert_true(plan->pause_begin_s >= plan->draw_begin_s);
    assert_true(plan->pause_end_s >= plan->pause_begin_s);
    assert_true(plan->anchor_s > plan->pause_end_s);
    assert_true(plan->expansion_end_s > plan->anchor_s);
    assert_true(plan->loose_s > plan->anchor_s);
    assert_true(plan->has_clicker == (plan->loose_s > plan->expansion_end_s));
    assert_true(plan->drop_s >= 0.003 && plan->drop_s <= 0.015);
    double square_sum = 0.0;
    for (size_t i = 0; i < SH_ARCHER_TREMOR_LINES; i++) {
        assert_true(plan->tremor[i].hz >= 6.0 && plan->tremor[i].hz <= 12.0);
        square_sum += 0.5 * plan->tremor[i].amplitude_n * plan->tremor[i].amplitude_n;
    }
    assert_near(sqrt(square_sum), plan->tremor_rms_n, 0.0, 1e-12);
}

/* Every set of faults keeps the order of times, and a fault shows in its own figure only. */
static void test_order(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 1);
    for (unsigned faults = 0; faults < 1u << SH_ARCHER_FAULTS; faults++) {
        struct sh_archer_plan plan;
        sh_archer_plan_draw(&plan, faults, &random);
        check_order(&plan);
        assert_true((plan.creep_m > 0.0) == ((plan.faults & SH_ARCHER_CREEP) != 0));
        assert_true((plan.flinch_m > 0.0) == ((plan.faults & SH_ARCHER_FLINCH) != 0));
        assert_true((plan.collapse_m > 0.0) == ((plan.faults & SH_ARCHER_COLLAPSE) != 0));
    }
}

/* The contract's limits: 0.085 s and 0.4 s of reaction, 1 s and 6 s of hold. */
static void test_limits(void **state)
{
    struct sh_random random;
    struct sh_archer_plan plan;
    sh_random_init(&random, 2);
    for (unsigned i = 0; i < N_SHOTS; i++) {
        sh_archer_plan_draw(&plan, 0, &random);
        const double reaction_s = plan.loose_s - plan.expansion_end_s;
        const double hold_s = plan.loose_s - plan.anchor_s;
        assert_true(reaction_s > 0.085 && reaction_s < 0.4 && hold_s > 1.0 && hold_s < 6.0);
        sh_archer_plan_draw(&plan, SH_ARCHER_ANTICIPATED_CLICKER, &random);
        assert_true(plan.loose_s - plan.expansion_end_s < 0.085);
        sh_archer_plan_draw(&plan, SH_ARCHER_LATE_REACTION, &random);
        assert_true(plan.loose_s - plan.expansion_end_s > 0.4);
        sh_archer_plan_draw(&plan, SH_ARCHER_SHORT_HOLD, &random);
        assert_true(plan.loose_s - plan.anchor_s < 1.0);
        sh_archer_plan_draw(&plan, SH_ARCHER_LONG_HOLD, &random);
        assert_true(plan.loose_s - plan.anchor_s > 6.0);
    }
}

/* What cannot go together is settled as the header says. */
static void test_settled(void **state)
{
    struct sh_random random;
    struct sh_archer_plan plan;
    sh_random_init(&random, 3);
    sh_archer_plan_draw(&plan, 511, &random);
    assert_int_equal(plan.faults, SH_ARCHER_LET_DOWN | SH_ARCHER_CREEP | SH_ARCHER_SHORT_HOLD);
    assert_false(plan.has_clicker);
    sh_archer_plan_draw(&plan, SH_ARCHER_EARLY_LOOSE | SH_ARCHER_COLLAPSE, &random);
    assert_int_equal(plan.faults, SH_ARCHER_EARLY_LOOSE);
}

/* A half draw is a let-down that stops short; all other draws go all the way. */
static void test_half_draw(void **state)
{
    struct sh_random random;
    struct sh_archer_plan plan;
    sh_random_init(&random, 5);
    for (unsigned i = 0; i < N_SHOTS; i++) {
        sh_archer_plan_draw(&plan, SH_ARCHER_HALF_DRAW | SH_ARCHER_FLINCH, &random);
        assert_int_equal(plan.faults, SH_ARCHER_HALF_DRAW | SH_ARCHER_LET_DOWN);
        assert_true(plan.short_ratio >= 0.25 && plan.short_ratio < 0.55);
        assert_true(plan.pause_end_s <= plan.pause_begin_s);
        check_order(&plan);
    }
    sh_archer_plan_draw(&plan, SH_ARCHER_LET_DOWN, &random);
    assert_near(plan.short_ratio, 0.0, 0.0, 0.0);
}

static void test_seed_decides(void **state)
{
    struct sh_random random;
    struct sh_archer_plan a;
    struct sh_archer_plan b;
    sh_random_init(&random, 4);
    sh_archer_plan_draw(&a, 0, &random);
    sh_random_init(&random, 4);
    sh_archer_plan_draw(&b, 0, &random);
    assert_near(a.loose_s, b.loose_s, 0.0, 0.0);
    assert_near(a.tremor[11].phase_rad, b.tremor[11].phase_rad, 0.0, 0.0);
    sh_archer_plan_draw(&b, 0, &random);
    assert_true(fabs(a.loose_s - b.loose_s) > 1e-9);
}

/* Each fault has a name that leads back to it; nothing else has. */
static void test_names(void **state)
{
    enum sh_archer_fault fault = SH_ARCHER_CREEP;
    for (unsigned i = 0; i < SH_ARCHER_FAULTS; i++) {
        const char *name = sh_archer_fault_name((enum sh_archer_fault)(1u << i));
        assert_true(name[0] != '\0');
        assert_true(sh_archer_fault_find(name, &fault));
        assert_int_equal(fault, 1u << i);
    }
    assert_string_equal(sh_archer_fault_name(SH_ARCHER_ANTICIPATED_CLICKER),
                        "anticipated-clicker");
    assert_string_equal(sh_archer_fault_name((enum sh_archer_fault)0), "");
    assert_string_equal(sh_archer_fault_name((enum sh_archer_fault)3), "");
    assert_false(sh_archer_fault_find("creeps", &fault));
    assert_int_equal(fault, SH_ARCHER_FINGER_SLIDE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order),   cmocka_unit_test(test_limits),
        cmocka_unit_test(test_settled), cmocka_unit_test(test_seed_decides),
        cmocka_unit_test(test_names),   cmocka_unit_test(test_half_draw),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
