/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/fall.h"

#include <math.h>
#include <stdlib.h>

#include "scene.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Rest, a hold of 100 N from 1 s to 2 s, and a straight fall of fall_s; 1 kHz. */
static bool find_straight(double fall_s, struct sh_fall *fall)
{
    double net_n[5000];
    for (size_t i = 0; i < 5000; i++) {
        const double t_s = 0.001 * (double)i;
        const double left = fall_s > 0.0 ? 1.0 - (t_s - 2.0) / fall_s : 0.0;
        net_n[i] = t_s < 1.0 ? 0.0 : t_s <= 2.0 ? 100.0 : 100.0 * fmax(0.0, left);
    }
    struct sh_pull *pull = NULL;
    assert_int_equal(sh_pull_open(1000.0, 5000, &pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, 5000, 0.0), SH_OK);
    const bool is_found = sh_fall_find(pull, 0, 4000, fall);
    sh_pull_close(&pull);
    return is_found;
}

static void test_length_of_a_straight_fall(void **state)
{
    static const double falls_s[] = {0.01, 0.05, 0.1, 0.2, 0.3};
    for (size_t i = 0; i < 5; i++) {
        struct sh_fall fall;
        assert_true(find_straight(falls_s[i], &fall));
        assert_near(fall.largest_n, 100.0, 1e-9, 0.0);
        assert_near(fall.begin, 2000.0 + 100.0 * falls_s[i], 1.0, 0.0);
        assert_near(fall.length_s, 0.8 * falls_s[i], 0.001, 0.0);
    }
}

static void test_kind_goes_by_the_length(void **state)
{
    struct sh_fall fall = {.length_s = 0.0};
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_ABSENT), SH_SHOT_SHOT);
    fall.length_s = SH_FALL_SHOT_MAX_S;
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_ABSENT), SH_SHOT_SHOT);
    fall.length_s = 0.0501;
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_ABSENT), SH_SHOT_LET_DOWN);
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_SEEN), SH_SHOT_SHOT);
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_UNKNOWN), SH_SHOT_UNRESOLVED);
    fall.length_s = 0.1499;
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_UNKNOWN), SH_SHOT_UNRESOLVED);
    fall.length_s = SH_FALL_LET_DOWN_MIN_S;
    assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_SEEN), SH_SHOT_LET_DOWN);
}

/* Shots and let-downs of the simulated archer are told apart at every rate. */
static void test_simulated_draws(void **state)
{
    static const double rates_hz[] = {80.0, 200.0, 1000.0, 3200.0};
    for (uint64_t seed = 0; seed < 60; seed++) {
        const bool is_let_down = seed % 3 == 0;
        struct scene scene;
        scene_make(&scene, is_let_down ? (unsigned)SH_ARCHER_LET_DOWN : 0u, seed);
        const struct scene_sampling how = {.rate_hz = rates_hz[seed % 4],
                                           .phase = 0.1 * (double)(seed % 10),
                                           .lead_s = 2.0,
                                           .tail_s = 2.5,
                                           .noise_n = 0.3,
                                           .seed = seed};
        size_t n = 0;
        double *net_n = scene_sample(&scene, &how, &n);
        struct sh_pull *pull = NULL;
        struct sh_fall fall;
        assert_int_equal(sh_pull_open(how.rate_hz, n, &pull, NULL), SH_OK);
        assert_int_equal(sh_pull_load(pull, net_n, n, how.noise_n), SH_OK);
        assert_true(sh_fall_find(pull, 0, pull->n, &fall));
        assert_int_equal(sh_fall_get_kind(&fall, SH_FALL_SHOCK_UNKNOWN),
                         is_let_down ? SH_SHOT_LET_DOWN : SH_SHOT_SHOT);
        sh_pull_close(&pull);
        free(net_n);
    }
}

static void test_what_is_no_fall(void **state)
{
    struct sh_pull *pull = NULL;
    struct sh_fall fall;
    double net_n[1000] = {0};
    assert_int_equal(sh_pull_open(1000.0, 1000, &pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, 1000, 0.0), SH_OK);
    assert_false(sh_fall_find(pull, 0, 1000, &fall)); /* never rose */
    for (size_t i = 500; i < 1000; i++) {
        net_n[i] = 100.0;
    }
    assert_int_equal(sh_pull_load(pull, net_n, 1000, 0.0), SH_OK);
    assert_false(sh_fall_find(pull, 0, 1000, &fall)); /* still up */
    sh_pull_close(&pull);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_length_of_a_straight_fall),
        cmocka_unit_test(test_kind_goes_by_the_length),
        cmocka_unit_test(test_simulated_draws),
        cmocka_unit_test(test_what_is_no_fall),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
