/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/permutation.h"

#include <float.h>
#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/reference.h"

#define BLOCKS_MAX 64u

struct room {
    double sum[BLOCKS_MAX];
    size_t count[BLOCKS_MAX];
    size_t order[BLOCKS_MAX];
    bool is_second[BLOCKS_MAX];
};

static enum sh_status
run(const struct sh_permutation_config *config, bool is_signs, struct sh_permutation *result)
{
    static struct room room;
    const struct sh_permutation_work work = {room.sum, room.count, room.order, room.is_second};
    return is_signs ? sh_permutation_test_signs(config, &work, result)
                    : sh_permutation_test_kinds(config, &work, result);
}

static const double darwin[15] = {49.0, -67.0, 8.0,  16.0, 6.0,  23.0, 28.0, 41.0,
                                  14.0, 29.0,  56.0, 24.0, 75.0, 60.0, -48.0};
static const double samples[10] = {2.9, 3.1, 3.4, 2.7, 3.3, 3.6, 3.9, 3.2, 4.1, 3.8};
static const bool kinds[10] = {false, false, false, false, false, true, true, true, true, true};

static void test_darwin(void **state)
{
    const struct sh_permutation_config config = {
        .x = darwin, .n_blocks = 15, .n_exact = 1u << 15, .n_draws = 1};
    struct sh_permutation got;
    assert_int_equal(run(&config, true, &got), SH_OK);
    assert_true(got.is_exact);
    assert_int_equal(got.n_tried, 32768);
    sh_reference_row("Darwin's 15 pairs: exact sign-flip p", "Fisher 1935, sec. 21",
                     1726.0 / 32768.0, got.p, 1e-15);
    assert_near(got.p_least, 2.0 / 32768.0, 1e-18, 0.0);
    assert_near(got.difference, 314.0 / 15.0, 1e-13, 0.0);
}

static void test_two_samples(void **state)
{
    const struct sh_permutation_config config = {
        .x = samples, .n_blocks = 10, .is_second = kinds, .n_exact = 252, .n_draws = 1};
    struct sh_permutation got;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_true(got.is_exact);
    assert_int_equal(got.n_tried, 252);
    sh_reference_row("two samples: exact permutation p", "three programs", 0.0238095238, got.p,
                     5e-11);
    assert_near(got.p, 6.0 / 252.0, 1e-16, 0.0);
    assert_near(got.p_least, 2.0 / 252.0, 1e-16, 0.0);
    assert_near(got.n_arrangements, 252.0, 0.0, 0.0);
}

/* A large common level changes neither p nor which arrangements tie. */
static void test_level(void **state)
{
    double raised[10];
    for (size_t i = 0; i < 10; i++) {
        raised[i] = 4096.0 + 0.001 * samples[i];
    }
    const struct sh_permutation_config config = {
        .x = raised, .n_blocks = 10, .is_second = kinds, .n_exact = 252, .n_draws = 1};
    struct sh_permutation got;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_near(got.difference, 0.001 * 0.64, 1e-12, 0.0);
    assert_near(got.p, 6.0 / 252.0, 2.1 / 252.0, 0.0);
}

static void test_drawn(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 7);
    struct sh_permutation_config config = {.x = samples,
                                           .n_blocks = 10,
                                           .is_second = kinds,
                                           .n_exact = 251,
                                           .n_draws = 20000,
                                           .random = &random};
    struct sh_permutation got;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_false(got.is_exact);
    assert_int_equal(got.n_tried, 20000);
    assert_near(got.p_u, sqrt(got.p * (1.0 - got.p) / 20000.0), 1e-16, 0.0);
    assert_near(got.p, 6.0 / 252.0, 4.0 * got.p_u, 0.0);
    assert_near(got.p_least, 1.0 / 20001.0, 1e-18, 0.0);
    config.x = darwin;
    config.n_blocks = 15;
    assert_int_equal(run(&config, true, &got), SH_OK);
    assert_near(got.p, 1726.0 / 32768.0, 4.0 * got.p_u, 0.0);
    struct sh_permutation again; /* the same seed, the same answer */
    sh_random_init(&random, 7);
    config.x = samples;
    config.n_blocks = 10;
    assert_int_equal(run(&config, false, &again), SH_OK);
    sh_random_init(&random, 7);
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_near(again.p, got.p, 0.0, 0.0);
}

/* Two blocks a kind: 6 arrangements, by hand. Means of the blocks 0, 1, 4, 5 of 3 values each.
 */
static void test_blocks(void **state)
{
    double x[12];
    const size_t first[5] = {0, 3, 6, 9, 12};
    const double level[4] = {0.0, 1.0, 4.0, 5.0};
    const bool second[4] = {false, false, true, true};
    for (size_t i = 0; i < 12; i++) {
        x[i] = level[i / 3] + 0.1 * ((double)(i % 3) - 1.0);
    }
    const struct sh_permutation_config config = {
        .x = x, .first = first, .n_blocks = 4, .is_second = second, .n_exact = 6, .n_draws = 1};
    struct sh_permutation got;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_near(got.difference, 4.0, 1e-13, 0.0);
    assert_near(got.p, 2.0 / 6.0, 1e-15, 0.0);
    assert_near(got.p_least, 2.0 / 6.0, 1e-15, 0.0);
}

/* Ends alternated within two sessions: kinds change places within a session only, 2 x 2 ways.
 */
static void test_strata(void **state)
{
    const double x[4] = {0.0, 1.0, 10.0, 11.0};
    const bool second[4] = {false, true, false, true};
    const size_t stratum[3] = {0, 2, 4};
    struct sh_permutation_config config = {.x = x,
                                           .n_blocks = 4,
                                           .is_second = second,
                                           .stratum = stratum,
                                           .n_strata = 2,
                                           .n_exact = 100,
                                           .n_draws = 20000};
    struct sh_permutation got;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_int_equal(got.n_tried, 4);
    assert_near(got.difference, 1.0, 1e-14, 0.0);
    assert_near(got.p, 2.0 / 4.0, 1e-15, 0.0); /* -1, 0, 0, 1 */
    struct sh_random random;
    sh_random_init(&random, 11);
    config.n_exact = 3;
    config.random = &random;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_near(got.p, 0.5, 4.0 * got.p_u, 0.0);
    config.stratum = NULL; /* all over, 6 ways: -10, -1, 0, 0, 1, 10 */
    config.n_exact = 6;
    assert_int_equal(run(&config, false, &got), SH_OK);
    assert_near(got.p, 4.0 / 6.0, 1e-15, 0.0);
}

#define SESSIONS ((size_t)8)
#define ARROWS   ((size_t)12) /* in each */

/* Arrows of sessions with a level of their own, SD 0.5 of that within a session. */
static void draw_sessions(struct sh_random *random, double x[SESSIONS * ARROWS])
{
    for (size_t i = 0; i < SESSIONS; i++) {
        const double session = 0.5 * sh_random_get_normal(random);
        for (size_t k = 0; k < ARROWS; k++) {
            x[i * ARROWS + k] = session + sh_random_get_normal(random);
        }
    }
}

/*
 * Two kinds of 4 sessions each with nothing changed: permuting sessions raises the promised
 * share of false alarms, permuting arrows many more.
 */
static void test_false_alarms(void **state)
{
    enum { RUNS = 400 };
    double x[SESSIONS * ARROWS];
    size_t first[SESSIONS + 1];
    bool second[SESSIONS];
    bool arrows[SESSIONS * ARROWS];
    double sum[SESSIONS * ARROWS];
    size_t count[SESSIONS * ARROWS];
    size_t order[SESSIONS * ARROWS];
    bool is_second[SESSIONS * ARROWS];
    const struct sh_permutation_work work = {sum, count, order, is_second};
    size_t n_alarms[2] = {0, 0};
    struct sh_random random;
    struct sh_permutation got;
    sh_random_init(&random, 3);
    for (size_t i = 0; i < SESSIONS * ARROWS; i++) {
        first[i / ARROWS] = i / ARROWS * ARROWS;
        second[i / ARROWS] = i / ARROWS >= SESSIONS / 2;
        arrows[i] = second[i / ARROWS];
    }
    first[SESSIONS] = SESSIONS * ARROWS;
    const struct sh_permutation_config by_session = {.x = x,
                                                     .first = first,
                                                     .n_blocks = SESSIONS,
                                                     .is_second = second,
                                                     .n_exact = 70,
                                                     .n_draws = 1};
    const struct sh_permutation_config by_arrow = {.x = x,
                                                   .n_blocks = SESSIONS * ARROWS,
                                                   .is_second = arrows,
                                                   .n_draws = 200,
                                                   .random = &random};
    for (size_t r = 0; r < RUNS; r++) {
        draw_sessions(&random, x);
        assert_int_equal(sh_permutation_test_kinds(&by_session, &work, &got), SH_OK);
        n_alarms[0] += got.p <= 4.0 / 70.0 + 1e-12 ? 1 : 0; /* a level these blocks can hold */
        assert_int_equal(sh_permutation_test_kinds(&by_arrow, &work, &got), SH_OK);
        n_alarms[1] += got.p <= 4.0 / 70.0 ? 1 : 0;
    }
    const double share = (double)n_alarms[0] / RUNS;
    assert_near(share, 4.0 / 70.0, 3.0 * sqrt(4.0 / 70.0 / RUNS), 0.0);
    assert_true((double)n_alarms[1] / RUNS > 0.25);
}

static void test_refusals(void **state)
{
    struct sh_permutation got;
    struct sh_permutation_config config = {
        .x = samples, .n_blocks = 10, .is_second = kinds, .n_exact = 252, .n_draws = 1};
    config.n_draws = 0;
    assert_int_equal(run(&config, false, &got), SH_ERR_ARGUMENT);
    assert_int_equal(run(&config, true, &got), SH_ERR_ARGUMENT);
    config.n_draws = 1;
    config.n_exact = 251; /* would have to draw, but from what? */
    assert_int_equal(run(&config, false, &got), SH_ERR_ARGUMENT);
    assert_int_equal(run(&config, true, &got), SH_ERR_ARGUMENT);
    config.n_exact = 252;
    config.is_second = NULL;
    assert_int_equal(run(&config, false, &got), SH_ERR_ARGUMENT);
    config.is_second = kinds;
    config.n_blocks = 5;
    assert_int_equal(run(&config, false, &got), SH_ERR_SHORT);
    config.n_blocks = 0;
    assert_int_equal(run(&config, false, &got), SH_ERR_SHORT);
    assert_int_equal(run(&config, true, &got), SH_ERR_SHORT);
    const size_t first[3] = {0, 5, 5};
    config.first = first;
    config.n_blocks = 2;
    assert_int_equal(run(&config, false, &got), SH_ERR_ARGUMENT);
    config.first = NULL;
    config.n_blocks = 10;
    const size_t apart[3] = {0, 5, 10};
    const size_t partly[3] = {0, 5, 9};
    const size_t still[3] = {0, 5, 5};
    config.n_strata = 2;
    config.stratum = apart;
    assert_int_equal(run(&config, false, &got), SH_ERR_SINGULAR);
    config.stratum = partly;
    assert_int_equal(run(&config, false, &got), SH_ERR_ARGUMENT);
    config.stratum = still;
    assert_int_equal(run(&config, false, &got), SH_ERR_ARGUMENT);
    config.stratum = NULL;
    double broken[10] = {(double)NAN};
    config.x = broken;
    assert_int_equal(run(&config, false, &got), SH_ERR_NOT_FINITE);
    broken[0] = DBL_MAX;
    broken[1] = DBL_MAX;
    broken[9] = -DBL_MAX;
    assert_int_equal(run(&config, false, &got), SH_ERR_NOT_FINITE);
    config.n_exact = 1024;
    assert_int_equal(run(&config, true, &got), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_darwin),   cmocka_unit_test(test_two_samples),
        cmocka_unit_test(test_level),    cmocka_unit_test(test_drawn),
        cmocka_unit_test(test_blocks),   cmocka_unit_test(test_strata),
        cmocka_unit_test(test_refusals), cmocka_unit_test(test_false_alarms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
