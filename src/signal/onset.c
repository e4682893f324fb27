/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/onset.h"

#include <float.h>
#include <math.h>

#include "signal/finite.h"

#define VARIANCE_FLOOR   1e-12 /* of the whole window's variance */
#define STEP_VARIANCE    (1.0 / 12.0)
#define REFINE_REACH     2.0 /* samples to both sides of the pick */
#define REFINE_STEPS     200
#define RESIDUAL_FLOOR   1e-24 /* of the sum of squares about the mean */
#define LIKELIHOOD_FLOOR 700.0

/* Running mean and sum of squared deviations (Welford 1962). */
struct spread {
    double n;
    double mean;
    double squares;
};

static void add_value(struct spread *s, double x)
{
    s->n += 1.0;
    double d = x - s->mean;
    s->mean += d / s->n;
    s->squares += d * (x - s->mean);
}

static double get_log_variance(const struct spread *s, double floor_variance)
{
    return log(fmax(s->squares / s->n, floor_variance));
}

/* Spread about the pick of the weights exp(-loss), with the sampling step. */
static double get_index_u(const double *loss, size_t first, size_t last, size_t pick)
{
    double sum = 0.0;
    double square = 0.0;
    for (size_t k = first; k <= last; k++) {
        double excess = loss[k] - loss[pick];
        double weight = excess < LIKELIHOOD_FLOOR ? exp(-excess) : 0.0;
        double d = (double)k - (double)pick;
        sum += weight;
        square += weight * d * d;
    }
    return sqrt(square / sum + STEP_VARIANCE);
}

static size_t find_least(const double *loss, size_t first, size_t last)
{
    size_t least = first;
    for (size_t k = first; k <= last; k++) {
        least = loss[k] < loss[least] ? k : least;
    }
    return least;
}

enum sh_status
sh_onset_find_aic(const double *x, size_t n, size_t n_edge, double *work, struct sh_onset *out)
{
    if (n_edge < 2) {
        return SH_ERR_ARGUMENT;
    }
    if (n < 2 * n_edge) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    struct spread all = {0.0, 0.0, 0.0};
    for (size_t i = 0; i < n; i++) {
        add_value(&all, x[i]);
    }
    if (!(all.squares > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    double floor_variance = VARIANCE_FLOOR * all.squares / all.n;
    struct spread part = {0.0, 0.0, 0.0};
    for (size_t k = 1; k < n; k++) {
        add_value(&part, x[k - 1]);
        work[k] = 0.5 * part.n * get_log_variance(&part, floor_variance);
    }
    part = (struct spread){0.0, 0.0, 0.0};
    for (size_t k = n - 1; k >= n_edge; k--) {
        add_value(&part, x[k]);
        work[k] += 0.5 * (part.n - 1.0) * get_log_variance(&part, floor_variance);
    }
    size_t pick = find_least(work, n_edge, n - n_edge);
    double none = 0.5 * (all.n - 1.0) * get_log_variance(&all, floor_variance);
    *out = (struct sh_onset){.index = (double)pick,
                             .u = get_index_u(work, n_edge, n - n_edge, pick),
                             .gain = none - work[pick]};
    return SH_OK;
}

static void swap_items(struct sh_onset_rank *items, size_t a, size_t b)
{
    struct sh_onset_rank item = items[a];
    items[a] = items[b];
    items[b] = item;
}

static void sift_down(struct sh_onset_rank *items, size_t root, size_t n)
{
    while (2 * root + 1 < n) {
        size_t child = 2 * root + 1;
        if (child + 1 < n && items[child + 1].value > items[child].value) {
            child++;
        }
        if (items[root].value >= items[child].value) {
            return;
        }
        swap_items(items, root, child);
        root = child;
    }
}

/* Heap sort: no recursion, no heap memory, O(n log n) for every input. */
static void sort_items(struct sh_onset_rank *items, size_t n)
{
    for (size_t i = n / 2; i-- > 0;) {
        sift_down(items, i, n);
    }
    for (size_t end = n; end-- > 1;) {
        swap_items(items, 0, end);
        sift_down(items, 0, end);
    }
}

/* work[i].rank becomes the rank of x[i], 1 to n; returns the sum of t^3 - t over ties. */
static double rank_samples(const double *x, size_t n, struct sh_onset_rank *work)
{
    for (size_t i = 0; i < n; i++) {
        work[i] = (struct sh_onset_rank){x[i], 0.0, i};
    }
    sort_items(work, n);
    double ties = 0.0;
    for (size_t first = 0; first < n;) {
        size_t end = first + 1;
        while (end < n && work[end].value <= work[first].value) {
            end++;
        }
        double t = (double)(end - first);
        ties += t * t * t - t;
        for (size_t i = first; i < end; i++) {
            work[work[i].index].rank = 0.5 * ((double)first + 1.0 + (double)end);
        }
        first = end;
    }
    return ties;
}

enum sh_status sh_onset_find_rank(
    const double *x, size_t n, size_t n_edge, struct sh_onset_rank *work, struct sh_onset *out)
{
    if (n_edge < 1) {
        return SH_ERR_ARGUMENT;
    }
    if (n < 2 * n_edge || n < 2) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double ties = rank_samples(x, n, work);
    double all = (double)n;
    double per_pair = (all + 1.0 - ties / (all * (all - 1.0))) / 12.0;
    if (!(per_pair > 1e-12)) {
        return SH_ERR_SINGULAR;
    }
    double sum = 0.0;
    size_t pick = n_edge;
    for (size_t k = 1; k + n_edge <= n; k++) {
        sum += work[k - 1].rank;
        double before = (double)k;
        double excess = sum - 0.5 * before * (all + 1.0);
        /* value is free now: the loss -z^2 / 2 */
        work[k].value = -0.5 * excess * excess / (before * (all - before) * per_pair);
        if (k > n_edge && work[k].value < work[pick].value) {
            pick = k;
        }
    }
    double weights = 0.0;
    double square = 0.0;
    for (size_t k = n_edge; k + n_edge <= n; k++) {
        double weight = exp(work[pick].value - work[k].value);
        double d = (double)k - (double)pick;
        weights += weight;
        square += weight * d * d;
    }
    *out = (struct sh_onset){.index = (double)pick,
                             .u = sqrt(square / weights + STEP_VARIANCE),
                             .gain = -work[pick].value};
    return SH_OK;
}

/* Residual sum of squares of level + slope * max(0, t - t0) over x[n], t from 0. */
static double fit_corner(const double *x, size_t n, double t0)
{
    double sr = 0.0;
    double srr = 0.0;
    double sx = 0.0;
    double count = (double)n;
    for (size_t i = 0; i < n; i++) {
        sr += fmax((double)i - t0, 0.0) / count;
        sx += x[i] / count;
    }
    double srx = 0.0;
    double sxx = 0.0;
    for (size_t i = 0; i < n; i++) {
        double r = fmax((double)i - t0, 0.0) - sr;
        srr += r * r;
        srx += r * (x[i] - sx);
        sxx += (x[i] - sx) * (x[i] - sx);
    }
    return fmax(sxx - srx * srx / srr, 0.0);
}

enum sh_status
sh_onset_refine(const struct sh_onset_window *window, size_t i, struct sh_onset *out)
{
    if (window->n_before < 3 || window->n_after < 3) {
        return SH_ERR_ARGUMENT;
    }
    if (i < window->n_before || i + window->n_after > window->n) {
        return SH_ERR_SHORT;
    }
    const double *x = window->x + (i - window->n_before);
    size_t n = window->n_before + window->n_after;
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    struct spread all = {0.0, 0.0, 0.0};
    for (size_t j = 0; j < n; j++) {
        add_value(&all, x[j]);
    }
    if (!(all.squares > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    double loss[REFINE_STEPS + 1];
    double best = DBL_MAX;
    for (size_t j = 0; j <= REFINE_STEPS; j++) {
        double offset = REFINE_REACH * (2.0 * (double)j / REFINE_STEPS - 1.0);
        loss[j] = fit_corner(x, n, (double)window->n_before + offset);
        best = fmin(best, loss[j]);
    }
    double noise = fmax(best, RESIDUAL_FLOOR * all.squares) / ((double)n - 3.0);
    double sum = 0.0;
    double mean = 0.0;
    double square = 0.0;
    for (size_t j = 0; j <= REFINE_STEPS; j++) {
        double offset = REFINE_REACH * (2.0 * (double)j / REFINE_STEPS - 1.0);
        double weight = exp(-0.5 * (loss[j] - best) / noise);
        sum += weight;
        mean += weight * offset;
        square += weight * offset * offset;
    }
    mean /= sum;
    double grid = 2.0 * REFINE_REACH / REFINE_STEPS;
    double variance = fmax(square / sum - mean * mean, 0.0) + grid * grid * STEP_VARIANCE;
    *out = (struct sh_onset){.index = (double)i + mean,
                             .u = sqrt(variance),
                             .gain = 0.5 * (double)n *
                                     log(all.squares / (noise * ((double)n - 3.0)))};
    return SH_OK;
}
