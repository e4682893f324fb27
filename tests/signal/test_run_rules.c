/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/run_rules.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_MAX 32u

static const struct sh_control_chart plain = {.centre = 0.0, .sigma = 1.0};

/* The place of the first value that a rule marks; n where none. */
static size_t find_mark(const double *x, const bool *present, size_t n, enum sh_run_rule rule)
{
    unsigned marks[N_MAX];
    assert_int_equal(sh_run_rules_mark(x, present, n, &plain, SH_RUN_RULE_BIT(rule), marks),
                     SH_OK);
    size_t i = 0;
    while (i < n && marks[i] == 0) {
        i++;
    }
    return i;
}

/* Each rule just met, and just not. */
static void test_each(void **state)
{
    const double beyond[2] = {3.0, -3.001};
    const double two[3] = {2.1, 0.0, 2.1};
    const double two_sides[3] = {2.1, -2.1, 0.0};
    const double two_before[3] = {2.1, 2.1, 0.0};
    const double four[5] = {-1.1, -1.1, 0.3, -1.1, -1.1};
    const double four_not[5] = {-1.1, -1.1, 0.3, 1.1, -1.1};
    assert_int_equal(find_mark(beyond, NULL, 2, SH_RUN_RULE_BEYOND), 1);
    assert_int_equal(find_mark(two, NULL, 3, SH_RUN_RULE_TWO_OF_THREE), 2);
    assert_int_equal(find_mark(two_sides, NULL, 3, SH_RUN_RULE_TWO_OF_THREE), 3);
    assert_int_equal(find_mark(two_before, NULL, 3, SH_RUN_RULE_TWO_OF_THREE), 1);
    assert_int_equal(find_mark(four, NULL, 5, SH_RUN_RULE_FOUR_OF_FIVE), 4);
    assert_int_equal(find_mark(four_not, NULL, 5, SH_RUN_RULE_FOUR_OF_FIVE), 5);
    double x[N_MAX];
    for (size_t i = 0; i < N_MAX; i++) {
        x[i] = i == 3 ? 0.0 : 0.1; /* on no side there */
    }
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_ONE_SIDE), 12);
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_INSIDE), 14);
    for (size_t i = 0; i < N_MAX; i++) {
        x[i] = i % 2 == 0 ? 1.5 : -1.2;
    }
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_OUTSIDE), 7);
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_ALTERNATING), 13);
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_TREND), N_MAX);
    x[5] = x[4]; /* and so like x[6]: a run begins anew there */
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_ALTERNATING), 19);
    for (size_t i = 0; i < N_MAX; i++) {
        x[i] = (double)i - (i > 2 ? 1.0 : 0.0); /* 2 and 3 alike */
    }
    assert_int_equal(find_mark(x, NULL, N_MAX, SH_RUN_RULE_TREND), 8);
}

/* A gap ends runs, and nothing is read there. */
static void test_gap(void **state)
{
    double x[N_MAX];
    bool present[N_MAX];
    unsigned marks[N_MAX];
    for (size_t i = 0; i < N_MAX; i++) {
        present[i] = i != 5;
        x[i] = present[i] ? 0.5 : (double)NAN;
    }
    assert_int_equal(find_mark(x, present, N_MAX, SH_RUN_RULE_ONE_SIDE), 14);
    x[4] = x[6] = 9.0;
    assert_int_equal(find_mark(x, present, N_MAX, SH_RUN_RULE_TWO_OF_THREE), N_MAX);
    assert_int_equal(sh_run_rules_mark(x, present, N_MAX, &plain, SH_RUN_RULES_ALL, marks),
                     SH_OK);
    assert_int_equal(marks[5], 0);
    assert_int_equal(marks[6], SH_RUN_RULE_BIT(SH_RUN_RULE_BEYOND));
    assert_int_equal(sh_run_rules_mark(x, NULL, N_MAX, &plain, SH_RUN_RULES_ALL, marks),
                     SH_ERR_NOT_FINITE);
}

static void add_marks(const unsigned *marks, size_t n, size_t n_marks[SH_RUN_RULES_N])
{
    for (size_t i = 0; i < n; i++) {
        for (size_t rule = 0; rule < SH_RUN_RULES_N; rule++) {
            n_marks[rule] += (marks[i] >> rule) & 1u;
        }
    }
}

/* A million steady values: each rule marks the share it says. */
static void test_false_alarms(void **state)
{
    enum { RUNS = 50, N = 20000 };
    static double x[N];
    static unsigned marks[N];
    size_t n_marks[SH_RUN_RULES_N] = {0};
    struct sh_random random;
    sh_random_init(&random, 6);
    const struct sh_control_chart chart = {.centre = 40.0, .sigma = 2.5};
    for (size_t run = 0; run < RUNS; run++) {
        for (size_t i = 0; i < N; i++) {
            x[i] = 40.0 + 2.5 * sh_random_get_normal(&random);
        }
        assert_int_equal(sh_run_rules_mark(x, NULL, N, &chart, SH_RUN_RULES_ALL, marks), SH_OK);
        add_marks(marks, N, n_marks);
    }
    const double n = (double)RUNS * N;
    for (size_t rule = 0; rule < SH_RUN_RULES_N; rule++) {
        const double expected = sh_run_rules_get_false_alarm((enum sh_run_rule)rule);
        /* marks come in runs: allow five times the error of independent ones */
        assert_near((double)n_marks[rule] / n, expected, 5.0 * sqrt(expected / n), 0.0);
    }
    assert_near(sh_run_rules_get_false_alarm(SH_RUN_RULE_BEYOND), 0.0026998, 1e-7, 0.0);
}

static void test_refusals(void **state)
{
    const double x[2] = {0.0, 1.0};
    unsigned marks[2];
    struct sh_control_chart chart = plain;
    assert_int_equal(sh_run_rules_mark(x, NULL, 2, &chart, SH_RUN_RULES_ALL + 1u, marks),
                     SH_ERR_ARGUMENT);
    chart.sigma = 0.0;
    assert_int_equal(sh_run_rules_mark(x, NULL, 2, &chart, SH_RUN_RULES_DEFAULT, marks),
                     SH_ERR_ARGUMENT);
    chart.sigma = (double)NAN;
    assert_int_equal(sh_run_rules_mark(x, NULL, 2, &chart, SH_RUN_RULES_DEFAULT, marks),
                     SH_ERR_NOT_FINITE);
    assert_int_equal(sh_run_rules_mark(x, NULL, 2, &plain, 0u, marks), SH_OK);
    assert_int_equal(marks[1], 0);
    assert_true(isnan(sh_run_rules_get_false_alarm(SH_RUN_RULES_N)));
    assert_null(sh_run_rules_text(SH_RUN_RULES_N));
    for (unsigned rule = 0; rule < (unsigned)SH_RUN_RULES_N; rule++) {
        assert_non_null(sh_run_rules_text((enum sh_run_rule)rule));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each),
        cmocka_unit_test(test_gap),
        cmocka_unit_test(test_false_alarms),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
