/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/session_plan.h"

#include <math.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_session_plan *open_plan(const struct sh_session_plan_config *config)
{
    struct sh_session_plan *plan = NULL;
    assert_int_equal(sh_session_plan_open(config, &plan, NULL), SH_OK);
    assert_non_null(plan);
    return plan;
}

/* Index of a fault in fault_ratio. */
static size_t get_bit(enum sh_archer_fault fault)
{
    size_t bit = 0;
    while (1u << bit != (unsigned)fault) {
        bit++;
    }
    return bit;
}

/* Draws follow each other without overlap, ends hold their arrows, truth keeps its order. */
static void test_order(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.fault_ratio[get_bit(SH_ARCHER_LET_DOWN)] = 0.2;
    struct sh_session_plan *plan = open_plan(&config);
    double last_s = 0.0;
    assert_int_equal(plan->n_draws, 36);
    for (size_t i = 0; i < plan->n_draws; i++) {
        const struct sh_session_draw *draw = &plan->draw[i];
        const struct sh_truth *truth = &plan->truth[i];
        assert_true(sh_session_draw_get_begin_s(draw) >= last_s);
        last_s = sh_session_draw_get_end_s(draw);
        assert_int_equal(truth->n, i + 1);
        assert_true(truth->draw_start_s > sh_session_draw_get_begin_s(draw));
        assert_true(sh_session_draw_get_done_s(draw) < last_s);
    }
    assert_true(plan->duration_s > last_s + 1.0 && plan->duration_s < last_s + 10.0);
    size_t next = 0;
    for (size_t k = 0; k < plan->n_ends; k++) {
        const struct sh_session_end *end = &plan->end[k];
        size_t n_shots = 0;
        assert_int_equal(end->first_draw, next);
        next += end->n_draws;
        for (size_t i = end->first_draw; i < next; i++) {
            n_shots += plan->truth[i].kind == SH_TRUTH_SHOT ? 1 : 0;
        }
        assert_true(n_shots == config.arrows_an_end || k == plan->n_ends - 1);
        if (k > 0) {
            assert_near(end->begin_s - plan->end[k - 1].end_s, config.end_rest_s, 1e-9, 0.0);
        }
    }
    assert_int_equal(next, plan->n_draws);
    sh_session_plan_close(&plan);
    assert_null(plan);
}

/* The same seed gives the same session; a longer one begins with the shorter. */
static void test_seed(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 8;
    struct sh_session_plan *plan = open_plan(&config);
    struct sh_session_plan *same = open_plan(&config);
    config.n_draws = 12;
    struct sh_session_plan *longer = open_plan(&config);
    config.seed = 2;
    struct sh_session_plan *other = open_plan(&config);
    for (size_t i = 0; i < plan->n_draws; i++) {
        assert_near(same->truth[i].release_s, plan->truth[i].release_s, 0.0, 0.0);
        assert_near(longer->truth[i].release_s, plan->truth[i].release_s, 0.0, 0.0);
        assert_true(fabs(other->truth[i].release_s - plan->truth[i].release_s) > 1e-6);
    }
    sh_session_plan_close(&plan);
    sh_session_plan_close(&same);
    sh_session_plan_close(&longer);
    sh_session_plan_close(&other);
}

/* Faults come as often as asked for: within 4 standard errors of the binomial. */
static void test_fault_ratios(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 200;
    config.end_rest_s = 10.0;
    config.fault_ratio[get_bit(SH_ARCHER_CREEP)] = 0.3;
    config.fault_ratio[get_bit(SH_ARCHER_LET_DOWN)] = 0.1;
    struct sh_session_plan *plan = open_plan(&config);
    double n_creep = 0.0;
    double n_let_down = 0.0;
    for (size_t i = 0; i < plan->n_draws; i++) {
        const struct sh_truth *truth = &plan->truth[i];
        n_creep += (truth->faults & SH_ARCHER_CREEP) != 0 ? 1.0 : 0.0;
        n_let_down += truth->kind == SH_TRUTH_LET_DOWN ? 1.0 : 0.0;
        assert_int_equal(truth->faults & ~((unsigned)SH_ARCHER_CREEP | SH_ARCHER_LET_DOWN), 0);
    }
    assert_near(n_creep / 200.0, 0.3, 4.0 * sqrt(0.3 * 0.7 / 200.0), 0.0);
    assert_near(n_let_down / 200.0, 0.1, 4.0 * sqrt(0.1 * 0.9 / 200.0), 0.0);
    sh_session_plan_close(&plan);
}

/* Set-up and clock of one draw; clock_s, release_s: the end's start, the last release; or -1.
 */
static void check_setup(const struct sh_truth *truth, double clock_s, double release_s)
{
    const double from_s = fmax(clock_s, release_s);
    assert_true(truth->has_setup == (from_s >= 0.0));
    if (truth->has_setup) {
        assert_near(truth->setup_time_s, truth->draw_start_s - from_s, 1e-9, 0.0);
    }
    assert_true(truth->has_clock == (clock_s >= 0.0));
    if (truth->has_clock) {
        assert_near(truth->time_left_draw_s, clock_s + 120.0 - truth->draw_start_s, 1e-9, 0.0);
    }
}

static void check_setups(const struct sh_session_plan *plan)
{
    double release_s = -1.0;
    for (size_t k = 0; k < plan->n_ends; k++) {
        const double clock_s = plan->config.clock_s > 0.0 ? plan->end[k].begin_s : -1.0;
        for (size_t j = 0; j < plan->end[k].n_draws; j++) {
            const struct sh_truth *truth = &plan->truth[plan->end[k].first_draw + j];
            check_setup(truth, clock_s, release_s);
            release_s = truth->kind == SH_TRUTH_SHOT ? truth->release_s : release_s;
        }
    }
    assert_true(release_s > 0.0);
}

/* Set-up counts from the later of clock start and last release, let-downs passed over. */
static void test_setup_time(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 30;
    config.fault_ratio[get_bit(SH_ARCHER_LET_DOWN)] = 0.3;
    struct sh_session_plan *plan = open_plan(&config);
    check_setups(plan);
    sh_session_plan_close(&plan);
    config.clock_s = 0.0;
    plan = open_plan(&config);
    check_setups(plan);
    sh_session_plan_close(&plan);
}

/* A draw is found between its begin and its end, and nowhere else. */
static void test_find_draw(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 7;
    struct sh_session_plan *plan = open_plan(&config);
    assert_null(sh_session_plan_find_draw(plan, -1.0));
    assert_null(sh_session_plan_find_draw(plan, plan->duration_s));
    for (size_t i = 0; i < plan->n_draws; i++) {
        const struct sh_session_draw *draw = &plan->draw[i];
        const double begin_s = sh_session_draw_get_begin_s(draw);
        const double end_s = sh_session_draw_get_end_s(draw);
        assert_ptr_equal(sh_session_plan_find_draw(plan, begin_s), draw);
        assert_ptr_equal(sh_session_plan_find_draw(plan, 0.5 * (begin_s + end_s)), draw);
        assert_null(sh_session_plan_find_draw(plan, begin_s - 1e-3));
        assert_null(sh_session_plan_find_draw(plan, end_s));
    }
    sh_session_plan_close(&plan);
}

static void test_zero(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 1;
    config.drift_n_per_h = 36.0;
    config.drift_swing_n = 0.0;
    struct sh_session_plan *plan = open_plan(&config);
    assert_near(sh_session_plan_get_zero_n(plan, 100.0), 1.0, 1e-12, 0.0);
    sh_session_plan_close(&plan);
    config.drift_n_per_h = 0.0;
    config.drift_swing_n = 2.0;
    plan = open_plan(&config);
    double largest_n = 0.0;
    for (int i = 0; i < 600; i++) {
        largest_n = fmax(largest_n, fabs(sh_session_plan_get_zero_n(plan, i)));
    }
    assert_near(largest_n, 2.0, 0.01, 0.0);
    sh_session_plan_close(&plan);
}

/* Without clicker nothing needs one, and with the clock short the archer hurries. */
static void test_without_clicker(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 5;
    config.has_clicker = false;
    config.fault_ratio[get_bit(SH_ARCHER_FLINCH)] = 1.0;
    struct sh_session_plan *plan = open_plan(&config);
    for (size_t i = 0; i < plan->n_draws; i++) {
        assert_false(plan->truth[i].has_clicker);
        assert_int_equal(plan->truth[i].faults, 0);
        assert_int_equal(plan->truth[i].kind, SH_TRUTH_SHOT);
    }
    sh_session_plan_close(&plan);
}

static void test_hurry(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 6;
    config.set_up_low_s = config.set_up_high_s = 20.0;
    config.clock_s = 1000.0;
    struct sh_session_plan *calm = open_plan(&config);
    config.clock_s = 30.0;
    struct sh_session_plan *hurried = open_plan(&config);
    for (size_t i = 1; i < calm->n_draws; i++) {
        assert_near(calm->truth[i].setup_time_s - hurried->truth[i].setup_time_s, 5.0, 1e-9,
                    0.0);
    }
    sh_session_plan_close(&calm);
    sh_session_plan_close(&hurried);
}

struct refusal {
    size_t offset;
    double bad;
    double good;
};

#define AT(member) offsetof(struct sh_session_plan_config, member)

/* Each limit: refused beyond, with the setting's name; taken at it. */
/* Half draws are let-downs whose force stays far below the bow's. */
static void test_half_draws(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = 40;
    config.half_draw_ratio = 0.5;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    size_t n_half = 0;
    for (size_t i = 0; i < plan->n_draws; i++) {
        const struct sh_session_draw *draw = &plan->draw[i];
        const double force_n =
            sh_string_signal_get_force_n(&draw->string, draw->string.plan.loose_s);
        const bool is_half = draw->string.plan.short_ratio > 0.0;
        n_half += is_half ? 1 : 0;
        assert_true(is_half == (plan->truth[i].kind == SH_TRUTH_LET_DOWN));
        assert_true(is_half == (force_n < 0.85 * config.bow.full_force_n));
    }
    assert_in_range(n_half, 10, 30);
    sh_session_plan_close(&plan);
}

static void test_refusals(void **state)
{
    const struct refusal refusal[] = {
        {AT(end_rest_s), 9.9, 10.0},        {AT(end_rest_s), 3600.1, 3600.0},
        {AT(set_up_low_s), 4.9, 5.0},       {AT(set_up_high_s), 7.9, 8.0},
        {AT(set_up_high_s), 120.1, 120.0},  {AT(clock_s), -0.1, 0.0},
        {AT(clock_s), 3600.1, 3600.0},      {AT(hurry_ratio), 0.29, 0.3},
        {AT(fault_size_ratio), 2.1, 2.0},   {AT(fault_size_ratio), -0.1, 0.0},
        {AT(hurry_ratio), 1.01, 1.0},       {AT(drift_n_per_h), -100.1, -100.0},
        {AT(drift_n_per_h), 100.1, 100.0},  {AT(drift_swing_n), -0.1, 0.0},
        {AT(drift_swing_n), 10.1, 10.0},    {AT(fault_ratio), -0.1, 0.0},
        {AT(fault_ratio), 1.1, 1.0},        {AT(half_draw_ratio), 1.1, 1.0},
        {AT(drop_bend), -0.1, 0.0},         {AT(drop_bend), 1.1, 1.0},
        {AT(half_draw_ratio), -0.1, 0.0},   {AT(hurry_ratio), (double)NAN, 1.0},
        {AT(bow.full_force_n), 39.0, 40.0},
    };
    for (size_t i = 0; i < sizeof refusal / sizeof refusal[0]; i++) {
        struct sh_session_plan_config config = sh_session_plan_config_default();
        struct sh_session_plan *plan = NULL;
        struct sh_error err = {0};
        config.n_draws = 1;
        memcpy((char *)&config + refusal[i].offset, &refusal[i].bad, sizeof(double));
        assert_int_equal(sh_session_plan_open(&config, &plan, &err), SH_ERR_ARGUMENT);
        assert_null(plan);
        assert_int_equal(err.status, SH_ERR_ARGUMENT);
        assert_true(err.where[0] != '\0');
        memcpy((char *)&config + refusal[i].offset, &refusal[i].good, sizeof(double));
        if (refusal[i].offset != AT(bow.full_force_n)) {
            assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
            sh_session_plan_close(&plan);
        }
    }
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = 0;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_ERR_ARGUMENT);
    config.n_draws = SH_SESSION_PLAN_DRAWS_MAX + 1u;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_ERR_ARGUMENT);
    config.n_draws = 1;
    config.arrows_an_end = 0;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_ERR_ARGUMENT);
    config.arrows_an_end = 73;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_ERR_ARGUMENT);
    sh_session_plan_close(&plan);
}

static double get_since_s(const struct sh_session_plan *plan, size_t i)
{
    return i > 0 ? plan->draw[i].hand_s - sh_session_draw_get_done_s(&plan->draw[i - 1]) : 0.0;
}

/* Draws that follow within seconds, and shots of which the tab takes more; nothing else of the
 * session's chance is taken by them. */
static void test_what_is_odd(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plain = open_plan(&config);
    config.double_draw_ratio = 0.3;
    config.tab_ratio = 0.3;
    struct sh_session_plan *odd = open_plan(&config);
    size_t n_soon = 0;
    size_t n_tab = 0;
    for (size_t i = 0; i < odd->n_draws; i++) {
        const struct sh_truth *truth = &odd->truth[i];
        const bool has_tab = truth->finger_sum_ratio < 1.0;
        n_tab += has_tab ? 1 : 0;
        assert_true(plain->truth[i].finger_sum_ratio > 1.039);
        assert_true(!has_tab || truth->finger_sum_ratio > 0.8);
        assert_near(truth->hold_time_s, plain->truth[i].hold_time_s, 1e-9, 0.0);
        const double since_s = get_since_s(odd, i);
        const bool is_soon = since_s < get_since_s(plain, i) - 0.1;
        n_soon += is_soon ? 1 : 0;
        assert_true(!is_soon || since_s < 10.0 || since_s > config.end_rest_s);
        assert_true(i == 0 || sh_session_draw_get_begin_s(&odd->draw[i]) >=
                                  sh_session_draw_get_end_s(&odd->draw[i - 1]));
        const size_t k = (size_t)truth->end - 1u;
        assert_true(i >= odd->end[k].first_draw);
        assert_true(i < odd->end[k].first_draw + odd->end[k].n_draws);
    }
    assert_in_range(n_soon, 4, 18);
    assert_in_range(n_tab, 4, 18);
    sh_session_plan_close(&plain);
    sh_session_plan_close(&odd);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order),           cmocka_unit_test(test_seed),
        cmocka_unit_test(test_fault_ratios),    cmocka_unit_test(test_setup_time),
        cmocka_unit_test(test_find_draw),       cmocka_unit_test(test_zero),
        cmocka_unit_test(test_without_clicker), cmocka_unit_test(test_hurry),
        cmocka_unit_test(test_what_is_odd),     cmocka_unit_test(test_half_draws),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
