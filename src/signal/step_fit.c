/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_fit.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/cholesky.h"
#include "signal/finite.h"

#define LEVELS_MAX     3u /* before, after, slope */
#define PARAMETERS_MAX 5u /* and start, duration */
#define DURATIONS      24u
#define COARSE_STEPS   48u
#define FINE_STEPS     41u
#define GOLDEN_ROUNDS  40
#define BISECT_ROUNDS  40
#define ROUNDS_MAX     60
#define LOSS_CUT       18.0 /* likelihood exp(-18) and below is left out */
#define RESOLVED_RATIO 0.25 /* u(d) / d */
#define NOISE_FLOOR    1e-9 /* of the spread of the samples */
#define DROP_U_LEAST   3.0
#define RESULT_POINTS  ((size_t)DURATIONS * FINE_STEPS)

struct sh_step_fit_config sh_step_fit_config_default(void)
{
    return (struct sh_step_fit_config){.rate_hz = 1000.0,
                                       .fraction = 0.1,
                                       .duration_min_s = 0.001,
                                       .duration_max_s = 0.1,
                                       .start_min_s = 0.0,
                                       .start_max_s = DBL_MAX};
}

/* What every fit of one window shares; times in seconds from the first sample. */
struct problem {
    const struct sh_step_fit_config *config;
    const double *x;
    size_t n;
    size_t n_levels;
    double start_min_s;
    double start_max_s;
    double x_mean;
    double x_spread; /* root mean square about the mean */
};

/* One trial: start, duration, and what the levels come to. */
struct trial {
    double start_s;
    double duration_s;
    double level[LEVELS_MAX]; /* before - x_mean, after - x_mean, slope */
    double loss;              /* residual sum of squares, DBL_MAX where not determined */
};

/* Integral of the ramp (0 before 0, 1 after 1) up to u. */
static double integrate_ramp(double u)
{
    if (u <= 0.0) {
        return 0.0;
    }
    if (u >= 1.0) {
        return u - 0.5;
    }
    return 0.5 * u - sin(SH_PI * u) / (2.0 * SH_PI);
}

/* How far the sensor has gone from one level to the other at time t. */
static double get_progress(const struct sh_step_fit_config *c, double t, double start, double d)
{
    double u = (t - start) / d;
    if (c->boxcar_s > 0.0) {
        double width = c->boxcar_s / d;
        return (integrate_ramp(u) - integrate_ramp(u - width)) / width;
    }
    if (u <= 0.0) {
        return 0.0;
    }
    return u >= 1.0 ? 1.0 : 0.5 * (1.0 - cos(SH_PI * u));
}

/* Values that multiply the levels at sample i. */
static void
get_basis(const struct problem *p, const struct trial *trial, size_t i, double *basis)
{
    double t = (double)i / p->config->rate_hz;
    double progress = get_progress(p->config, t, trial->start_s, trial->duration_s);
    basis[0] = 1.0 - progress;
    basis[1] = progress;
    basis[2] = (t - trial->start_s) * (1.0 - progress);
}

static void fit_levels(const struct problem *p, struct trial *trial)
{
    size_t m = p->n_levels;
    double normal[LEVELS_MAX * LEVELS_MAX] = {0.0};
    double right[LEVELS_MAX] = {0.0};
    double basis[LEVELS_MAX];
    for (size_t i = 0; i < p->n; i++) {
        get_basis(p, trial, i, basis);
        for (size_t a = 0; a < m; a++) {
            right[a] += basis[a] * (p->x[i] - p->x_mean);
            for (size_t b = 0; b <= a; b++) {
                normal[a * m + b] += basis[a] * basis[b];
            }
        }
    }
    trial->loss = DBL_MAX;
    trial->level[2] = 0.0;
    if (sh_cholesky_factor(normal, m) != SH_OK) {
        return;
    }
    sh_cholesky_solve(normal, m, right);
    memcpy(trial->level, right, m * sizeof(*right));
    double loss = 0.0;
    for (size_t i = 0; i < p->n; i++) {
        get_basis(p, trial, i, basis);
        double residual = p->x[i] - p->x_mean;
        for (size_t a = 0; a < m; a++) {
            residual -= basis[a] * right[a];
        }
        loss += residual * residual;
    }
    trial->loss = loss;
}

static double get_loss(const struct problem *p, double start_s, double duration_s)
{
    struct trial trial = {.start_s = start_s, .duration_s = duration_s};
    fit_levels(p, &trial);
    return trial.loss;
}

/* Durations from the least to the largest, evenly spaced in the middle of equal shares. */
static double get_duration(const struct problem *p, size_t i)
{
    double share = ((double)i + 0.5) / DURATIONS;
    return p->config->duration_min_s +
           share * (p->config->duration_max_s - p->config->duration_min_s);
}

/* Start with the least loss for one duration: coarse search, then golden section. */
static double find_start(const struct problem *p, double duration_s, double *loss)
{
    double step =
        fmin((p->start_max_s - p->start_min_s) / COARSE_STEPS, 0.25 / p->config->rate_hz);
    step = fmax(step, (p->start_max_s - p->start_min_s) / (64.0 * COARSE_STEPS));
    double best = p->start_min_s;
    double least = DBL_MAX;
    for (double t = p->start_min_s; t <= p->start_max_s; t += step) {
        double here = get_loss(p, t, duration_s);
        if (here < least) {
            least = here;
            best = t;
        }
    }
    double low = fmax(best - step, p->start_min_s);
    double high = fmin(best + step, p->start_max_s);
    const double golden = 0.6180339887498949;
    for (int i = 0; i < GOLDEN_ROUNDS; i++) {
        double left = high - golden * (high - low);
        double right = low + golden * (high - low);
        if (get_loss(p, left, duration_s) <= get_loss(p, right, duration_s)) {
            high = right;
        } else {
            low = left;
        }
    }
    double middle = 0.5 * (low + high);
    double refined = get_loss(p, middle, duration_s);
    *loss = fmin(refined, least);
    return refined <= least ? middle : best;
}

static struct trial find_best(const struct problem *p)
{
    struct trial best = {.loss = DBL_MAX};
    for (size_t i = 0; i < DURATIONS; i++) {
        double d = get_duration(p, i);
        double loss = DBL_MAX;
        double start = find_start(p, d, &loss);
        if (loss < best.loss) {
            best = (struct trial){.start_s = start, .duration_s = d, .loss = loss};
        }
    }
    fit_levels(p, &best);
    return best;
}

/* Derivatives of the model at sample i by start, duration and the levels. */
static void
get_gradient(const struct problem *p, const struct trial *trial, size_t i, double *g)
{
    double t = (double)i / p->config->rate_hz;
    double d = trial->duration_s;
    double h = 1e-4 * d;
    double later = get_progress(p->config, t, trial->start_s + h, d);
    double earlier = get_progress(p->config, t, trial->start_s - h, d);
    double longer = get_progress(p->config, t, trial->start_s, d + h);
    double shorter = get_progress(p->config, t, trial->start_s, d - h);
    double basis[LEVELS_MAX];
    get_basis(p, trial, i, basis);
    double line = trial->level[0] + trial->level[2] * (t - trial->start_s);
    double change = trial->level[1] - line;
    g[0] = change * (later - earlier) / (2.0 * h) - trial->level[2] * basis[0];
    g[1] = change * (longer - shorter) / (2.0 * h);
    memcpy(g + 2, basis, p->n_levels * sizeof(*g));
}

static double get_residual(const struct problem *p, const struct trial *trial, size_t i)
{
    double basis[LEVELS_MAX];
    get_basis(p, trial, i, basis);
    double residual = p->x[i] - p->x_mean;
    for (size_t a = 0; a < p->n_levels; a++) {
        residual -= basis[a] * trial->level[a];
    }
    return residual;
}

/* Normal matrix and right side of the linearised fit. */
static void
linearise(const struct problem *p, const struct trial *trial, double *normal, double *right)
{
    size_t m = p->n_levels + 2;
    memset(normal, 0, m * m * sizeof(*normal));
    memset(right, 0, m * sizeof(*right));
    for (size_t i = 0; i < p->n; i++) {
        double g[PARAMETERS_MAX];
        get_gradient(p, trial, i, g);
        double residual = get_residual(p, trial, i);
        for (size_t a = 0; a < m; a++) {
            right[a] += g[a] * residual;
            for (size_t b = 0; b <= a; b++) {
                normal[a * m + b] += g[a] * g[b];
            }
        }
    }
}

static bool is_inside(const struct problem *p, const struct trial *trial)
{
    return trial->start_s >= p->start_min_s && trial->start_s <= p->start_max_s &&
           trial->duration_s >= p->config->duration_min_s &&
           trial->duration_s <= p->config->duration_max_s;
}

/* Levenberg-Marquardt over start and duration, the levels fitted anew after each step. */
static void improve(const struct problem *p, struct trial *trial)
{
    size_t m = p->n_levels + 2;
    double damping = 1e-3;
    for (int round = 0; round < ROUNDS_MAX && damping < 1e9; round++) {
        double normal[PARAMETERS_MAX * PARAMETERS_MAX];
        double right[PARAMETERS_MAX];
        linearise(p, trial, normal, right);
        for (size_t a = 0; a < m; a++) {
            normal[a * m + a] *= 1.0 + damping;
        }
        damping *= 8.0;
        if (sh_cholesky_factor(normal, m) != SH_OK) {
            continue;
        }
        sh_cholesky_solve(normal, m, right);
        struct trial next = {.start_s = trial->start_s + right[0],
                             .duration_s = trial->duration_s + right[1]};
        if (!is_inside(p, &next)) {
            continue;
        }
        fit_levels(p, &next);
        if (next.loss < trial->loss) {
            bool is_settled = fabs(right[0]) + fabs(right[1]) < 1e-9 * trial->duration_s;
            *trial = next;
            damping /= 64.0;
            if (is_settled) {
                return;
            }
        }
    }
}

/* Time from the start to a fraction of the ramp, in durations. */
static double get_quantile(double fraction)
{
    return acos(1.0 - 2.0 * fraction) / SH_PI;
}

static double get_noise(const struct problem *p, const struct trial *best)
{
    double least = NOISE_FLOOR * p->x_spread;
    if (p->config->noise > 0.0) {
        return fmax(p->config->noise, least);
    }
    double freedom = (double)p->n - (double)p->n_levels - 2.0;
    return fmax(sqrt(best->loss / freedom), least);
}

/* Fills times and levels from the covariance; false where the samples do not determine them. */
static bool use_covariance(const struct problem *p,
                           const struct trial *best,
                           double noise,
                           struct sh_step_fit *out)
{
    size_t m = p->n_levels + 2;
    double normal[PARAMETERS_MAX * PARAMETERS_MAX];
    double right[PARAMETERS_MAX];
    double cov[PARAMETERS_MAX * PARAMETERS_MAX];
    linearise(p, best, normal, right);
    if (sh_cholesky_factor(normal, m) != SH_OK) {
        return false;
    }
    sh_cholesky_invert(normal, m, cov);
    double q = get_quantile(p->config->fraction);
    double s2 = noise * noise;
    double shape = SH_STEP_FIT_SHAPE_RATIO * best->duration_s;
    double var_t = s2 * (cov[0] + 2.0 * q * cov[1] + q * q * cov[m + 1]);
    double var_drop = s2 * (cov[2 * m + 2] - 2.0 * cov[2 * m + 3] + cov[3 * m + 3]);
    out->time_s = sh_quantity_known(best->start_s + q * best->duration_s,
                                    sqrt(fmax(var_t, 0.0) + shape * shape));
    out->start_s = sh_quantity_known(best->start_s, noise * sqrt(cov[0]));
    out->duration_s = sh_quantity_known(best->duration_s, noise * sqrt(cov[m + 1]));
    out->drop = sh_quantity_known(best->level[0] - best->level[1], sqrt(fmax(var_drop, 0.0)));
    return out->duration_s.u < RESOLVED_RATIO * best->duration_s;
}

/* The averaged likelihood: points with weights. */
struct cloud {
    size_t n;
    double time_s[RESULT_POINTS];
    double start_s[RESULT_POINTS];
    double duration_s[RESULT_POINTS];
    double weight[RESULT_POINTS];
};

/* Where, from the best start towards a limit, the loss has risen by LOSS_CUT likelihoods. */
static double
find_reach(const struct problem *p, double duration_s, double best, double limit, double cut)
{
    double near = best;
    double far = limit;
    if (get_loss(p, far, duration_s) <= cut) {
        return far;
    }
    for (int i = 0; i < BISECT_ROUNDS; i++) {
        double middle = 0.5 * (near + far);
        if (get_loss(p, middle, duration_s) <= cut) {
            near = middle;
        } else {
            far = middle;
        }
    }
    return far;
}

static void add_duration(
    const struct problem *p, double duration_s, double noise, double least, struct cloud *cloud)
{
    double loss = DBL_MAX;
    double start = find_start(p, duration_s, &loss);
    double cut = least + 2.0 * LOSS_CUT * noise * noise;
    if (loss > cut) {
        return;
    }
    double low = find_reach(p, duration_s, start, p->start_min_s, cut);
    double high = find_reach(p, duration_s, start, p->start_max_s, cut);
    double q = get_quantile(p->config->fraction);
    double step = (high - low) / FINE_STEPS;
    for (size_t i = 0; i < FINE_STEPS; i++) {
        double t = low + ((double)i + 0.5) * step;
        double excess = 0.5 * (get_loss(p, t, duration_s) - least) / (noise * noise);
        if (excess < LOSS_CUT) {
            cloud->time_s[cloud->n] = t + q * duration_s;
            cloud->start_s[cloud->n] = t;
            cloud->duration_s[cloud->n] = duration_s;
            cloud->weight[cloud->n] = step * exp(-excess);
            cloud->n++;
        }
    }
}

static struct sh_quantity
summarise(const double *value, const double *weight, size_t n, double extra_u)
{
    double sum = 0.0;
    double mean = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += weight[i];
        mean += weight[i] * value[i];
    }
    mean /= sum;
    double square = 0.0;
    for (size_t i = 0; i < n; i++) {
        square += weight[i] * (value[i] - mean) * (value[i] - mean);
    }
    return sh_quantity_known(mean, sqrt(square / sum + extra_u * extra_u));
}

/* Smallest value below which at least the given share of the weight lies, by bisection. */
static double find_share(const double *value, const double *weight, size_t n, double share)
{
    double low = DBL_MAX;
    double high = -DBL_MAX;
    double all = 0.0;
    for (size_t i = 0; i < n; i++) {
        low = fmin(low, value[i]);
        high = fmax(high, value[i]);
        all += weight[i];
    }
    for (int round = 0; round < BISECT_ROUNDS; round++) {
        double middle = 0.5 * (low + high);
        double below = 0.0;
        for (size_t i = 0; i < n; i++) {
            below += value[i] <= middle ? weight[i] : 0.0;
        }
        if (below < share * all) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return high;
}

static bool use_likelihood(const struct problem *p,
                           const struct trial *best,
                           double noise,
                           struct sh_step_fit *out)
{
    struct cloud cloud;
    cloud.n = 0;
    for (size_t i = 0; i < DURATIONS; i++) {
        add_duration(p, get_duration(p, i), noise, best->loss, &cloud);
    }
    if (cloud.n == 0) {
        return false;
    }
    out->start_s = summarise(cloud.start_s, cloud.weight, cloud.n, 0.0);
    out->duration_s = summarise(cloud.duration_s, cloud.weight, cloud.n, 0.0);
    double shape = SH_STEP_FIT_SHAPE_RATIO * out->duration_s.value;
    out->time_s = summarise(cloud.time_s, cloud.weight, cloud.n, shape);
    out->time_s.has_interval = true;
    out->time_s.lo = find_share(cloud.time_s, cloud.weight, cloud.n, 0.025) - shape;
    out->time_s.hi = find_share(cloud.time_s, cloud.weight, cloud.n, 0.975) + shape;
    return true;
}

static enum sh_status check_config(struct problem *p)
{
    const struct sh_step_fit_config *c = p->config;
    bool is_fine = c->rate_hz > 0.0 && isfinite(c->rate_hz) && c->boxcar_s >= 0.0 &&
                   isfinite(c->boxcar_s) && c->fraction > 0.0 && c->fraction < 1.0 &&
                   c->duration_min_s > 0.0 && c->duration_max_s > c->duration_min_s &&
                   isfinite(c->duration_max_s) && c->noise >= 0.0 && isfinite(c->noise);
    if (!is_fine) {
        return SH_ERR_ARGUMENT;
    }
    if (p->n < SH_STEP_FIT_SAMPLES_MIN) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(p->x, p->n)) {
        return SH_ERR_NOT_FINITE;
    }
    p->start_min_s = fmax(c->start_min_s, 0.0);
    p->start_max_s = fmin(c->start_max_s, (double)(p->n - 1) / c->rate_hz);
    return p->start_max_s > p->start_min_s ? SH_OK : SH_ERR_ARGUMENT;
}

static void centre(struct problem *p)
{
    for (size_t i = 0; i < p->n; i++) {
        p->x_mean += p->x[i] / (double)p->n;
    }
    for (size_t i = 0; i < p->n; i++) {
        double d = p->x[i] - p->x_mean;
        p->x_spread += d * d / (double)p->n;
    }
    p->x_spread = sqrt(p->x_spread);
}

/* Levels and their difference where the covariance of all parameters cannot be had. */
static void set_drop(const struct trial *best,
                     double noise,
                     const struct problem *p,
                     struct sh_step_fit *out)
{
    double n_before = fmax(best->start_s * p->config->rate_hz, 1.0);
    double n_after = fmax((double)p->n - n_before, 1.0);
    out->drop = sh_quantity_known(best->level[0] - best->level[1],
                                  noise * sqrt(1.0 / n_before + 1.0 / n_after));
}

enum sh_status sh_step_fit_run(const struct sh_step_fit_config *config,
                               const double *x,
                               size_t n,
                               struct sh_step_fit *out)
{
    struct problem p = {
        .config = config, .x = x, .n = n, .n_levels = config->has_slope ? 3 : 2};
    enum sh_status status = check_config(&p);
    if (status != SH_OK) {
        return status;
    }
    centre(&p);
    struct trial best = find_best(&p);
    if (best.loss >= DBL_MAX || !(p.x_spread > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    improve(&p, &best);
    double noise = get_noise(&p, &best);
    struct sh_step_fit fit = {.before = best.level[0] + p.x_mean,
                              .after = best.level[1] + p.x_mean,
                              .slope = best.level[2],
                              .residual_sd =
                                  sqrt(best.loss / ((double)n - (double)p.n_levels - 2.0))};
    fit.is_resolved = use_covariance(&p, &best, noise, &fit);
    if (!fit.is_resolved) {
        set_drop(&best, noise, &p, &fit);
        if (!use_likelihood(&p, &best, noise, &fit)) {
            return SH_ERR_SINGULAR;
        }
    }
    if (!(fabs(fit.drop.value) > DROP_U_LEAST * fit.drop.u)) {
        return SH_ERR_SINGULAR;
    }
    *out = fit;
    return SH_OK;
}
