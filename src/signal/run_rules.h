/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_RUN_RULES_H
#define SH_SIGNAL_RUN_RULES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "signal/control_chart.h"

/*
 * Rules that mark values of a control chart: the limits themselves, and runs within them
 * (Western Electric 1956, Statistical Quality Control Handbook; Nelson 1984, J Qual Technol
 * 16:237). One rule is on by default, since each further one adds its own false alarms.
 * No heap, any thread. Test: tests/signal/test_run_rules.c.
 */

/* name, values looked at, text for people */
#define SH_RUN_RULES_LIST(X)                                                                   \
    X(BEYOND, 1, "beyond three sigma")                                                         \
    X(TWO_OF_THREE, 3, "two of three beyond two sigma on one side, this one too")              \
    X(FOUR_OF_FIVE, 5, "four of five beyond one sigma on one side, this one too")              \
    X(ONE_SIDE, 9, "nine in a row on one side of the centre")                                  \
    X(TREND, 6, "six in a row, each above the last or each below it")                          \
    X(ALTERNATING, 14, "fourteen in a row going up and down in turn")                          \
    X(INSIDE, 15, "fifteen in a row within one sigma: the limits are too wide")                \
    X(OUTSIDE, 8, "eight in a row beyond one sigma on either side")

enum sh_run_rule {
#define X(name, length, text) SH_RUN_RULE_##name,
    SH_RUN_RULES_LIST(X)
#undef X
        SH_RUN_RULES_N
};

/* The bit of a rule in a set of them, and the set that is on by default. */
#define SH_RUN_RULE_BIT(rule) (1u << (unsigned)(rule))
#define SH_RUN_RULES_DEFAULT  SH_RUN_RULE_BIT(SH_RUN_RULE_BEYOND)
#define SH_RUN_RULES_ALL      ((1u << (unsigned)SH_RUN_RULES_N) - 1u)

/*
 * Marks x[n] against a chart: marks[i] is the set of those rules that x[i] completes. present:
 * [n], or NULL: all there; an absent value gets no mark, is not looked at, and ends every run,
 * since nobody knows which way it went. A value at the centre is on no side.
 * SH_ERR_ARGUMENT: a rule there is not, or the chart's sigma is not above 0. SH_ERR_NOT_FINITE:
 * a value present, the centre or sigma. Cost: O(n) times the runs' lengths.
 */
enum sh_status sh_run_rules_mark(const double *x,
                                 const bool *present,
                                 size_t n,
                                 const struct sh_control_chart *chart,
                                 unsigned rules,
                                 unsigned *marks);

/*
 * Share of values that a rule marks in a steady series of independent normal values whose
 * centre and sigma are known, once enough came before it. With limits worked out from a short
 * series it is higher. Shares of several rules add up to no less than that of all of them
 * together. NaN where there is no such rule.
 */
double sh_run_rules_get_false_alarm(enum sh_run_rule rule);

/* What a rule says; static text. NULL where there is no such rule. */
const char *sh_run_rules_text(enum sh_run_rule rule);

#endif
