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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_usual),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_too_few),
        cmocka_unit_test(test_by_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
