/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/reliability.h"

#include <math.h>

#include "signal/distribution.h"
#include "signal/stats.h"

/* Mean squares of the two-way table. */
struct squares {
    double n; /* targets */
    double k; /* judges */
    double between;
    double within;
    double judges;
    double rest;
    double all;   /* over N - 1 */
    double share; /* of each tail outside the limits */
};

/* Mean of n numbers that lie stride apart, about origin. */
static double get_mean(const double *x, size_t n, size_t stride, double origin)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i * stride] - origin;
    }
    return sum / (double)n;
}

/* Squares of the rest after targets' and judges' means, mean 0 about origin. */
static double get_rest_squares(const struct sh_reliability_table *t, double origin)
{
    double squares = 0.0;
    for (size_t j = 0; j < t->n_judges; j++) {
        const double judge = get_mean(t->x + j, t->n_targets, t->n_judges, origin);
        for (size_t i = 0; i < t->n_targets; i++) {
            const double *row = t->x + i * t->n_judges;
            const double target = get_mean(row, t->n_judges, 1, origin);
            const double d = (row[j] - origin) - target - judge;
            squares += d * d;
        }
    }
    return squares;
}

static void sum_squares(const struct sh_reliability_table *t, double mean, struct squares *s)
{
    const size_t n = t->n_targets;
    const size_t k = t->n_judges;
    double between = 0.0;
    double within = 0.0;
    double judges = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double *row = t->x + i * k;
        const double target = get_mean(row, k, 1, mean);
        between += (double)k * target * target;
        for (size_t j = 0; j < k; j++) {
            const double d = (row[j] - mean) - target;
            within += d * d;
        }
    }
    for (size_t j = 0; j < k; j++) {
        const double judge = get_mean(t->x + j, n, k, mean);
        judges += (double)n * judge * judge;
    }
    s->n = (double)n;
    s->k = (double)k;
    s->between = between / (s->n - 1.0);
    s->within = within / (s->n * (s->k - 1.0));
    s->judges = judges / (s->k - 1.0);
    s->rest = get_rest_squares(t, mean) / ((s->n - 1.0) * (s->k - 1.0));
    s->all = (between + within) / (s->n * s->k - 1.0);
}

/* Forms of one measurement from an F of targets: (F - 1) / (F + k - 1), and of the mean. */
static double get_single(double f, double k)
{
    return (f - 1.0) / (f + k - 1.0);
}

/* The (1, .) or (3, .) forms: noise is the mean square beside the targets'. */
static void set_simple(const struct squares *s,
                       double noise,
                       double freedom,
                       struct sh_reliability_icc *single,
                       struct sh_reliability_icc *mean)
{
    const double f = s->between / noise;
    const double targets = s->n - 1.0;
    const double f_lo = f / sh_distribution_get_f_quantile(1.0 - s->share, targets, freedom);
    const double f_hi = f * sh_distribution_get_f_quantile(1.0 - s->share, freedom, targets);
    *single = (struct sh_reliability_icc){get_single(f, s->k), get_single(f_lo, s->k),
                                          get_single(f_hi, s->k)};
    *mean = (struct sh_reliability_icc){1.0 - 1.0 / f, 1.0 - 1.0 / f_lo, 1.0 - 1.0 / f_hi};
}

/* Spearman and Brown: from one measurement to the mean of k. */
static double step_up(double icc, double k)
{
    return k * icc / (1.0 + (k - 1.0) * icc);
}

static void set_agreement(const struct squares *s, struct sh_reliability *r)
{
    const double n = s->n;
    const double k = s->k;
    const double icc = (s->between - s->rest) /
                       (s->between + (k - 1.0) * s->rest + k * (s->judges - s->rest) / n);
    const double f_judges = s->judges / s->rest;
    const double part = n * (1.0 + (k - 1.0) * icc) - k * icc;
    const double judged = k * icc * f_judges;
    const double top = (k - 1.0) * (n - 1.0) * (judged + part) * (judged + part);
    const double v = top / ((n - 1.0) * judged * judged + part * part);
    const double f_lo = sh_distribution_get_f_quantile(1.0 - s->share, n - 1.0, v);
    const double f_hi = sh_distribution_get_f_quantile(1.0 - s->share, v, n - 1.0);
    const double judges = k * s->judges + (k * n - k - n) * s->rest;
    r->icc_2_1 = (struct sh_reliability_icc){
        icc, n * (s->between - f_lo * s->rest) / (f_lo * judges + n * s->between),
        n * (f_hi * s->between - s->rest) / (judges + n * f_hi * s->between)};
    r->icc_2_k = (struct sh_reliability_icc){
        (s->between - s->rest) / (s->between + (s->judges - s->rest) / n),
        step_up(r->icc_2_1.lo, k), step_up(r->icc_2_1.hi, k)};
}

static void set_errors(const struct squares *s, double level, struct sh_reliability *r)
{
    const double z = sqrt(2.0) * sh_distribution_get_normal_quantile(0.5 * (1.0 + level));
    r->sd_targets = sqrt(s->all);
    r->sem_within = sqrt(s->within);
    r->sem_agreement = sqrt(fmax(s->judges - s->rest, 0.0) / s->n + s->rest);
    r->sem_consistency = sqrt(s->rest);
    r->change_within = z * r->sem_within;
    r->change_agreement = z * r->sem_agreement;
    r->change_consistency = z * r->sem_consistency;
}

enum sh_status sh_reliability_get(const struct sh_reliability_table *table,
                                  double level,
                                  struct sh_reliability *reliability)
{
    if (!(level > 0.0 && level < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (table->n_targets < 2 || table->n_judges < 2) {
        return SH_ERR_SHORT;
    }
    struct sh_reliability got = {0};
    enum sh_status status =
        sh_stats_get_mean(table->x, table->n_targets * table->n_judges, &got.mean, NULL);
    if (status != SH_OK) {
        return status;
    }
    struct squares s = {.share = 0.5 * (1.0 - level)};
    sum_squares(table, got.mean, &s);
    if (!isfinite(s.all) || !isfinite(s.judges)) {
        return SH_ERR_NOT_FINITE;
    }
    if (!(s.between > 0.0 && s.rest > 0.0) || !isfinite(s.between / s.rest)) {
        return SH_ERR_SINGULAR;
    }
    set_simple(&s, s.within, s.n * (s.k - 1.0), &got.icc_1_1, &got.icc_1_k);
    set_simple(&s, s.rest, (s.n - 1.0) * (s.k - 1.0), &got.icc_3_1, &got.icc_3_k);
    set_agreement(&s, &got);
    set_errors(&s, level, &got);
    *reliability = got;
    return SH_OK;
}
