/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/finger_sum.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N 21u

static void make(struct sh_quantity ratio[N])
{
    for (size_t i = 0; i < N; i++) { /* 1.04 to 1.06 in steps of 0.001: MAD 0.005 */
        ratio[i] = sh_quantity_known(1.04 + 0.001 * (double)i, 0.0);
    }
}

static void test_usual(void **state)
{
    struct sh_quantity ratio[N];
    double work[2 * N];
    struct sh_finger_sum_usual usual;
    make(ratio);
    assert_true(sh_finger_sum_find(ratio, N, work, &usual));
    assert_int_equal(usual.n, N);
    assert_near(usual.ratio, 1.05, 1e-12, 0.0);
    assert_near(usual.spread, 1.4826 * 0.005, 1e-9, 0.0);
    /* t(0.995) between 3.4995 of 7 and 3.3554 of 8 degrees of freedom: 7.4 here */
    assert_true(usual.reach_t < 3.4995 && usual.reach_t > 3.3554);
}

/* Just inside and just outside the limits; the ratio's own uncertainty widens them. */
static void test_limits(void **state)
{
    struct sh_quantity ratio[N];
    double work[2 * N];
    struct sh_finger_sum_usual usual;
    make(ratio);
    assert_true(sh_finger_sum_find(ratio, N, work, &usual));
    const double reach = usual.reach_t * usual.spread * sqrt(1.0 + 1.2533 * 1.2533 / (double)N);
    struct sh_quantity one = sh_quantity_known(1.05 - 0.999 * reach, 0.0);
    assert_false(sh_finger_sum_is_apart(&usual, &one));
    one = sh_quantity_known(1.05 - 1.001 * reach, 0.0);
    assert_true(sh_finger_sum_is_apart(&usual, &one));
    one = sh_quantity_known(1.05 + 1.001 * reach, 0.0);
    assert_true(sh_finger_sum_is_apart(&usual, &one));
    one.u = 0.1;
    assert_false(sh_finger_sum_is_apart(&usual, &one));
    one = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    assert_false(sh_finger_sum_is_apart(&usual, &one));
}

static void test_too_few(void **state)
{
    struct sh_quantity ratio[N];
    double work[2 * N];
    struct sh_finger_sum_usual usual;
    make(ratio);
    assert_true(sh_finger_sum_find(ratio, SH_FINGER_SUM_SHOTS_MIN, work, &usual));
    assert_false(sh_finger_sum_find(ratio, SH_FINGER_SUM_SHOTS_MIN - 1u, work, &usual));
    ratio[3] = sh_quantity_unknown(SH_WHY_GAP);
    assert_false(sh_finger_sum_find(ratio, SH_FINGER_SUM_SHOTS_MIN, work, &usual));
}

/* Normal ratios: no more than a few of a hundred disagree by chance, with few shots and many.
 */
static void test_by_chance(void **state)
{
    static const size_t n_shots[] = {9, 12, 36};
    struct sh_random random;
    sh_random_init(&random, 3);
    for (size_t k = 0; k < 3; k++) {
        size_t n_apart = 0;
        const size_t n = n_shots[k];
        for (size_t session = 0; session < 400; session++) {
            struct sh_quantity ratio[36];
            double work[72];
            struct sh_finger_sum_usual usual;
            for (size_t i = 0; i < n; i++) {
                ratio[i] = sh_quantity_known(1.05 + 0.01 * sh_random_get_normal(&random), 0.0);
            }
            assert_true(sh_finger_sum_find(ratio, n, work, &usual));
            for (size_t i = 0; i < n; i++) {
                n_apart += sh_finger_sum_is_apart(&usual, &ratio[i]) ? 1 : 0;
            }
        }
        assert_true((double)n_apart / (400.0 * (double)n) < 0.02);
        assert_true(n_apart > 0);
    }
}

static void make_sessions(struct sh_finger_sum_usual sessions[4])
{
    for (size_t i = 0; i < 4; i++) { /* medians 1.02, 1.04, 1.06, 1.08 */
        sessions[i] = (struct sh_finger_sum_usual){
            .n = 12, .ratio = 1.02 + 0.02 * (double)i, .spread = 0.01};
    }
}

/* 3 sessions know what is usual, 2 do not. */
static void test_past(void **state)
{
    struct sh_finger_sum_usual sessions[4];
    struct sh_finger_sum_past past = {.n_sessions = 0};
    const struct sh_quantity far = sh_quantity_known(9.0, 0.0);
    make_sessions(sessions);
    assert_false(sh_finger_sum_is_apart_from_past(&past, &far));
    assert_false(sh_finger_sum_find_past(sessions, 2, &past));
    assert_int_equal(past.n_sessions, 0);
    assert_true(sh_finger_sum_find_past(sessions, 3, &past));
    assert_true(sh_finger_sum_find_past(sessions, 4, &past));
    assert_int_equal(past.n_sessions, 4);
    assert_near(past.ratio, 1.05, 1e-12, 0.0);
    assert_near(past.spread, sqrt((2 * 0.03 * 0.03 + 2 * 0.01 * 0.01) / 3.0), 1e-12, 0.0);
    assert_near(past.shot_spread, 0.01, 1e-12, 0.0);
    assert_near(past.reach_t, 5.840909309733357, 0.0, 1e-9); /* SciPy, t.ppf(0.995, 3) */
}

static void test_limits_of_the_past(void **state)
{
    struct sh_finger_sum_usual sessions[4];
    struct sh_finger_sum_past past;
    make_sessions(sessions);
    assert_true(sh_finger_sum_find_past(sessions, 4, &past));
    const double reach =
        past.reach_t * sqrt(1.25 * past.spread * past.spread + 0.01 * 0.01 + 0.02 * 0.02);
    for (int side = -1; side <= 1; side += 2) {
        struct sh_quantity one = sh_quantity_known(1.05 + side * 0.999 * reach, 0.02);
        assert_false(sh_finger_sum_is_apart_from_past(&past, &one));
        one = sh_quantity_known(1.05 + side * 1.001 * reach, 0.02);
        assert_true(sh_finger_sum_is_apart_from_past(&past, &one));
        one = sh_quantity_unknown(SH_WHY_GAP);
        assert_false(sh_finger_sum_is_apart_from_past(&past, &one));
    }
}

/* Sessions spread more than their shots do: still at most one shot of a hundred by chance. */
static void test_past_by_chance(void **state)
{
    struct sh_random random;
    size_t n_apart = 0;
    sh_random_init(&random, 4);
    for (size_t round = 0; round < 4000; round++) {
        struct sh_finger_sum_usual sessions[4];
        struct sh_finger_sum_past past;
        for (size_t i = 0; i < 4; i++) {
            sessions[i] = (struct sh_finger_sum_usual){
                .n = 36, .ratio = 1.05 + 0.03 * sh_random_get_normal(&random), .spread = 0.01};
        }
        assert_true(sh_finger_sum_find_past(sessions, 4, &past));
        const double level = 1.05 + 0.03 * sh_random_get_normal(&random);
        for (size_t i = 0; i < 10; i++) {
            const struct sh_quantity ratio =
                sh_quantity_known(level + 0.01 * sh_random_get_normal(&random), 0.0);
            n_apart += sh_finger_sum_is_apart_from_past(&past, &ratio) ? 1 : 0;
        }
    }
    assert_in_range(n_apart, 40, 400); /* of 40,000 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_usual),          cmocka_unit_test(test_limits),
        cmocka_unit_test(test_too_few),        cmocka_unit_test(test_by_chance),
        cmocka_unit_test(test_past),           cmocka_unit_test(test_limits_of_the_past),
        cmocka_unit_test(test_past_by_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
