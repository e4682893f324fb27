/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_COVERAGE_TRACE_H
#define SH_TESTS_BENCH_COVERAGE_TRACE_H

#include <stddef.h>

/*
 * A signal without noise, at points so close that a definition's windows and integrals can be
 * taken by plain sums: what a measure is compared with. Written apart from src/measure.
 */

struct signal {
    double (*get)(const void *context, double t_s);
    const void *context;
};

struct trace {
    double from_s;
    double rate_hz;
    size_t n;
    double *x;    /* [n], at from_s + (i + 0.5) / rate_hz; owned */
    double *sums; /* [n + 1]; owned */
    double *work; /* [n]; owned */
};

/* Fills a trace; 0 where there is no memory (nothing is to be freed then). */
int trace_open(struct trace *trace,
               const struct signal *signal,
               double from_s,
               double until_s,
               double rate_hz);
void trace_close(struct trace *trace);

/* Over the points with from_s <= t < until_s, kept inside the trace; at least one. */
double trace_mean(const struct trace *trace, double from_s, double until_s);
double trace_median(const struct trace *trace, double from_s, double until_s);

/* Largest mean over window_s wholly inside from_s .. until_s. */
double
trace_largest_mean(const struct trace *trace, double from_s, double until_s, double window_s);

/* Middle of x[n] in place. */
double trace_pick_median(double *x, size_t n);

#endif
