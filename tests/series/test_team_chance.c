/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_chance.h"

#include <math.h>
#include <stdio.h>

#include "series/team_made.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define ARCHERS   3u
#define SEEDS     40u
#define QUANTILES 4000u
#define SESSIONS  100u

/* A team whose hand-overs take 4 s unless told otherwise. */
struct team {
    struct sh_team_times times[ARCHERS];
    struct sh_team_archer archers[ARCHERS];
    struct sh_team_plan plan;
    struct sh_team_chance_config config;
};

static void open_team(struct team *team, size_t n_arrows, size_t n_turn, double shooting_s)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        team_made_open(&team->times[a]);
        team->archers[a] = (struct sh_team_archer){
            &team->times[a], {.source = SH_TEAM_HAND_OVER_GIVEN, .low_s = 4.0, .high_s = 4.0}};
    }
    team->plan =
        (struct sh_team_plan){team->archers, ARCHERS, n_arrows, n_turn, shooting_s, false};
    team->config = (struct sh_team_chance_config){1, 10000, 100, 100};
}

static void close_team(struct team *team)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        sh_team_times_close(&team->times[a]);
    }
}

/* Runs the team with many seeds: the truth lies within 1.96 standard errors of the simulation
 * as often as it should, and never beyond 4. */
static void check_exact(struct team *team, double chance, double left_s)
{
    size_t n_within = 0;
    for (size_t seed = 1; seed <= SEEDS; seed++) {
        struct sh_team_chance got;
        team->config.seed = seed;
        assert_int_equal(sh_team_chance_get(&team->plan, &team->config, &got), SH_OK);
        const double error = fabs(got.orders[0].chance.value - chance);
        const double u = sqrt(chance * (1.0 - chance) / (double)team->config.n_runs);
        assert_near(got.orders[0].chance_u, u, 0, 0.2);
        assert_near(error, 0.0, 4.0 * u, 0);
        assert_near(got.orders[0].left_s.value, left_s, 1e-9, 0);
        n_within += error <= 1.96 * u ? 1 : 0;
    }
    assert_in_range(n_within, 34, SEEDS); /* 38 expected; fewer than 34: 1 in 100 */
}

/*
 * Each arrow takes 10 or 16 s, the slow one a quarter of the time: of six arrows the number of
 * slow ones is binomial. With two hand-overs of 4 s at most three are in time within 86 s:
 * 60 + 8 + 18. 16 ends with one further arrow each hold every pair as often as it should be.
 */
static void test_two_points(void **state)
{
    struct team team;
    double chance = 0.0;
    open_team(&team, 2, 2, 86.0);
    for (size_t a = 0; a < ARCHERS; a++) {
        for (size_t i = 0; i < 16; i++) {
            const double next_s = i % 4 == 0 ? 16.0 : 10.0;
            team_made_add(&team.times[a], SH_TEAM_FIRST_START, i / 4 == 0 ? 16.0 : 10.0,
                          &next_s, 1);
        }
    }
    for (int slow = 0; slow <= 3; slow++) {
        chance += exp(lgamma(7.0) - lgamma(slow + 1.0) - lgamma(7.0 - slow)) * pow(0.25, slow) *
                  pow(0.75, 6 - slow);
    }
    assert_near(chance, 0.96240234375, 1e-12, 0);
    check_exact(&team, chance, 86.0 - 8.0 - 6.0 * 11.5);
    close_team(&team);
}

/*
 * Let-downs of 12 s, one draw in five: before six arrows of 10 s their number is negative
 * binomial. Two are in time within 98 s: 60 + 8 + 24, three would take 104.
 */
static void test_let_downs(void **state)
{
    static const double next_s[1] = {10.0};
    struct team team;
    double chance = 0.0;
    open_team(&team, 2, 2, 98.0);
    for (size_t a = 0; a < ARCHERS; a++) {
        for (size_t i = 0; i < 6; i++) {
            team_made_add(&team.times[a], SH_TEAM_FIRST_START, 10.0, next_s, 1);
            if (i % 2 == 0) {
                team_made_let_down(&team.times[a], 12.0);
            }
        }
    }
    for (int n = 0; n <= 2; n++) {
        chance +=
            exp(lgamma(6.0 + n) - lgamma(6.0) - lgamma(n + 1.0)) * pow(0.8, 6) * pow(0.2, n);
    }
    check_exact(&team, chance, 98.0 - 8.0 - 60.0 - 6.0 * 12.0 * 0.25);
    close_team(&team);
}

/* Ends whose first arrows are the quantiles of an exponential distribution. */
static double add_exponential(struct sh_team_times *times, double mean_s)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < QUANTILES; i++) {
        const double first_s = -mean_s * log1p(-((double)i + 0.5) / QUANTILES);
        team_made_add(times, SH_TEAM_FIRST_START, first_s, NULL, 0);
        sum_s += first_s / QUANTILES;
    }
    return sum_s;
}

/*
 * Six arrows in turns of one, each exponential with a mean of 12 s: their sum is Erlang's, and
 * with five hand-overs of 4 s it is within 120 s with 1 - exp(-x) (1 + x + ... + x^5 / 120), x
 * = 100 / 12.
 */
static void test_erlang(void **state)
{
    struct team team;
    double sum_s = 0.0;
    double term = 1.0;
    double chance = 1.0;
    open_team(&team, 2, 1, 120.0);
    for (size_t a = 0; a < ARCHERS; a++) {
        sum_s += 2.0 * add_exponential(&team.times[a], 12.0);
    }
    for (int k = 0; k < 6; k++) {
        chance -= exp(-100.0 / 12.0) * term;
        term *= 100.0 / 12.0 / (k + 1.0);
    }
    assert_near(sum_s, 72.0, 0.02, 0);
    check_exact(&team, chance, 120.0 - 20.0 - sum_s);
    close_team(&team);
}

/* The same archer three times, but for chance: half a second between the quickest and the
 * slowest first arrow. */
static void shoot(struct team *team, struct sh_random *random, size_t n_ends)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        for (size_t end = 0; end < n_ends; end++) {
            double next_s[5];
            const double of_end = 13.0 * exp(0.1 * sh_random_get_normal(random));
            for (size_t i = 0; i < 5; i++) {
                next_s[i] = of_end * exp(0.2 * sh_random_get_normal(random));
            }
            team_made_add(&team->times[a], SH_TEAM_FIRST_START,
                          1.1 * of_end * exp(0.2 * sh_random_get_normal(random)), next_s, 5);
        }
    }
}

/* Whoever begins, the same is left: nothing was seen by which the orders could differ. */
static void test_orders_alike(void **state)
{
    struct team team;
    struct sh_team_chance got;
    struct sh_random random;
    open_team(&team, 2, 2, 100.0);
    sh_random_init(&random, 3);
    shoot(&team, &random, 6);
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_OK);
    assert_int_equal(got.n_orders, 6);
    assert_true(got.best.is_alike);
    assert_false(got.best.is_sure);
    for (size_t i = 1; i < got.n_orders; i++) {
        assert_near(got.orders[i].chance.value, got.orders[0].chance.value, 0, 0);
        assert_near(got.orders[i].left_s.value, got.orders[0].left_s.value, 1e-9, 0);
    }
    close_team(&team);
}

/* Rook needs 6 s to take over, the others 3: she begins, which saves three seconds. */
static void test_slow_hand_over(void **state)
{
    struct team team;
    struct sh_team_chance got;
    struct sh_random random;
    open_team(&team, 2, 2, 100.0);
    sh_random_init(&random, 3);
    shoot(&team, &random, 6);
    for (size_t a = 0; a < ARCHERS; a++) {
        team.archers[a].hand_over.low_s = team.archers[a].hand_over.high_s = a == 1 ? 6.0 : 3.0;
    }
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_OK);
    assert_false(got.best.is_alike);
    assert_int_equal(got.best.archer, 1);
    assert_near(got.best.gain_s.value, 3.0, 1e-9, 0);
    assert_near(got.best.gain_s.lo, 3.0, 1e-9, 0);
    assert_near(got.best.share_ratio, 1.0, 0, 0);
    assert_true(got.best.is_sure);
    assert_true(got.orders[2].chance.value > got.orders[0].chance.value);
    team.plan.is_first_handed = true; /* then nobody is spared it */
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_OK);
    assert_true(got.best.is_alike);
    close_team(&team);
}

/* Time left by turns, by hand: turns of 10, 11 or 12 s and 8 s, hand-overs of 4 s. */
static void test_turns(void **state)
{
    static const double next_s[1] = {8.0};
    struct team team;
    struct sh_team_chance got;
    open_team(&team, 2, 2, 100.0);
    for (size_t a = 0; a < ARCHERS; a++) {
        for (size_t i = 0; i < 5; i++) {
            team_made_add(&team.times[a], SH_TEAM_FIRST_START, 10.0 + (double)a, next_s, 1);
        }
    }
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_OK);
    const struct sh_team_chance_turn *turns = got.orders[5].turns; /* heron, rook, wren */
    static const size_t archers[3] = {2, 1, 0};
    static const double begins_s[3] = {100.0, 76.0, 53.0};
    static const double ends_s[3] = {80.0, 57.0, 35.0};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(turns[i].archer, archers[i]);
        assert_near(turns[i].begins_s, begins_s[i], 1e-9, 0);
        assert_near(turns[i].ends_s, ends_s[i], 1e-9, 0);
    }
    assert_near(got.orders[5].low_s, 35.0, 1e-9, 0);
    assert_near(got.archers[1].first_s[SH_TEAM_FIRST_START], 11.0, 1e-12, 0);
    assert_near(got.archers[1].next_s, 8.0, 1e-12, 0);
    assert_near(got.archers[1].hand_over_s, 4.0, 1e-12, 0);
    assert_near(got.archers[1].let_downs_s, 0.0, 0, 0);
    assert_near(got.orders[5].chance.lo, 1.0, 0, 0);
    team.plan.n_turn = 1; /* first arrows only, five hand-overs */
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_OK);
    assert_near(got.orders[0].left_s.value, 100.0 - 20.0 - 66.0, 1e-9, 0);
    assert_int_equal(got.orders[0].turns[3].archer, 0);
    close_team(&team);
}

/* The same seed gives the same figures, another one others. */
static void test_seed(void **state)
{
    struct team team;
    static struct sh_team_chance got[3];
    struct sh_random random;
    open_team(&team, 2, 2, 95.0);
    sh_random_init(&random, 9);
    shoot(&team, &random, 6);
    for (size_t i = 0; i < 3; i++) {
        team.config.seed = i == 2 ? 2 : 1;
        assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got[i]), SH_OK);
    }
    assert_near(got[1].orders[0].chance.value, got[0].orders[0].chance.value, 0, 0);
    assert_near(got[1].orders[0].chance.lo, got[0].orders[0].chance.lo, 0, 0);
    assert_near(got[1].orders[0].left_s.hi, got[0].orders[0].left_s.hi, 0, 0);
    assert_true(fabs(got[2].orders[0].chance.value - got[0].orders[0].chance.value) > 0.0);
    assert_true(fabs(got[2].orders[0].left_s.hi - got[0].orders[0].left_s.hi) > 0.0);
    close_team(&team);
}

/* What such a team truly does in one end. */
static double find_true_s(struct sh_random *random)
{
    double sum_s = 8.0;
    for (size_t a = 0; a < ARCHERS; a++) {
        const double of_end = 13.0 * exp(0.1 * sh_random_get_normal(random));
        sum_s += 1.1 * of_end * exp(0.2 * sh_random_get_normal(random));
        sum_s += of_end * exp(0.2 * sh_random_get_normal(random));
    }
    return sum_s;
}

/* Intervals hold the true chance, of sessions of n_ends ends, about as often as they say. */
static void check_intervals(size_t n_ends, double shooting_s, size_t least)
{
    struct sh_random random;
    size_t n_true = 0;
    size_t n_held = 0;
    sh_random_init(&random, 100 + n_ends);
    for (size_t i = 0; i < 100000; i++) {
        n_true += find_true_s(&random) <= shooting_s ? 1 : 0;
    }
    const double chance = (double)n_true / 100000.0;
    for (size_t i = 0; i < SESSIONS; i++) {
        struct team team;
        struct sh_team_chance got;
        open_team(&team, 2, 2, shooting_s);
        shoot(&team, &random, n_ends);
        team.config = (struct sh_team_chance_config){i, 2000, 300, 200};
        assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_OK);
        n_held += got.orders[0].chance.lo <= chance && chance <= got.orders[0].chance.hi;
        close_team(&team);
    }
    print_message("%zu ends, chance %.3f: held by %zu of %u intervals\n", n_ends, chance,
                  n_held, SESSIONS);
    assert_in_range(n_held, least, SESSIONS);
}

static void test_intervals(void **state)
{
    check_intervals(6, 95.0, 88);
    check_intervals(12, 95.0, 88);
    check_intervals(12, 108.0, 80); /* near certainty: some 89 of 100 */
}

static void test_refuses(void **state)
{
    struct team team;
    struct sh_team_chance got;
    struct sh_random random;
    open_team(&team, 2, 2, 95.0);
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_ERR_SHORT);
    sh_random_init(&random, 9);
    shoot(&team, &random, 6);
    team.config.n_runs = 99;
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_ERR_ARGUMENT);
    team.config = sh_team_chance_config_default();
    team.config.n_inner = 99;
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_ERR_ARGUMENT);
    team.config = sh_team_chance_config_default();
    team.plan.n_archers = 1;
    assert_int_equal(sh_team_chance_get(&team.plan, &team.config, &got), SH_ERR_ARGUMENT);
    close_team(&team);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_points),     cmocka_unit_test(test_let_downs),
        cmocka_unit_test(test_erlang),         cmocka_unit_test(test_orders_alike),
        cmocka_unit_test(test_slow_hand_over), cmocka_unit_test(test_turns),
        cmocka_unit_test(test_seed),           cmocka_unit_test(test_intervals),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
