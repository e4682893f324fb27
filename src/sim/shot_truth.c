/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/shot_truth.h"

#include <math.h>
#include <stdlib.h>

#include "signal/gauss.h"

#define RATE_HZ    1000.0
#define LEAD_S     0.5 /* rest before and signal behind, more than the kernel's 0.25 s */
#define SIGMA_S    0.05
#define RISE_LOW   0.25 /* of the largest force: the main rise */
#define RISE_HIGH  0.85
#define SLOW_RATIO 0.1 /* of the largest rate */
#define MEAN_N     20u /* samples of the mean from which a let-down falls */
#define LEFT_RATIO 0.9 /* of that mean, at let_down_s */

struct trace {
    double *force_n;
    double *rate_n_per_s;
    size_t n;     /* samples held */
    size_t loose; /* the last sample at or before the loose */
};

static double get_time_s(double sample)
{
    return sample / RATE_HZ - LEAD_S;
}

static double find_largest(const double *x, size_t n)
{
    double largest = x[0];
    for (size_t i = 1; i < n; i++) {
        largest = fmax(largest, x[i]);
    }
    return largest;
}

/* Time at which x crosses level between samples i and i + 1. */
static double cross_time_s(const double *x, size_t i, double level)
{
    return get_time_s((double)i + (level - x[i]) / (x[i + 1] - x[i]));
}

static enum sh_status
find_events(const struct trace *trace, struct sh_shot_truth *truth, struct sh_error *err)
{
    const double *rate = trace->rate_n_per_s;
    const double force_n = find_largest(trace->force_n, trace->loose + 1);
    const double slow = SLOW_RATIO * find_largest(rate, trace->loose + 1);
    size_t low = trace->loose;
    while (low > 0 && trace->force_n[low] >= RISE_LOW * force_n) {
        low--;
    }
    size_t high = low;
    while (high < trace->loose && trace->force_n[high] <= RISE_HIGH * force_n) {
        high++;
    }
    size_t start = low;
    while (start > 0 && rate[start] >= slow) {
        start--;
    }
    while (high < trace->loose && rate[high] >= slow) {
        high++;
    }
    if (rate[high] >= slow || rate[start] >= slow) {
        return sh_error_set(err, SH_ERR_SHORT, NULL, "plan a longer hold",
                            "the draw never ends before the loose");
    }
    /* a preload of just RISE_LOW: the main rise begins in it, while the rate is low */
    truth->draw_start_s = start == low ? cross_time_s(trace->force_n, low, RISE_LOW * force_n)
                                       : cross_time_s(rate, start, slow);
    truth->full_draw_s = cross_time_s(rate, high - 1, slow);
    return SH_OK;
}

/* When the force was last above LEFT_RATIO of its largest 20 ms mean. */
static double find_let_down_s(const struct trace *trace)
{
    double sum_n = 0.0;
    double largest_n = 0.0;
    for (size_t i = 0; i < trace->n; i++) {
        sum_n += trace->force_n[i] - (i < MEAN_N ? 0.0 : trace->force_n[i - MEAN_N]);
        largest_n = fmax(largest_n, sum_n / MEAN_N);
    }
    const double level_n = LEFT_RATIO * largest_n;
    size_t last = trace->n - 2;
    while (last > 0 && trace->force_n[last] < level_n) {
        last--;
    }
    return cross_time_s(trace->force_n, last, level_n);
}

enum sh_status sh_shot_truth_find(const struct sh_string_signal *signal,
                                  struct sh_shot_truth *out,
                                  struct sh_error *err)
{
    const struct sh_archer_plan *plan = &signal->plan;
    struct trace trace = {.loose = (size_t)((plan->loose_s + LEAD_S) * RATE_HZ)};
    struct sh_gauss *gauss = NULL;
    struct sh_shot_truth truth = {.has_clicker = plan->has_clicker};
    truth.is_let_down = (plan->faults & (unsigned)SH_ARCHER_LET_DOWN) != 0;
    const double after_s = LEAD_S + (truth.is_let_down ? plan->let_down_s : 0.0);
    trace.n = trace.loose + (size_t)(after_s * RATE_HZ);
    trace.force_n = calloc(trace.n, sizeof *trace.force_n);
    trace.rate_n_per_s = calloc(trace.n, sizeof *trace.rate_n_per_s);
    enum sh_status status = SH_OK;
    if (trace.force_n == NULL || trace.rate_n_per_s == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "no memory for a shot's truth");
        goto out;
    }
    for (size_t i = 0; i < trace.n; i++) {
        trace.force_n[i] = sh_string_signal_get_force_n(signal, get_time_s((double)i));
    }
    status = sh_gauss_open(SIGMA_S * RATE_HZ, &gauss, err);
    if (status != SH_OK) {
        goto out;
    }
    status = sh_gauss_slope(gauss, trace.force_n, trace.n, RATE_HZ, trace.rate_n_per_s);
    if (status != SH_OK) {
        (void)sh_error_set(err, status, NULL, NULL, "the force of a shot has no rate");
        goto out;
    }
    status = find_events(&trace, &truth, err);
    if (status != SH_OK) {
        goto out;
    }
    truth.clicker_s = plan->has_clicker ? plan->expansion_end_s : 0.0;
    if (truth.is_let_down) {
        truth.let_down_s = find_let_down_s(&trace);
    } else {
        truth.release_s = sh_string_signal_get_release_s(signal);
        truth.hold_time_s = truth.release_s - truth.full_draw_s;
    }
    *out = truth;
out:
    sh_gauss_close(&gauss);
    free(trace.rate_n_per_s);
    free(trace.force_n);
    return status;
}
