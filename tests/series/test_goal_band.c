/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/goal_band.h"

#include <math.h>
#include <string.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_goal_band band = {2.0, 3.0};

static void test_where_a_hold_is(void **state)
{
    assert_int_equal(sh_goal_band_judge(&band, 1.999), SH_GOAL_SHORT);
    assert_int_equal(sh_goal_band_judge(&band, 2.0), SH_GOAL_INSIDE);
    assert_int_equal(sh_goal_band_judge(&band, 3.0), SH_GOAL_INSIDE);
    assert_int_equal(sh_goal_band_judge(&band, 3.001), SH_GOAL_LONG);
    assert_int_equal(sh_goal_band_judge(&band, (double)NAN), SH_GOAL_UNKNOWN);
}

/* Word and shape tell all four apart, without a colour. */
static void test_words_and_shapes(void **state)
{
    for (int i = 0; i < 4; i++) {
        const enum sh_goal_place a = (enum sh_goal_place)i;
        assert_int_equal(strlen(sh_goal_band_get_shape(a)), 5);
        for (int k = 0; k < i; k++) {
            const enum sh_goal_place b = (enum sh_goal_place)k;
            assert_string_not_equal(sh_goal_band_get_word(a), sh_goal_band_get_word(b));
            assert_string_not_equal(sh_goal_band_get_shape(a), sh_goal_band_get_shape(b));
        }
    }
}

/* 60 arrows: tens held 2.0, 2.05 ... 2.95 s, the others longer. By hand: the 20 best are the
 * tens; position 0.1 x 19 = 1.9 is 2.095 s, 17.1 is 2.855 s. */
static void test_a_band_from_the_best_arrows(void **state)
{
    double hold_s[60];
    double score[60];
    struct sh_goal_best best;
    for (size_t i = 0; i < 60; i++) {
        const size_t place = i * 7 % 60; /* in no order */
        hold_s[place] = i < 20 ? 2.0 + 0.05 * (double)i : 4.0 + 0.01 * (double)i;
        score[place] = i < 20 ? 10.0 : i < 40 ? 9.0 : 8.0;
    }
    assert_int_equal(sh_goal_band_find_best(hold_s, score, 60, &best), SH_OK);
    assert_int_equal(best.n_scored, 60);
    assert_int_equal(best.n_best, 20);
    assert_near(best.score, 10.0, 0, 0);
    assert_near(best.band.least_s, 2.095, 1e-12, 0);
    assert_near(best.band.most_s, 2.855, 1e-12, 0);
}

static void test_too_few_or_none_better(void **state)
{
    double hold_s[60];
    double score[60];
    struct sh_goal_best best;
    for (size_t i = 0; i < 60; i++) {
        hold_s[i] = 2.0 + 0.01 * (double)i;
        score[i] = i % 2 == 0 ? 10.0 : 9.0;
    }
    assert_int_equal(sh_goal_band_find_best(hold_s, score, 29, &best), SH_ERR_SHORT);
    assert_int_equal(best.n_scored, 29);
    assert_int_equal(sh_goal_band_find_best(hold_s, score, 38, &best),
                     SH_ERR_SHORT); /* 19 tens */
    assert_int_equal(best.n_best, 19);
    assert_int_equal(sh_goal_band_find_best(hold_s, score, 39, &best), SH_OK); /* 20 tens */
    assert_int_equal(best.n_best, 20);
    for (size_t i = 0; i < 60; i++) {
        hold_s[i] = 2.0;
    }
    assert_int_equal(sh_goal_band_find_best(hold_s, score, 60, &best), SH_ERR_ARGUMENT);
    for (size_t i = 0; i < 60; i++) {
        score[i] = 10.0;
    }
    assert_int_equal(sh_goal_band_find_best(hold_s, score, 60, &best), SH_ERR_ARGUMENT);
    assert_int_equal(best.n_best, 60);
}

/* Ends alike: what is left is Wilson's interval, the Student ratio aside, which goes to 1.
 * Wilson's of 160 of 200: 0.7391 to 0.8496 (R 4.2.2, prop.test(160, 200, correct = FALSE)). */
static void test_many_ends_give_wilsons_interval(void **state)
{
    enum sh_goal_place place[200];
    size_t end[200];
    struct sh_goal_share share;
    for (size_t i = 0; i < 200; i++) {
        end[i] = i / 5; /* 4 of 5 inside, in each end */
        place[i] = i % 5 == 0 ? SH_GOAL_LONG : SH_GOAL_INSIDE;
    }
    sh_goal_band_find_share(place, end, 200, &share);
    assert_int_equal(share.n_inside, 160);
    assert_int_equal(share.n_long, 40);
    assert_int_equal(share.n_ends, 40);
    assert_near(share.ratio, 0.8, 1e-12, 0);
    assert_near(share.lo, 0.7391, 0.004, 0);
    assert_near(share.hi, 0.8496, 0.004, 0);
}

static void test_few_ends_and_none(void **state)
{
    const enum sh_goal_place place[4] = {SH_GOAL_INSIDE, SH_GOAL_UNKNOWN, SH_GOAL_SHORT,
                                         SH_GOAL_INSIDE};
    const size_t one[4] = {0, 0, 0, 0};
    const size_t two[4] = {0, 0, 1, 1};
    struct sh_goal_share share;
    sh_goal_band_find_share(place, one, 4, &share);
    assert_int_equal(share.n, 3);
    assert_int_equal(share.n_short, 1);
    assert_int_equal(share.n_ends, 1);
    assert_false(share.has_interval);
    sh_goal_band_find_share(place, two, 4, &share);
    assert_true(share.has_interval);
    assert_true(share.lo < 0.1 && share.hi > 0.9); /* two ends say next to nothing */
    sh_goal_band_find_share(place, two, 0, &share);
    assert_int_equal(share.n, 0);
    assert_false(share.has_interval);
}

/* Simulated sessions of ends whose own share wanders: how often the interval holds the truth.
 */
static double find_coverage(double truth, double spread, size_t n_ends)
{
    enum { SESSIONS = 2000, EACH = 6 };
    struct sh_random random;
    size_t n_held = 0;
    sh_random_init(&random, 17);
    for (size_t s = 0; s < SESSIONS; s++) {
        enum sh_goal_place place[12 * EACH];
        size_t end[12 * EACH];
        struct sh_goal_share share;
        for (size_t i = 0; i < n_ends * EACH; i += EACH) {
            const double p = truth + (sh_random_get_uniform(&random) < 0.5 ? -spread : spread);
            for (size_t k = i; k < i + EACH; k++) {
                end[k] = i;
                place[k] = sh_random_get_uniform(&random) < p ? SH_GOAL_INSIDE : SH_GOAL_LONG;
            }
        }
        sh_goal_band_find_share(place, end, n_ends * EACH, &share);
        n_held += share.lo <= truth && truth <= share.hi ? 1 : 0;
    }
    return (double)n_held / SESSIONS;
}

/* At least 95 % less three standard errors of 2,000 sessions (0.015). */
static void test_the_interval_holds_what_it_says(void **state)
{
    static const double spreads[] = {0.0, 0.15, 0.25};
    for (size_t i = 0; i < 3; i++) {
        for (size_t n_ends = 4; n_ends <= 12; n_ends += 4) {
            const double covered = find_coverage(0.7, spreads[i], n_ends);
            print_message("spread %.2f, %zu ends: %.3f\n", spreads[i], n_ends, covered);
            assert_true(covered >= 0.935);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_where_a_hold_is),
        cmocka_unit_test(test_words_and_shapes),
        cmocka_unit_test(test_a_band_from_the_best_arrows),
        cmocka_unit_test(test_too_few_or_none_better),
        cmocka_unit_test(test_many_ends_give_wilsons_interval),
        cmocka_unit_test(test_few_ends_and_none),
        cmocka_unit_test(test_the_interval_holds_what_it_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
