/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/chance.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_DRAWS 20000u
#define N_SEEDS ((size_t)32 * 32)

/* Within the limits, with the mean in the middle to 4 standard errors. */
static void test_between(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 1);
    double sum = 0.0;
    for (unsigned i = 0; i < N_DRAWS; i++) {
        const double x = sh_chance_between(&random, -1.0, 3.0);
        assert_true(x >= -1.0 && x < 3.0);
        sum += x;
    }
    assert_near(sum / N_DRAWS, 1.0, 4.0 * (4.0 / sqrt(12.0)) / sqrt(N_DRAWS), 0.0);
}

static void test_is(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 2);
    unsigned n = 0;
    for (unsigned i = 0; i < N_DRAWS; i++) {
        assert_false(sh_chance_is(&random, 0.0));
        assert_true(sh_chance_is(&random, 1.0));
        n += sh_chance_is(&random, 0.3) ? 1u : 0u;
    }
    assert_near((double)n / N_DRAWS, 0.3, 4.0 * sqrt(0.21 / N_DRAWS), 0.0);
}

/* Neighbouring seeds and parts share no seed, in either order of the two. */
static void test_seed(void **state)
{
    uint64_t seen[N_SEEDS];
    for (uint64_t seed = 0; seed < 32; seed++) {
        for (uint64_t part = 0; part < 32; part++) {
            seen[seed * 32 + part] = sh_chance_seed(seed, part);
        }
    }
    for (size_t i = 0; i < N_SEEDS; i++) {
        for (size_t j = 0; j < i; j++) {
            assert_true(seen[i] != seen[j]);
        }
    }
    assert_true(sh_chance_seed(7, 9) == seen[7 * 32 + 9]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_between),
        cmocka_unit_test(test_is),
        cmocka_unit_test(test_seed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
