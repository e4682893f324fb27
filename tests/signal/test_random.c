/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/random.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* splitmix64 of seed 0, then the first outputs worked out by another program (integers). */
static void test_known_sequence(void **state)
{
    const uint64_t words[4] = {UINT64_C(0xe220a8397b1dcdaf), UINT64_C(0x6e789e6aa1b965f4),
                               UINT64_C(0x06c45d188009454f), UINT64_C(0xf88bb8a8724c81ec)};
    const uint64_t bits[4] = {UINT64_C(0x99ec5f36cb75f2b4), UINT64_C(0xbf6e1f784956452a),
                              UINT64_C(0x1a5f849d4933e6e0), UINT64_C(0x6aa594f1262d2d2c)};
    struct sh_random random;
    sh_random_init(&random, 0);
    for (size_t i = 0; i < 4; i++) {
        assert_true(random.word[i] == words[i]);
    }
    for (size_t i = 0; i < 4; i++) {
        assert_true(sh_random_get_bits(&random) == bits[i]);
    }
}

static void test_uniform(void **state)
{
    static const size_t n = 100000;
    struct sh_random random;
    sh_random_init(&random, 7);
    double sum = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        double u = sh_random_get_uniform(&random);
        assert_true(u >= 0.0 && u < 1.0);
        sum += u;
        squares += (u - 0.5) * (u - 0.5);
    }
    /* five standard errors */
    assert_near(sum / (double)n, 0.5, 5.0 * sqrt(1.0 / 12.0 / (double)n), 0.0);
    assert_near(squares / (double)n, 1.0 / 12.0, 5.0 * sqrt(1.0 / 180.0 / (double)n), 0.0);
}

/* Moments and the share within one and two standard deviations, each within 5 standard errors.
 */
static void test_normal(void **state)
{
    static const size_t n = 200000;
    struct sh_random random;
    sh_random_init(&random, 11);
    double moment[4] = {0.0};
    double within[2] = {0.0};
    for (size_t i = 0; i < n; i++) {
        double x = sh_random_get_normal(&random);
        double power = 1.0;
        for (size_t k = 0; k < 4; k++) {
            power *= x;
            moment[k] += power / (double)n;
        }
        within[0] += fabs(x) < 1.0 ? 1.0 / (double)n : 0.0;
        within[1] += fabs(x) < 2.0 ? 1.0 / (double)n : 0.0;
    }
    const double root = 5.0 / sqrt((double)n);
    assert_near(moment[0], 0.0, root, 0.0);
    assert_near(moment[1], 1.0, root * sqrt(2.0), 0.0);
    assert_near(moment[2], 0.0, root * sqrt(15.0), 0.0);
    assert_near(moment[3], 3.0, root * sqrt(96.0), 0.0);
    for (size_t k = 0; k < 2; k++) {
        double p = erf((double)(k + 1) * sqrt(0.5));
        assert_near(within[k], p, root * sqrt(p * (1.0 - p)), 0.0);
    }
}

static void test_below(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 3);
    double counts[7] = {0.0};
    for (size_t i = 0; i < 70000; i++) {
        uint64_t k = sh_random_get_below(&random, 7);
        assert_true(k < 7);
        counts[k] += 1.0;
    }
    for (size_t k = 0; k < 7; k++) {
        assert_near(counts[k], 10000.0, 5.0 * sqrt(10000.0 * 6.0 / 7.0), 0.0);
    }
    assert_true(sh_random_get_below(&random, 1) == 0);
    /* three quarters of all numbers would be refused wrongly, or a third be doubled */
    const uint64_t bound = (UINT64_C(1) << 63) + (UINT64_C(1) << 62);
    double n_low = 0.0;
    for (size_t i = 0; i < 30000; i++) {
        uint64_t x = sh_random_get_below(&random, bound);
        assert_true(x < bound);
        n_low += x < bound / 3 ? 1.0 : 0.0;
    }
    assert_near(n_low, 10000.0, 5.0 * sqrt(30000.0 * 2.0 / 9.0), 0.0);
    struct sh_random twin = random;
    assert_true(sh_random_get_below(&random, 0) == sh_random_get_bits(&twin));
}

/* Each of the six orders of three as often as the others; nothing lost. */
static void test_shuffle(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 5);
    double counts[9] = {0.0};
    for (size_t i = 0; i < 60000; i++) {
        size_t index[3] = {0, 1, 2};
        sh_random_shuffle(&random, index, 3);
        assert_int_equal(index[0] + index[1] + index[2], 3);
        assert_int_equal(index[0] * index[1] * index[2], 0);
        counts[3 * index[0] + index[1]] += 1.0;
    }
    for (size_t k = 0; k < 9; k++) {
        double expected = k % 4 == 0 ? 0.0 : 10000.0;
        assert_near(counts[k], expected, 5.0 * sqrt(expected * 5.0 / 6.0), 0.0);
    }
    sh_random_shuffle(&random, NULL, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_sequence), cmocka_unit_test(test_uniform),
        cmocka_unit_test(test_normal),         cmocka_unit_test(test_below),
        cmocka_unit_test(test_shuffle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
