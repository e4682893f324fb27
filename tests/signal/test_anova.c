/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/anova.h"

#include <float.h>
#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Groups 1 2 3, 4 6, 8: means 2, 5, 8, all 4; between 12 + 2 + 16 = 30, within 2 + 2 = 4. */
static void test_by_hand(void **state)
{
    const double x[6] = {1.0, 2.0, 3.0, 4.0, 6.0, 8.0};
    const size_t first[4] = {0, 3, 5, 6};
    const struct sh_anova_groups groups = {x, first, 3};
    struct sh_anova a;
    assert_int_equal(sh_anova_get(&groups, &a), SH_OK);
    assert_near(a.mean, 4.0, 1e-15, 0.0);
    assert_near(a.between_squares, 30.0, 1e-13, 0.0);
    assert_near(a.within_squares, 4.0, 1e-14, 0.0);
    assert_int_equal(a.between_freedom, 2);
    assert_int_equal(a.within_freedom, 3);
    assert_near(a.f, 15.0 / (4.0 / 3.0), 0.0, 1e-14);
    assert_near(a.within_sd, sqrt(4.0 / 3.0), 0.0, 1e-14);
    assert_near(a.r_squared, 30.0 / 34.0, 0.0, 1e-14);
    assert_near(a.group_size, (6.0 - 14.0 / 6.0) / 2.0, 0.0, 1e-14);
    assert_near(a.between_variance, (15.0 - 4.0 / 3.0) / a.group_size, 0.0, 1e-14);
    /* with 2 degrees of freedom above, p = (1 + 2 f / freedom2)^(-freedom2 / 2) */
    assert_near(a.p, pow(1.0 + 2.0 * a.f / 3.0, -1.5), 0.0, 1e-12);
    assert_false(a.is_cut);
}

/* Many sessions of 6 with known components: both come back. */
static void test_components(void **state)
{
    enum { GROUPS = 2000, SIZE = 6 };
    static double x[GROUPS * SIZE];
    static size_t first[GROUPS + 1];
    struct sh_random random;
    sh_random_init(&random, 20);
    for (size_t i = 0; i < GROUPS; i++) {
        const double group = 0.5 * sh_random_get_normal(&random);
        for (size_t k = 0; k < SIZE; k++) {
            x[i * SIZE + k] = 1e6 + group + 1.5 * sh_random_get_normal(&random);
        }
        first[i + 1] = (i + 1) * SIZE;
    }
    const struct sh_anova_groups groups = {x, first, GROUPS};
    struct sh_anova a;
    assert_int_equal(sh_anova_get(&groups, &a), SH_OK);
    assert_near(a.within_sd, 1.5, 0.03, 0.0);
    assert_near(a.between_variance, 0.25, 0.06, 0.0);
    assert_near(a.group_size, SIZE, 1e-12, 0.0);
    assert_true(a.p < 1e-6);
}

/* Groups whose means agree better than chance: the component is cut, and said to be. */
static void test_cut(void **state)
{
    const double x[4] = {1.0, 3.0, 0.5, 3.5};
    const size_t first[3] = {0, 2, 4};
    const struct sh_anova_groups groups = {x, first, 2};
    struct sh_anova a;
    assert_int_equal(sh_anova_get(&groups, &a), SH_OK);
    assert_true(a.is_cut);
    assert_near(a.between_variance, 0.0, 0.0, 0.0);
    assert_near(a.p, 1.0, 1e-12, 0.0);
}

static void check_refused(const double *x, const size_t *first, size_t n, enum sh_status why)
{
    const struct sh_anova_groups groups = {x, first, n};
    struct sh_anova a;
    assert_int_equal(sh_anova_get(&groups, &a), why);
}

static void test_refusals(void **state)
{
    const double x[4] = {1.0, 3.0, 0.5, 3.5};
    const double flat[4] = {1.0, 1.0, 2.0, 2.0};
    const double broken[4] = {1.0, (double)INFINITY, 0.5, 3.5};
    const double huge[4] = {-DBL_MAX, DBL_MAX, 0.5, 3.5};
    const size_t two[3] = {0, 2, 4};
    const size_t empty[3] = {0, 0, 4};
    const size_t single[5] = {0, 1, 2, 3, 4};
    check_refused(x, two, 1, SH_ERR_SHORT);
    check_refused(x, single, 4, SH_ERR_SHORT);
    check_refused(x, empty, 2, SH_ERR_ARGUMENT);
    check_refused(broken, two, 2, SH_ERR_NOT_FINITE);
    check_refused(huge, two, 2, SH_ERR_NOT_FINITE);
    check_refused(flat, two, 2, SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_components),
        cmocka_unit_test(test_cut),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
