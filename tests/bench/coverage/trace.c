/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/coverage/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int trace_open(struct trace *trace,
               const struct signal *signal,
               double from_s,
               double until_s,
               double rate_hz)
{
    const double n = ceil((until_s - from_s) * rate_hz);
    *trace =
        (struct trace){.from_s = from_s, .rate_hz = rate_hz, .n = n > 1.0 ? (size_t)n : 1u};
    trace->x = calloc(trace->n, sizeof *trace->x);
    trace->sums = calloc(trace->n + 1u, sizeof *trace->sums);
    trace->work = calloc(trace->n, sizeof *trace->work);
    if (trace->x == NULL || trace->sums == NULL || trace->work == NULL) {
        trace_close(trace);
        return 0;
    }
    for (size_t i = 0; i < trace->n; i++) {
        trace->x[i] = signal->get(signal->context, from_s + ((double)i + 0.5) / rate_hz);
        trace->sums[i + 1u] = trace->sums[i] + trace->x[i];
    }
    return 1;
}

void trace_close(struct trace *trace)
{
    free(trace->x);
    free(trace->sums);
    free(trace->work);
    *trace = (struct trace){.n = 0};
}

static size_t find_point(const struct trace *trace, double t_s)
{
    const double at = nearbyint((t_s - trace->from_s) * trace->rate_hz);
    return (size_t)fmin(fmax(at, 0.0), (double)trace->n);
}

/* First and behind the last point of a window, at least one between. */
static void find_window(const struct trace *trace, double from_s, double until_s, size_t at[2])
{
    at[0] = find_point(trace, from_s);
    at[1] = find_point(trace, until_s);
    at[0] = at[0] == trace->n ? trace->n - 1u : at[0];
    at[1] = at[1] > at[0] ? at[1] : at[0] + 1u;
}

double trace_mean(const struct trace *trace, double from_s, double until_s)
{
    size_t at[2];
    find_window(trace, from_s, until_s, at);
    return (trace->sums[at[1]] - trace->sums[at[0]]) / (double)(at[1] - at[0]);
}

static int compare(const void *a, const void *b)
{
    const double left = *(const double *)a;
    const double right = *(const double *)b;
    return (left > right) - (left < right);
}

double trace_pick_median(double *x, size_t n)
{
    qsort(x, n, sizeof *x, compare);
    return 0.5 * (x[(n - 1u) / 2u] + x[n / 2u]);
}

double trace_median(const struct trace *trace, double from_s, double until_s)
{
    size_t at[2];
    find_window(trace, from_s, until_s, at);
    memcpy(trace->work, trace->x + at[0], (at[1] - at[0]) * sizeof *trace->work);
    return trace_pick_median(trace->work, at[1] - at[0]);
}

double
trace_largest_mean(const struct trace *trace, double from_s, double until_s, double window_s)
{
    double largest = -(double)INFINITY;
    for (size_t i = 0; i < trace->n; i++) {
        const double t_s = from_s + (double)i / trace->rate_hz;
        if (t_s + window_s <= until_s) {
            largest = fmax(largest, trace_mean(trace, t_s, t_s + window_s));
        }
    }
    return largest;
}
