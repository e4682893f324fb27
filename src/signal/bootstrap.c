/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/bootstrap.h"

#include <math.h>

#include "signal/distribution.h"
#include "signal/stats.h"

/* The same rows in another order give a statistic that differs by rounding only: a tie. */
#define TIE_RATIO 1e-12

static enum sh_status check_config(const struct sh_bootstrap_config *config)
{
    if (config->n_draws < SH_BOOTSTRAP_DRAWS_MIN ||
        !(config->level > 0.0 && config->level < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (config->n_units < 3) {
        return SH_ERR_SHORT;
    }
    for (size_t i = 0; config->first != NULL && i < config->n_units; i++) {
        if (config->first[i] >= config->first[i + 1]) {
            return SH_ERR_ARGUMENT;
        }
    }
    return SH_OK;
}

/* Puts the rows of a unit behind the n rows there are; the new number. */
static size_t
add_unit(const struct sh_bootstrap_config *config, size_t unit, size_t *row, size_t n)
{
    const size_t start = config->first != NULL ? config->first[unit] : unit;
    const size_t end = config->first != NULL ? config->first[unit + 1] : unit + 1;
    for (size_t i = start; i < end; i++) {
        row[n++] = i;
    }
    return n;
}

static enum sh_status ask_statistic(const struct sh_bootstrap_config *config,
                                    const size_t *row,
                                    size_t n,
                                    double *value)
{
    enum sh_status status = config->statistic(config->context, row, n, value);
    if (status == SH_OK && !isfinite(*value)) {
        status = SH_ERR_NOT_FINITE;
    }
    return status;
}

/* The statistic of all units but one; skipped = n_units leaves none out. */
static enum sh_status
leave_out(const struct sh_bootstrap_config *config, size_t skipped, size_t *row, double *value)
{
    size_t n = 0;
    for (size_t unit = 0; unit < config->n_units; unit++) {
        if (unit != skipped) {
            n = add_unit(config, unit, row, n);
        }
    }
    return ask_statistic(config, row, n, value);
}

static enum sh_status draw_all(const struct sh_bootstrap_config *config,
                               const struct sh_bootstrap_work *work)
{
    for (size_t i = 0; i < config->n_draws; i++) {
        size_t n = 0;
        for (size_t k = 0; k < config->n_units; k++) {
            const size_t unit =
                (size_t)sh_random_get_below(config->random, (uint64_t)config->n_units);
            n = add_unit(config, unit, work->row, n);
        }
        enum sh_status status = ask_statistic(config, work->row, n, &work->draw[i]);
        if (status != SH_OK) {
            return status;
        }
    }
    return SH_OK;
}

/* A sixth of the skewness of the jackknife's influence (Efron 1987, 6.6). */
static enum sh_status find_acceleration(const struct sh_bootstrap_config *config,
                                        const struct sh_bootstrap_work *work,
                                        double *acceleration)
{
    const size_t n = config->n_units;
    for (size_t i = 0; i < n; i++) {
        enum sh_status status = leave_out(config, i, work->row, &work->spare[i]);
        if (status != SH_OK) {
            return status;
        }
    }
    double mean = 0.0;
    enum sh_status status = sh_stats_get_mean(work->spare, n, &mean, NULL);
    double squares = 0.0;
    double cubes = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double d = mean - work->spare[i];
        squares += d * d;
        cubes += d * d * d;
    }
    *acceleration = squares > 0.0 ? cubes / (6.0 * squares * sqrt(squares)) : 0.0;
    return status;
}

static double get_share_below(const double *draw, size_t n, double value)
{
    double below = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double step = draw[i] - value;
        if (fabs(step) <= TIE_RATIO * fmax(fabs(value), fabs(draw[i]))) {
            below += 0.5;
        } else {
            below += step < 0.0 ? 1.0 : 0.0;
        }
    }
    return below / (double)n;
}

/* The replicate at the corrected share of a normal quantile z; draw[n] is sorted. */
static double
get_limit(const struct sh_bootstrap *interval, double z, const double *draw, size_t n)
{
    const double moved = interval->bias + z;
    const double corrected =
        interval->bias + moved / fmax(1.0 - interval->acceleration * moved, 1e-9);
    const double place = sh_distribution_get_normal(corrected) * (double)(n - 1);
    const size_t k = (size_t)place;
    return k + 1 < n ? draw[k] + (place - (double)k) * (draw[k + 1] - draw[k]) : draw[n - 1];
}

enum sh_status sh_bootstrap_find_interval(const struct sh_bootstrap_config *config,
                                          const struct sh_bootstrap_work *work,
                                          struct sh_bootstrap *interval)
{
    struct sh_bootstrap got = {0};
    const size_t n = config->n_draws;
    double mean = 0.0;
    enum sh_status status = check_config(config);
    if (status == SH_OK) {
        status = leave_out(config, config->n_units, work->row, &got.value);
    }
    if (status == SH_OK) {
        status = find_acceleration(config, work, &got.acceleration);
    }
    if (status == SH_OK) {
        status = draw_all(config, work);
    }
    if (status == SH_OK) {
        status = sh_stats_get_mean(work->draw, n, &mean, &got.sd);
    }
    if (status != SH_OK) {
        return status;
    }
    const double share = get_share_below(work->draw, n, got.value);
    if (!(share > 0.0 && share < 1.0)) {
        return SH_ERR_SINGULAR;
    }
    got.bias = sh_distribution_get_normal_quantile(share);
    sh_stats_sort(work->draw, n);
    const double z = sh_distribution_get_normal_quantile(0.5 * (1.0 + config->level));
    got.lo = get_limit(&got, -z, work->draw, n);
    got.hi = get_limit(&got, z, work->draw, n);
    *interval = got;
    return SH_OK;
}
