/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/run_rules.h"

#include <math.h>

#include "signal/distribution.h"

/* Orders of 14 different numbers that go up and down in turn, beginning with up: the zigzag
 * number of 14 (OEIS A000111), and all orders. */
#define ZIGZAG_14    199360981.0
#define FACTORIAL_14 87178291200.0
#define FACTORIAL_6  720.0

/* The last values up to one, none absent. */
struct run {
    const double *last;
    size_t n; /* how many there are, the last one too */
    double centre;
    double sigma;
};

static size_t get_length(enum sh_run_rule rule)
{
    static const size_t lengths[SH_RUN_RULES_N] = {
#define X(name, length, text) length,
        SH_RUN_RULES_LIST(X)
#undef X
    };
    return lengths[rule];
}

static double get_z(const struct run *run, size_t back)
{
    return (run->last[-(ptrdiff_t)back] - run->centre) / run->sigma;
}

/* How many of the last n lie more than width sigmas off on the last one's side, it too. */
static size_t count_beyond(const struct run *run, size_t n, double width)
{
    const double side = get_z(run, 0) < 0.0 ? -1.0 : 1.0;
    size_t n_beyond = 0;
    for (size_t i = 0; i < n && i < run->n; i++) {
        n_beyond += side * get_z(run, i) > width ? 1 : 0;
    }
    return side * get_z(run, 0) > width ? n_beyond : 0;
}

/* How many of the last n lie within width sigmas of the centre. */
static size_t count_within(const struct run *run, size_t n, double width)
{
    size_t n_within = 0;
    for (size_t i = 0; i < n && i < run->n; i++) {
        n_within += fabs(get_z(run, i)) <= width ? 1 : 0;
    }
    return n_within;
}

static int get_step(const struct run *run, size_t back)
{
    const double to = run->last[-(ptrdiff_t)back];
    const double from = run->last[-(ptrdiff_t)back - 1];
    return (to > from) - (to < from);
}

/* The last n values' steps all go one way (turn 1), or turn about each time (turn -1). */
static bool is_stepping(const struct run *run, size_t n, int turn)
{
    if (run->n < n || get_step(run, 0) == 0) {
        return false;
    }
    for (size_t i = 1; i + 1 < n; i++) {
        if (get_step(run, i) != turn * get_step(run, i - 1)) {
            return false;
        }
    }
    return true;
}

static bool is_met(const struct run *run, enum sh_run_rule rule)
{
    const size_t n = get_length(rule);
    switch (rule) {
    case SH_RUN_RULE_BEYOND:
        return count_beyond(run, 1, 3.0) == 1;
    case SH_RUN_RULE_TWO_OF_THREE:
        return count_beyond(run, n, 2.0) >= 2;
    case SH_RUN_RULE_FOUR_OF_FIVE:
        return count_beyond(run, n, 1.0) >= 4;
    case SH_RUN_RULE_ONE_SIDE:
        return count_beyond(run, n, 0.0) == n;
    case SH_RUN_RULE_TREND:
        return is_stepping(run, n, 1);
    case SH_RUN_RULE_ALTERNATING:
        return is_stepping(run, n, -1);
    case SH_RUN_RULE_INSIDE:
        return count_within(run, n, 1.0) == n;
    case SH_RUN_RULE_OUTSIDE:
        return run->n >= n && count_within(run, n, 1.0) == 0;
    case SH_RUN_RULES_N:
    default:
        return false;
    }
}

static unsigned mark_value(const struct run *run, unsigned rules)
{
    unsigned marks = 0;
    for (unsigned rule = 0; rule < (unsigned)SH_RUN_RULES_N; rule++) {
        if ((rules & SH_RUN_RULE_BIT(rule)) != 0 && is_met(run, (enum sh_run_rule)rule)) {
            marks |= SH_RUN_RULE_BIT(rule);
        }
    }
    return marks;
}

enum sh_status sh_run_rules_mark(const double *x,
                                 const bool *present,
                                 size_t n,
                                 const struct sh_control_chart *chart,
                                 unsigned rules,
                                 unsigned *marks)
{
    if ((rules & ~SH_RUN_RULES_ALL) != 0 || chart->sigma <= 0.0) {
        return SH_ERR_ARGUMENT;
    }
    if (!isfinite(chart->centre) || !isfinite(chart->sigma)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < n; i++) {
        if ((present == NULL || present[i]) && !isfinite(x[i])) {
            return SH_ERR_NOT_FINITE;
        }
    }
    struct run run = {.n = 0, .centre = chart->centre, .sigma = chart->sigma};
    for (size_t i = 0; i < n; i++) {
        if (present != NULL && !present[i]) {
            run.n = 0;
            marks[i] = 0;
            continue;
        }
        run.last = x + i;
        run.n++;
        marks[i] = mark_value(&run, rules);
    }
    return SH_OK;
}

/* Chance that at least k of n further ones lie off as well, p each. */
static double get_at_least(double p, unsigned k, unsigned n)
{
    double sum = 0.0;
    double ways = 1.0; /* n over i */
    for (unsigned i = 0; i <= n; i++) {
        sum += i >= k ? ways * pow(p, (double)i) * pow(1.0 - p, (double)(n - i)) : 0.0;
        ways = ways * (double)(n - i) / (double)(i + 1);
    }
    return sum;
}

double sh_run_rules_get_false_alarm(enum sh_run_rule rule)
{
    const double beyond_1 = sh_distribution_get_normal(-1.0);
    const double beyond_2 = sh_distribution_get_normal(-2.0);
    switch (rule) {
    case SH_RUN_RULE_BEYOND:
        return 2.0 * sh_distribution_get_normal(-3.0);
    case SH_RUN_RULE_TWO_OF_THREE:
        return 2.0 * beyond_2 * get_at_least(beyond_2, 1, 2);
    case SH_RUN_RULE_FOUR_OF_FIVE:
        return 2.0 * beyond_1 * get_at_least(beyond_1, 3, 4);
    case SH_RUN_RULE_ONE_SIDE:
        return 2.0 * pow(0.5, (double)get_length(rule));
    case SH_RUN_RULE_TREND:
        return 2.0 / FACTORIAL_6;
    case SH_RUN_RULE_ALTERNATING:
        return 2.0 * ZIGZAG_14 / FACTORIAL_14;
    case SH_RUN_RULE_INSIDE:
        return pow(1.0 - 2.0 * beyond_1, (double)get_length(rule));
    case SH_RUN_RULE_OUTSIDE:
        return pow(2.0 * beyond_1, (double)get_length(rule));
    case SH_RUN_RULES_N:
    default:
        return (double)NAN;
    }
}

const char *sh_run_rules_text(enum sh_run_rule rule)
{
    static const char *const texts[SH_RUN_RULES_N] = {
#define X(name, length, text) text,
        SH_RUN_RULES_LIST(X)
#undef X
    };
    return (unsigned)rule < (unsigned)SH_RUN_RULES_N ? texts[rule] : NULL;
}
