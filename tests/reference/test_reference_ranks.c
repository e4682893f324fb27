/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ranks, correlations, shifts and permutations against SciPy and R. */
#include <stdio.h>

#include "signal/anova.h"
#include "signal/hodges_lehmann.h"
#include "signal/holm.h"
#include "signal/permutation.h"
#include "signal/rank.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define N_MAX 300u

struct room {
    size_t order[N_MAX];
    double rank_x[N_MAX];
    double rank_y[N_MAX];
};

static void test_correlations(void **state)
{
    const size_t sizes[4] = {5, 8, 41, 300};
    static struct room room;
    const struct sh_rank_work work = {room.order, room.rank_x, room.rank_y};
    struct sh_reference_file *file = sh_reference_open("ranks");
    const double *x = sh_reference_get(file, "x", NULL);
    const double *y = sh_reference_get(file, "y", NULL);
    assert_int_equal(sh_rank_make(x, N_MAX, room.order, room.rank_x), SH_OK);
    sh_reference_series("ranks with ties", "SciPy", sh_reference_get(file, "rank_x", NULL),
                        room.rank_x, N_MAX, 0.0);
    for (size_t i = 0; i < 4; i++) {
        const struct sh_rank_pairs pairs = {x, y, sizes[i]};
        struct sh_rank_correlation got;
        char name[64];
        (void)snprintf(name, sizeof(name), "spearman_%zu", sizes[i]);
        const double *expected = sh_reference_get(file, name, NULL);
        assert_int_equal(sh_rank_get_spearman(&pairs, 0.95, &work, &got), SH_OK);
        (void)snprintf(name, sizeof(name), "Spearman of %zu pairs", sizes[i]);
        sh_reference_row(name, "SciPy", expected[0], got.value, 1e-14);
        (void)snprintf(name, sizeof(name), "Spearman of %zu pairs, p", sizes[i]);
        sh_reference_row(name, "SciPy", expected[1], got.p, 1e-11 * expected[1]);
        (void)snprintf(name, sizeof(name), "kendall_%zu", sizes[i]);
        expected = sh_reference_get(file, name, NULL);
        assert_int_equal(sh_rank_get_kendall(&pairs, 0.95, &work, &got), SH_OK);
        (void)snprintf(name, sizeof(name), "Kendall of %zu pairs", sizes[i]);
        sh_reference_row(name, "SciPy", expected[0], got.value, 1e-14);
        (void)snprintf(name, sizeof(name), "Kendall of %zu pairs, p", sizes[i]);
        sh_reference_row(name, "SciPy", expected[1], got.p, 1e-11 * expected[1]);
    }
    sh_reference_close(&file);
}

static void
check_shift(const char *what, const double *expected, const struct sh_hodges_lehmann *got)
{
    const double values[3] = {got->shift, got->lo, got->hi};
    const char *const names[3] = {"", ", lower limit", ", upper limit"};
    for (size_t k = 0; k < 3; k++) {
        char check[64];
        (void)snprintf(check, sizeof(check), "%s%s", what, names[k]);
        sh_reference_row(check, "R wilcox.test", expected[k], values[k], 1e-14);
    }
}

static void test_shifts(void **state)
{
    double work[SH_HODGES_LEHMANN_WORK(17, 13)];
    struct sh_reference_file *file = sh_reference_open("robust");
    struct sh_hodges_lehmann got;
    struct sh_hodges_lehmann_lists lists = {.n = 0};
    lists.x = sh_reference_get(file, "shift_x", &lists.n);
    lists.y = sh_reference_get(file, "shift_y", &lists.m);
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.95, work, &got), SH_OK);
    assert_true(got.is_exact);
    check_shift("Hodges-Lehmann shift", sh_reference_get(file, "shift", NULL), &got);
    assert_int_equal(sh_hodges_lehmann_get_centre(lists.y, lists.m, 0.95, work, &got), SH_OK);
    check_shift("Hodges-Lehmann centre", sh_reference_get(file, "centre", NULL), &got);
    lists.x = sh_reference_get(file, "sleep_1", &lists.n);
    lists.y = sh_reference_get(file, "sleep_2", &lists.m);
    assert_int_equal(sh_hodges_lehmann_get_shift(&lists, 0.95, work, &got), SH_OK);
    sh_reference_row("Hodges-Lehmann shift of R's sleep data", "R",
                     sh_reference_get(file, "sleep_shift", NULL)[0], got.shift, 1e-14);
    sh_reference_close(&file);
}

static void test_holm(void **state)
{
    struct sh_reference_file *file = sh_reference_open("robust");
    size_t n = 0;
    const double *p = sh_reference_get(file, "chances", &n);
    size_t order[7];
    double adjusted[7];
    assert_int_equal(n, 7);
    assert_int_equal(sh_holm_adjust(p, n, order, adjusted), SH_OK);
    sh_reference_series("seven chances adjusted by Holm's steps", "R p.adjust",
                        sh_reference_get(file, "holm", NULL), adjusted, n, 1e-15);
    sh_reference_close(&file);
}

static void test_permutations(void **state)
{
    double x[16];
    double sum[16];
    size_t count[16];
    size_t order[16];
    bool is_second[16];
    bool kinds[16];
    const struct sh_permutation_work work = {sum, count, order, is_second};
    struct sh_reference_file *file = sh_reference_open("ranks");
    const double *first = sh_reference_get(file, "first", NULL);
    const double *second = sh_reference_get(file, "second", NULL);
    for (size_t i = 0; i < 16; i++) {
        x[i] = i < 7 ? first[i] : second[i - 7];
        kinds[i] = i >= 7;
    }
    struct sh_permutation_config config = {
        .x = x, .n_blocks = 16, .is_second = kinds, .n_exact = 1u << 20, .n_draws = 1};
    struct sh_permutation got;
    const double *expected = sh_reference_get(file, "permutation", NULL);
    assert_int_equal(sh_permutation_test_kinds(&config, &work, &got), SH_OK);
    sh_reference_row("two samples of 7 and 9: difference", "SciPy", expected[0], got.difference,
                     1e-14);
    sh_reference_row("two samples of 7 and 9: exact p", "SciPy", expected[1], got.p, 1e-12);
    config.x = second;
    config.n_blocks = 9;
    expected = sh_reference_get(file, "signs", NULL);
    assert_int_equal(sh_permutation_test_signs(&config, &work, &got), SH_OK);
    sh_reference_row("9 differences: exact sign-flip p", "SciPy", expected[1], got.p, 1e-15);
    sh_reference_close(&file);
}

static void test_anova(void **state)
{
    double x[20];
    const size_t start[4] = {0, 7, 16, 20};
    const char *const names[3] = {"first", "second", "third"};
    struct sh_reference_file *file = sh_reference_open("ranks");
    for (size_t i = 0; i < 3; i++) {
        const double *group = sh_reference_get(file, names[i], NULL);
        for (size_t k = start[i]; k < start[i + 1]; k++) {
            x[k] = group[k - start[i]];
        }
    }
    const struct sh_anova_groups groups = {x, start, 3};
    const double *expected = sh_reference_get(file, "anova", NULL);
    struct sh_anova got;
    assert_int_equal(sh_anova_get(&groups, &got), SH_OK);
    sh_reference_row("three groups: F", "SciPy", expected[0], got.f, 1e-13);
    sh_reference_row("three groups: p", "SciPy", expected[1], got.p, 1e-12);
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_correlations), cmocka_unit_test(test_shifts),
        cmocka_unit_test(test_holm),         cmocka_unit_test(test_permutations),
        cmocka_unit_test(test_anova),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
