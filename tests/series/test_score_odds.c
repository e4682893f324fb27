/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/score_odds.h"

#include <math.h>

#include "series/shot_rows.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SESSIONS 400
#define AN_END   6u

/* An archer whose score may follow the hold. */
struct shooter {
    size_t n_ends;
    double slope;  /* of the log odds of a higher score, for one SD more hold */
    double end_sd; /* of hold and of score from end to end, in the SD within an end */
};

static double get_logistic_noise(struct sh_random *random)
{
    const double share = sh_random_get_uniform(random);
    return log(share / (1.0 - share));
}

/* Holds and four measures that have nothing to do with the score; scores 7 to 10. */
static void
shoot(const struct shooter *shooter, struct sh_random *random, struct sh_consistency_set *set)
{
    for (size_t end = 0; end < shooter->n_ends; end++) {
        const double hold_of_end = shooter->end_sd * sh_random_get_normal(random);
        const double score_of_end = shooter->end_sd * sh_random_get_normal(random);
        for (unsigned number = 1; number <= AN_END; number++) {
            struct sh_consistency_row *row = shot_rows_add(set, 0, end, number, 3.0);
            for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
                const double of_end = m == 0 ? hold_of_end : 0.0;
                row->value[m].value = 3.0 + 0.5 * (of_end + sh_random_get_normal(random));
            }
            const double z = (row->value[0].value - 3.0) / 0.5;
            const double latent =
                shooter->slope * z + score_of_end + get_logistic_noise(random);
            row->has_score = true;
            row->score = latent < -2.0 ? 7.0 : latent < 0.0 ? 8.0 : latent < 1.5 ? 9.0 : 10.0;
        }
    }
}

static void
find(const struct shooter *shooter, struct sh_random *random, struct sh_score_odds *odds)
{
    struct sh_consistency_set set = {0};
    shoot(shooter, random, &set);
    assert_int_equal(sh_score_odds_get(&set, odds), SH_OK);
    sh_consistency_set_close(&set);
}

/* In how many sessions any measure is said to go with the score. */
static size_t count_seen(const struct shooter *shooter, uint64_t seed)
{
    struct sh_random random;
    size_t n_seen = 0;
    sh_random_init(&random, seed);
    for (size_t i = 0; i < SESSIONS; i++) {
        struct sh_score_odds odds;
        bool is_seen = false;
        find(shooter, &random, &odds);
        for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
            is_seen = is_seen || sh_score_odds_is_seen(&odds.term[m]);
        }
        n_seen += is_seen ? 1 : 0;
    }
    return n_seen;
}

/* Where nothing goes with the score, little more than one session in twenty says so; of 400
 * sessions 20 are expected, and 33 would be three standard errors more. */
static void test_false_alarms(void **state)
{
    const struct shooter steady = {12, 0.0, 0.0};
    const struct shooter uneven = {12, 0.0, 0.5};
    const size_t n_steady = count_seen(&steady, 11);
    const size_t n_uneven = count_seen(&uneven, 12);
    print_message("false alarms of %d: %zu; ends that differ: %zu\n", SESSIONS, n_steady,
                  n_uneven);
    assert_true(n_steady <= 33);
    assert_true(n_uneven <= 33);
}

/* The interval holds the truth, and a clear link is found. */
static void test_intervals(void **state)
{
    const struct shooter shooter = {12, 0.8, 0.0};
    struct sh_random random;
    size_t n_hold = 0;
    size_t n_seen = 0;
    sh_random_init(&random, 13);
    for (size_t i = 0; i < SESSIONS; i++) {
        struct sh_score_odds odds;
        find(&shooter, &random, &odds);
        assert_int_equal(odds.why, SH_SCORE_ODDS_KNOWN);
        const struct sh_score_odds_term *term = &odds.term[SH_CONSISTENCY_HOLD];
        /* of the SD that this session had */
        const double truth = exp(shooter.slope * term->sd / 0.5);
        n_hold += term->lo <= truth && truth <= term->hi ? 1 : 0;
        n_seen += sh_score_odds_is_seen(term) ? 1 : 0;
    }
    print_message("intervals that hold the truth: %zu of %d; seen: %zu\n", n_hold, SESSIONS,
                  n_seen);
    assert_in_range(n_hold, 367, 393); /* 380 and three standard errors */
    assert_true(n_seen > 200);
}

/* What it says can be seen four times in five is. */
static void test_visible(void **state)
{
    struct shooter shooter = {12, 0.0, 0.0};
    struct sh_score_odds odds;
    struct sh_random random;
    size_t n_seen = 0;
    sh_random_init(&random, 14);
    find(&shooter, &random, &odds);
    shooter.slope =
        log(odds.term[SH_CONSISTENCY_HOLD].visible) / (odds.term[SH_CONSISTENCY_HOLD].sd / 0.5);
    for (size_t i = 0; i < SESSIONS; i++) {
        find(&shooter, &random, &odds);
        n_seen += sh_score_odds_is_seen(&odds.term[SH_CONSISTENCY_HOLD]) ? 1 : 0;
    }
    print_message("seen of %d: %zu\n", SESSIONS, n_seen);
    assert_in_range(n_seen, 280, 352);
}

/* The regression of signal/ordinal.h by itself says the same of the same rows. */
static void test_is_the_regression(void **state)
{
    const struct shooter shooter = {12, 0.8, 0.3};
    static double x[12 * AN_END * SH_CONSISTENCY_MEASURES];
    static size_t level[12 * AN_END];
    struct sh_consistency_set set = {0};
    struct sh_score_odds odds;
    struct sh_ordinal fit;
    struct sh_random random;
    sh_random_init(&random, 15);
    shoot(&shooter, &random, &set);
    for (size_t i = 0; i < set.n_rows; i++) {
        for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
            x[i * SH_CONSISTENCY_MEASURES + m] = set.rows[i].value[m].value;
        }
        level[i] = (size_t)(set.rows[i].score - 7.0);
    }
    const struct sh_ordinal_rows rows = {x, level, set.n_rows, SH_CONSISTENCY_MEASURES, 4};
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_OK);
    assert_int_equal(sh_score_odds_get(&set, &odds), SH_OK);
    assert_int_equal(odds.n, set.n_rows);
    assert_int_equal(odds.n_levels, 4);
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        assert_near(log(odds.term[m].ratio), fit.slope[m] * fit.sd[m], 0.0, 1e-12);
        assert_near(odds.term[m].p, fit.p[m], 0.0, 1e-12);
        assert_true(odds.term[m].p_of_all >= odds.term[m].p);
    }
    sh_consistency_set_close(&set);
}

/* Measures that are hardly shown are left out; shots that lack one of the others too. */
static void test_what_is_looked_at(void **state)
{
    const struct shooter shooter = {12, 0.8, 0.0};
    struct sh_consistency_set set = {0};
    struct sh_score_odds odds;
    struct sh_random random;
    sh_random_init(&random, 16);
    shoot(&shooter, &random, &set);
    for (size_t i = 0; i < set.n_rows; i++) {
        set.rows[i].value[SH_CONSISTENCY_REACTION] = sh_quantity_unknown(SH_WHY_NOT_ASKED);
        if (i % AN_END == 0) {
            set.rows[i].value[SH_CONSISTENCY_SETUP] = sh_quantity_unknown(SH_WHY_NOT_ASKED);
        }
    }
    set.rows[7].is_let_down = true;
    set.rows[8].has_score = false;
    assert_int_equal(sh_score_odds_get(&set, &odds), SH_OK);
    assert_int_equal(odds.why, SH_SCORE_ODDS_KNOWN);
    assert_false(odds.term[SH_CONSISTENCY_REACTION].is_in);
    assert_true(odds.term[SH_CONSISTENCY_SETUP].is_in);
    assert_int_equal(odds.n, 72 - 12 - 2);
    assert_int_equal(odds.n_least, 40);
    sh_consistency_set_close(&set);
}

static void check_why(struct sh_consistency_set *set, enum sh_score_odds_why expected)
{
    struct sh_score_odds odds;
    assert_int_equal(sh_score_odds_get(set, &odds), SH_OK);
    assert_int_equal(odds.why, expected);
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        assert_false(sh_score_odds_is_seen(&odds.term[m]));
    }
    sh_consistency_set_close(set);
}

static void test_what_cannot_be_had(void **state)
{
    const struct shooter few = {8, 0.0, 0.0}; /* 48 shots, 50 are needed */
    const struct shooter enough = {9, 0.0, 0.0};
    struct sh_consistency_set set = {0};
    struct sh_random random;
    sh_random_init(&random, 17);
    check_why(&set, SH_SCORE_ODDS_ALIKE);
    shoot(&few, &random, &set);
    check_why(&set, SH_SCORE_ODDS_FEW);
    shoot(&enough, &random, &set);
    for (size_t i = 0; i < set.n_rows; i++) {
        set.rows[i].score = 9.0;
    }
    check_why(&set, SH_SCORE_ODDS_ALIKE);
    shoot(&enough, &random, &set);
    for (size_t i = 0; i < set.n_rows; i++) {
        set.rows[i].score = 0.25 * (double)(i % 17); /* one level too many */
    }
    check_why(&set, SH_SCORE_ODDS_LEVELS);
    shoot(&enough, &random, &set);
    for (size_t i = 0; i < set.n_rows; i++) { /* the hold parts them */
        set.rows[i].score = set.rows[i].value[0].value > 3.0 ? 10.0 : 8.0;
    }
    check_why(&set, SH_SCORE_ODDS_PARTED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_false_alarms),      cmocka_unit_test(test_intervals),
        cmocka_unit_test(test_visible),           cmocka_unit_test(test_is_the_regression),
        cmocka_unit_test(test_what_is_looked_at), cmocka_unit_test(test_what_cannot_be_had),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
