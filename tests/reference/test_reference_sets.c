/* SPDX-License-Identifier: GPL-3.0-or-later */
/* NIST's sets of one variable, analysis of variance, and regression on several columns. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "signal/anova.h"
#include "signal/regression.h"
#include "signal/stats.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define CERTIFIED_FIRST 31u /* lines of a file, from 1 */
#define DATA_FIRST      61u
#define VALUES_MAX      20000u
#define GROUPS_MAX      32u
#define LINE_BYTES      256u
#define DIGITS_MOST     15.0

static const char source[] = "NIST StRD";

static double count_digits(double got, double expected)
{
    const double error = fabs(got - expected) / fabs(expected);
    return error > 1e-15 ? fmin(-log10(error), DIGITS_MOST) : DIGITS_MOST;
}

/* A row with the value, and the number of its digits that agree. */
static void
check_digits(const char *set, const char *what, double expected, double got, double digits)
{
    char check[96];
    (void)snprintf(check, sizeof(check), "%s: %s", set, what);
    sh_reference_row(check, source, expected, got, pow(10.0, -digits) * fabs(expected));
    (void)snprintf(check, sizeof(check), "%s: digits of %s, at least %g", set, what, digits);
    sh_reference_row(check, source, DIGITS_MOST, count_digits(got, expected),
                     DIGITS_MOST - digits);
}

/* Name, and digits wanted of SD and of correlation with the next. */
struct list {
    const char *name;
    double sd_digits;
    double correlation_digits;
};

/* NumAcc3 and 4: what their decimal values in binary leave is 9.5 and 8.3 digits. */
static void test_one_variable(void **state)
{
    const struct list lists[] = {
        {"Lew", 14.0, 13.5},      {"Lottery", 14.0, 13.5},  {"Mavro", 12.5, 12.5},
        {"Michelso", 13.0, 12.5}, {"PiDigits", 14.0, 13.0}, {"NumAcc1", 14.5, 14.5},
        {"NumAcc2", 14.0, 13.5},  {"NumAcc3", 9.0, 9.0},    {"NumAcc4", 8.0, 8.0},
    };
    struct sh_reference_file *file = sh_reference_open("nist_univariate");
    for (size_t i = 0; i < sizeof(lists) / sizeof(lists[0]); i++) {
        char name[32];
        size_t n = 0;
        double mean = 0.0;
        double sd = 0.0;
        double correlation = 0.0;
        (void)snprintf(name, sizeof(name), "%s_certified", lists[i].name);
        const double *expected = sh_reference_get(file, name, NULL);
        const double *x = sh_reference_get(file, lists[i].name, &n);
        assert_int_equal(sh_stats_get_mean(x, n, &mean, &sd), SH_OK);
        assert_int_equal(sh_stats_get_autocorrelation(x, n, 1, &correlation), SH_OK);
        check_digits(lists[i].name, "mean", expected[0], mean, 14.5);
        check_digits(lists[i].name, "SD", expected[1], sd, lists[i].sd_digits);
        check_digits(lists[i].name, "autocorrelation", expected[2], correlation,
                     lists[i].correlation_digits);
    }
    sh_reference_close(&file);
}

struct groups {
    double x[VALUES_MAX];
    size_t first[GROUPS_MAX + 1];
    size_t n_groups;
    double certified[4]; /* squares between, squares within, F, residual SD */
};

/* The last n numbers of a line. */
static void read_last(const char *line, size_t n, double *numbers)
{
    double all[8];
    size_t n_read = 0;
    for (const char *place = line; *place != '\0' && n_read < 8;) {
        char *end = NULL;
        all[n_read] = strtod(place, &end);
        if (end != place && strpbrk(place, "0123456789") < end) {
            n_read++;
            place = end;
        } else {
            place++;
        }
    }
    assert_true(n_read >= n);
    memcpy(numbers, all + n_read - n, n * sizeof(*numbers));
}

static void read_certified(const char *line, struct groups *g)
{
    double numbers[3];
    if (strncmp(line, "Between", 7) == 0) {
        read_last(line, 3, numbers);
        g->certified[0] = numbers[0];
        g->certified[2] = numbers[2];
    } else if (strncmp(line, "Within", 6) == 0) {
        read_last(line, 2, numbers);
        g->certified[1] = numbers[0];
    } else if (strstr(line, "Standard Deviation") != NULL) {
        read_last(line, 1, &g->certified[3]);
    }
}

static FILE *open_set(const char *name)
{
    char path[512];
    (void)snprintf(path, sizeof(path), SH_TESTS_DIR "/reference/nist/%s.dat", name);
    FILE *stream = fopen(path, "r");
    if (stream == NULL) {
        fail_msg("%s is missing", path);
    }
    return stream;
}

static void read_groups(const char *name, struct groups *g)
{
    char line[LINE_BYTES];
    size_t n = 0;
    FILE *stream = open_set(name);
    memset(g, 0, sizeof(*g));
    for (size_t n_lines = 1; fgets(line, sizeof(line), stream) != NULL; n_lines++) {
        if (n_lines >= CERTIFIED_FIRST && n_lines < DATA_FIRST) {
            read_certified(line, g);
        }
        char *end = line;
        const unsigned long group = strtoul(line, &end, 10);
        if (n_lines < DATA_FIRST || end == line) {
            continue;
        }
        assert_true(n < VALUES_MAX && group < GROUPS_MAX);
        g->x[n++] = strtod(end, NULL);
        g->first[group] = n;
        g->n_groups = group;
    }
    (void)fclose(stream);
    assert_true(n > 2);
}

/* Name, and digits wanted of F and of the residual SD. */
struct expectation {
    const char *name;
    double f_digits;
    double sd_digits;
};

/*
 * Leading digits that never change leave the rest of them: AtmWtAg (7 such), SmLs04-06 (7) and
 * SmLs07-09 (13) lose them before any arithmetic is done.
 */
static void test_variance(void **state)
{
    const struct expectation sets[] = {
        {"SiRstv", 12.0, 12.0}, {"AtmWtAg", 9.5, 9.5},  {"SmLs01", 13.5, 13.5},
        {"SmLs02", 13.0, 13.0}, {"SmLs03", 12.5, 12.5}, {"SmLs04", 9.0, 9.0},
        {"SmLs05", 9.0, 9.0},   {"SmLs06", 9.0, 9.0},   {"SmLs07", 3.5, 3.5},
        {"SmLs08", 3.5, 3.5},   {"SmLs09", 3.5, 3.5},
    };
    static struct groups g;
    for (size_t i = 0; i < sizeof(sets) / sizeof(sets[0]); i++) {
        struct sh_anova anova;
        read_groups(sets[i].name, &g);
        const struct sh_anova_groups groups = {g.x, g.first, g.n_groups};
        assert_int_equal(sh_anova_get(&groups, &anova), SH_OK);
        check_digits(sets[i].name, "F", g.certified[2], anova.f, sets[i].f_digits);
        check_digits(sets[i].name, "residual SD", g.certified[3], anova.within_sd,
                     sets[i].sd_digits);
        check_digits(sets[i].name, "squares between", g.certified[0], anova.between_squares,
                     sets[i].f_digits);
    }
}

/* Longley: employment on six columns that rise together. */
struct longley {
    double x[16 * 6];
    double y[16];
    double coefficient[7];
    double sd[7];
    double residual_sd;
};

static void read_longley(struct longley *set)
{
    char line[LINE_BYTES];
    double numbers[7];
    size_t n = 0;
    size_t n_terms = 0;
    FILE *stream = open_set("Longley");
    memset(set, 0, sizeof(*set));
    for (size_t n_lines = 1; fgets(line, sizeof(line), stream) != NULL; n_lines++) {
        const char *start = line + strspn(line, " ");
        if (n_lines >= DATA_FIRST && strspn(start, "0123456789") > 0) {
            assert_true(n < 16);
            read_last(line, 7, numbers);
            set->y[n] = numbers[0];
            memcpy(set->x + 6 * n++, numbers + 1, 6 * sizeof(*numbers));
        } else if (n_lines >= CERTIFIED_FIRST && start[0] == 'B' && n_terms < 7) {
            read_last(strchr(start, ' '), 2, numbers);
            set->coefficient[n_terms] = numbers[0];
            set->sd[n_terms++] = numbers[1];
        } else if (strncmp(start, "Standard Deviation ", 19) == 0 &&
                   strpbrk(start, "0123456789") != NULL) {
            read_last(start, 1, &set->residual_sd);
        }
    }
    (void)fclose(stream);
    assert_int_equal(n, 16);
    assert_int_equal(n_terms, 7);
}

static void test_longley(void **state)
{
    struct longley set;
    double work[SH_REGRESSION_WORK(16, 6)];
    struct sh_regression got;
    read_longley(&set);
    const struct sh_regression_rows rows = {set.x, set.y, 16, 6};
    assert_int_equal(sh_regression_solve(&rows, work, &got), SH_OK);
    for (size_t k = 0; k < 7; k++) {
        char what[32];
        (void)snprintf(what, sizeof(what), "B%zu", k);
        check_digits("Longley", what, set.coefficient[k], got.coefficient[k], 13.0);
        (void)snprintf(what, sizeof(what), "SD of B%zu", k);
        check_digits("Longley", what, set.sd[k], got.u[k], 13.0);
    }
    check_digits("Longley", "residual SD", set.residual_sd, got.residual_sd, 13.0);
    assert_true(got.inflation[2] > 100.0); /* and says how the columns rise together */
}

/*
 * ENSO: with the certified periods the model is linear in all else, and the certified squares
 * are what it has to leave.
 */
static void test_enso(void **state)
{
    const double periods[3] = {12.0, 44.311088700, 26.887614440};
    const double certified_squares = 788.53978668;
    struct sh_reference_file *file = sh_reference_open("enso");
    size_t n = 0;
    const double *pressure = sh_reference_get(file, "pressure", &n);
    double x[168 * 6];
    double work[SH_REGRESSION_WORK(168, 6)];
    assert_int_equal(n, 168);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < 3; k++) {
            const double angle = 2.0 * SH_PI * (double)(i + 1) / periods[k];
            x[6 * i + 2 * k] = cos(angle);
            x[6 * i + 2 * k + 1] = sin(angle);
        }
    }
    const struct sh_regression_rows rows = {x, pressure, n, 6};
    struct sh_regression got;
    assert_int_equal(sh_regression_solve(&rows, work, &got), SH_OK);
    sh_reference_row("ENSO: residual squares of three periods", source, certified_squares,
                     got.residual_squares, 1e-8);
    for (size_t k = 1; k < 7; k += 2) { /* each period is there */
        assert_true(fmin(got.p[k], got.p[k + 1]) < 0.01);
    }
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_variable),
        cmocka_unit_test(test_variance),
        cmocka_unit_test(test_longley),
        cmocka_unit_test(test_enso),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
