/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hodges_lehmann.h"

#include <float.h>
#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* 0 2 against 1 5: differences 1 5 -1 3, median 2. Three of 4 against 4 ranks: too few. */
static void test_by_hand(void **state)
{
    const double x[2] = {0.0, 2.0};
    const double y[2] = {1.0, 5.0};
    const struct sh_hodges_lehmann_lists lists = {x, 2, y, 2};
    double work[SH_HODGES_LEHMANN_WORK(2, 2)];
    struct sh_hodges_lehmann got;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.95, work, &got), SH_OK);
    assert_near(got.shift, 2.0, 1e-15, 0.0);
    assert_true(got.is_exact);
    assert_true(got.is_short); /* 6 arrangements cannot hold 95 % */
    assert_near(got.lo, -1.0, 0.0, 0.0);
    assert_near(got.hi, 5.0, 0.0, 0.0);
    /* means 0 1 2 1 2 (of 0 and 4) 3 (of 2, 4) 4 and so on */
    const double one[3] = {1.0, 2.0, 4.0};
    assert_int_equal(sh_hodges_lehmann_get_centre(one, 3, 0.5, work, &got), SH_OK);
    assert_near(got.shift, 2.25, 1e-15, 0.0); /* 1 1.5 2 2.5 3 4 */
}

/* Rank-sum law of 4 and 4, printed in tables: 2.5 % leaves rank 1, U = 0 of 70 ways. */
static void test_tabled_rank(void **state)
{
    const double x[4] = {0.0, 0.011, 0.023, 0.037};
    const double y[4] = {1.0, 1.19, 1.41, 1.67};
    const struct sh_hodges_lehmann_lists lists = {x, 4, y, 4};
    double work[SH_HODGES_LEHMANN_WORK(4, 4)];
    struct sh_hodges_lehmann got;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.95, work, &got), SH_OK);
    assert_false(got.is_short);
    assert_near(got.lo, 1.0 - 0.037, 1e-15, 0.0);
    assert_near(got.hi, 1.67, 1e-15, 0.0);
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.98, work, &got), SH_OK);
    assert_true(got.is_short);
}

static double draw(struct sh_random *random, size_t kind)
{
    const double value = sh_random_get_normal(random);
    return kind == 2 ? round(4.0 * value) / 4.0 : value; /* the third kind has ties */
}

static void fill(struct sh_random *random, size_t kind, double shift, double *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = shift + draw(random, kind);
    }
}

/* How often the limits of the shift and of the centre hold 0.75. */
static void count_held(size_t kind, size_t n, size_t m, size_t n_runs, double shares[2])
{
    static double work[SH_HODGES_LEHMANN_WORK(60, 60)];
    double x[60];
    double y[60];
    struct sh_random random;
    struct sh_hodges_lehmann got;
    size_t n_held[2] = {0, 0};
    sh_random_init(&random, 31);
    for (size_t r = 0; r < n_runs; r++) {
        fill(&random, kind, 0.0, x, n);
        fill(&random, kind, 0.75, y, m);
        const struct sh_hodges_lehmann_lists lists = {x, n, y, m};
        assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.95, work, &got), SH_OK);
        assert_int_equal(got.is_exact, kind == 0);
        n_held[0] += got.lo <= 0.75 && 0.75 <= got.hi ? 1 : 0;
        assert_int_equal(sh_hodges_lehmann_get_centre(y, m, 0.95, work, &got), SH_OK);
        n_held[1] += got.lo <= 0.75 && 0.75 <= got.hi ? 1 : 0;
    }
    shares[0] = (double)n_held[0] / (double)n_runs;
    shares[1] = (double)n_held[1] / (double)n_runs;
}

/* Exact (12 and 9), normal (60 and 55) and tied lists: how often the limits hold the shift. */
static void test_coverage(void **state)
{
    const size_t n[3] = {12, 60, 30};
    const size_t m[3] = {9, 55, 25};
    for (size_t kind = 0; kind < 3; kind++) {
        double shares[2];
        count_held(kind, n[kind], m[kind], 1500, shares);
        for (size_t k = 0; k < 2; k++) { /* ties: a limit may lie on the truth, which is in */
            assert_true(shares[k] > 0.935);
            assert_true(shares[k] < (kind == 2 ? 0.995 : 0.975));
        }
    }
}

/* A quarter of wild numbers moves neither the shift nor its limits far. */
static void test_wild(void **state)
{
    double x[20];
    double y[20];
    double work[SH_HODGES_LEHMANN_WORK(20, 20)];
    for (size_t i = 0; i < 20; i++) {
        x[i] = 0.01 * (double)i;
        y[i] = 3.0 + 0.011 * (double)i + (i % 5 == 4 ? 1e9 : 0.0);
    }
    const struct sh_hodges_lehmann_lists lists = {x, 20, y, 20};
    struct sh_hodges_lehmann got;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.95, work, &got), SH_OK);
    assert_near(got.shift, 3.0, 0.2, 0.0);
    assert_near(got.hi, 3.0, 0.3, 0.0);
}

static void test_refusals(void **state)
{
    const double x[2] = {1.0, 2.0};
    const double broken[2] = {1.0, (double)NAN};
    const double huge[2] = {-DBL_MAX, DBL_MAX};
    double work[SH_HODGES_LEHMANN_WORK(2, 2)];
    struct sh_hodges_lehmann got;
    struct sh_hodges_lehmann_lists lists = {x, 2, x, 2};
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.0, work, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hodges_lehmann_get_centre(x, 2, 1.0, work, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hodges_lehmann_get_centre(x, 0, 0.9, work, &got), SH_ERR_SHORT);
    assert_int_equal(sh_hodges_lehmann_get_centre(broken, 2, 0.9, work, &got),
                     SH_ERR_NOT_FINITE);
    lists.m = 0;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.9, work, &got), SH_ERR_SHORT);
    lists.m = SH_HODGES_LEHMANN_MAX + 1;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.9, work, &got), SH_ERR_ARGUMENT);
    lists.m = 2;
    lists.y = broken;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.9, work, &got), SH_ERR_NOT_FINITE);
    lists.x = huge;
    lists.y = huge;
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.9, work, &got), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),  cmocka_unit_test(test_tabled_rank),
        cmocka_unit_test(test_coverage), cmocka_unit_test(test_wild),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
