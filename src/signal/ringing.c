/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/ringing.h"

#include <complex.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "signal/cholesky.h"
#include "signal/dot.h"
#include "signal/finite.h"
#include "signal/pencil.h"

#define SAMPLES_MOST    65536u
#define ORDER_MAX       SH_PENCIL_ORDER_MAX
#define PARAMETERS_MAX  (2u * ORDER_MAX) /* of one pole each: a part and a rate */
#define REAL_POLE_ANGLE 1e-9             /* radians a sample */

struct sh_ringing {
    struct sh_ringing_config config;
    struct sh_pencil *pencil;
};

struct sh_ringing_config sh_ringing_config_default(void)
{
    return (struct sh_ringing_config){.n_max = 2048, .n_modes = 4, .n_lags = 300};
}

enum sh_status sh_ringing_open(const struct sh_ringing_config *config,
                               struct sh_ringing **out,
                               struct sh_error *err)
{
    if (config->n_max > SAMPLES_MOST) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "modes", "give at most 65536",
                            "longest window %zu samples", config->n_max);
    }
    if (config->n_modes < 1 || config->n_modes > SH_RINGING_MODES_MAX ||
        config->n_lags > config->n_max) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "modes",
                            "give 1 to 8 modes and no more lags than the window has samples",
                            "%zu modes, %zu lags", config->n_modes, config->n_lags);
    }
    struct sh_ringing *ringing = calloc(1, sizeof(*ringing));
    if (ringing == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "modes", NULL, "no memory for the workspace");
    }
    ringing->config = *config;
    enum sh_status status =
        sh_pencil_open(config->n_lags, 2 * config->n_modes, &ringing->pencil);
    if (status != SH_OK) {
        sh_ringing_close(&ringing);
        return sh_error_set(err, status, "modes",
                            "give 4 lags a mode and 16 more, at most 4096", "%zu lags",
                            config->n_lags);
    }
    *out = ringing;
    return SH_OK;
}

void sh_ringing_close(struct sh_ringing **ringing)
{
    if (ringing == NULL || *ringing == NULL) {
        return;
    }
    sh_pencil_close(&(*ringing)->pencil);
    free(*ringing);
    *ringing = NULL;
}

/* One decaying component: growth + j angle a sample; cosine and sine parts. */
struct component {
    double growth;
    double angle; /* 0: real pole, only the cosine part */
    double part[2];
};

static size_t
pick_components(const double complex *poles, size_t order, struct component *components)
{
    size_t count = 0;
    for (size_t i = 0; i < order; i++) {
        double size = cabs(poles[i]);
        double angle = carg(poles[i]);
        bool is_real = fabs(angle) < REAL_POLE_ANGLE;
        bool is_upper = angle >= REAL_POLE_ANGLE && angle < SH_PI - REAL_POLE_ANGLE;
        if (size > 0.0 && (is_real || is_upper)) {
            components[count++] =
                (struct component){.growth = log(size), .angle = is_real ? 0.0 : angle};
        }
    }
    return count;
}

/* A decaying turn of every component: exp((growth + j angle) t), from sample to sample. */
struct turns {
    double re[ORDER_MAX];
    double im[ORDER_MAX];
    double step_re[ORDER_MAX];
    double step_im[ORDER_MAX];
    size_t count;
    size_t i; /* the sample */
};

static void start_turns(struct turns *turns, const struct component *c, size_t count)
{
    *turns = (struct turns){.count = count};
    for (size_t k = 0; k < count; k++) {
        double size = exp(c[k].growth);
        turns->re[k] = 1.0;
        turns->step_re[k] = size * cos(c[k].angle);
        turns->step_im[k] = size * sin(c[k].angle);
    }
}

static void step_turns(struct turns *turns)
{
    for (size_t k = 0; k < turns->count; k++) {
        double re = turns->re[k] * turns->step_re[k] - turns->im[k] * turns->step_im[k];
        turns->im[k] = turns->re[k] * turns->step_im[k] + turns->im[k] * turns->step_re[k];
        turns->re[k] = re;
    }
    turns->i++;
}

/*
 * Row of the design at the sample of turns: parts first (one or two a component), then, where
 * with_poles, the derivatives by growth and angle (one or two a component). Returns the number
 * of columns.
 */
static size_t
fill_row(const struct component *c, const struct turns *turns, bool with_poles, double *row)
{
    size_t m = 0;
    double t = (double)turns->i;
    for (size_t k = 0; k < turns->count; k++) {
        row[m++] = turns->re[k];
        if (c[k].angle > 0.0) {
            row[m++] = turns->im[k];
        }
    }
    for (size_t k = 0; with_poles && k < turns->count; k++) {
        double cosine = turns->re[k];
        double sine = turns->im[k];
        row[m++] = t * (c[k].part[0] * cosine + c[k].part[1] * sine);
        if (c[k].angle > 0.0) {
            row[m++] = t * (c[k].part[1] * cosine - c[k].part[0] * sine);
        }
    }
    return m;
}

/* Normal matrix scaled to a unit diagonal; scale[k] is what column k was divided by. */
static void scale_normal(double *normal, double *scale, size_t m)
{
    for (size_t a = 0; a < m; a++) {
        double size = sqrt(normal[a * m + a]);
        scale[a] = size > 0.0 ? size : 1.0;
    }
    for (size_t a = 0; a < m; a++) {
        for (size_t b = 0; b <= a; b++) {
            normal[a * m + b] /= scale[a] * scale[b];
        }
    }
}

static size_t count_columns(const struct component *c, size_t count, bool with_poles)
{
    size_t m = 0;
    for (size_t k = 0; k < count; k++) {
        m += c[k].angle > 0.0 ? 2 : 1;
    }
    return with_poles ? 2 * m : m;
}

/* A least-squares problem, scaled and factored. */
struct fit {
    size_t m;
    double normal[PARAMETERS_MAX * PARAMETERS_MAX];
    double right[PARAMETERS_MAX];
    double scale[PARAMETERS_MAX];
};

static enum sh_status factor_fit(const double *x,
                                 size_t n,
                                 const struct component *c,
                                 size_t count,
                                 bool with_poles,
                                 struct fit *fit)
{
    memset(fit, 0, sizeof(*fit));
    struct turns turns;
    double row[PARAMETERS_MAX] = {0.0};
    start_turns(&turns, c, count);
    for (size_t i = 0; i < n; i++) {
        fit->m = fill_row(c, &turns, with_poles, row);
        sh_cholesky_add_row(row, x[i], fit->m, fit->normal, fit->right);
        step_turns(&turns);
    }
    scale_normal(fit->normal, fit->scale, fit->m);
    return sh_cholesky_factor(fit->normal, fit->m);
}

static void scale_down(double *values, const double *scale, size_t m)
{
    for (size_t a = 0; a < m; a++) {
        values[a] /= scale[a];
    }
}

static enum sh_status fit_parts(
    const double *x, size_t n, struct component *c, size_t count, double *residual_squares)
{
    struct fit fit;
    enum sh_status status = factor_fit(x, n, c, count, false, &fit);
    if (status != SH_OK) {
        return status;
    }
    scale_down(fit.right, fit.scale, fit.m);
    sh_cholesky_solve(fit.normal, fit.m, fit.right);
    scale_down(fit.right, fit.scale, fit.m);
    size_t next = 0;
    for (size_t k = 0; k < count; k++) {
        c[k].part[0] = fit.right[next++];
        c[k].part[1] = c[k].angle > 0.0 ? fit.right[next++] : 0.0;
    }
    *residual_squares = 0.0;
    struct turns turns;
    double row[PARAMETERS_MAX] = {0.0};
    start_turns(&turns, c, count);
    for (size_t i = 0; i < n; i++) {
        (void)fill_row(c, &turns, false, row);
        step_turns(&turns);
        double residual = x[i] - sh_dot_get(row, fit.right, fit.m);
        *residual_squares += residual * residual;
    }
    return SH_OK;
}

/* Standard uncertainty of a figure with this gradient by (cos, sin, growth, angle). */
static double get_u(const double *gradient, double (*cov)[4])
{
    double variance = 0.0;
    for (size_t a = 0; a < 4; a++) {
        variance += gradient[a] * sh_dot_get(cov[a], gradient, 4);
    }
    return sqrt(fmax(variance, 0.0));
}

/* Turns one component with the covariance of (cos, sin, growth, angle) at unit noise into a
 * mode. */
static struct sh_ringing_mode
make_mode(const struct component *c, double rate_hz, double noise, double (*cov)[4])
{
    double speed = hypot(c->growth, c->angle);
    double size = hypot(c->part[0], c->part[1]);
    double cube = speed * speed * speed;
    const double frequency[4] = {0.0, 0.0, c->growth / speed, c->angle / speed};
    const double damping[4] = {0.0, 0.0, -c->angle * c->angle / cube,
                               c->growth * c->angle / cube};
    const double amplitude[4] = {c->part[0] / size, c->part[1] / size, 0.0, 0.0};
    const double phase[4] = {c->part[1] / (size * size), -c->part[0] / (size * size), 0.0, 0.0};
    double to_hz = rate_hz / (2.0 * SH_PI);
    return (struct sh_ringing_mode){
        .frequency_hz = sh_quantity_known(speed * to_hz, noise * to_hz * get_u(frequency, cov)),
        .damping = sh_quantity_known(-c->growth / speed, noise * get_u(damping, cov)),
        .amplitude = sh_quantity_known(size, noise * get_u(amplitude, cov)),
        .phase_rad =
            sh_quantity_known(atan2(-c->part[1], c->part[0]), noise * get_u(phase, cov))};
}

static void insert_mode(struct sh_ringing_result *out, const struct sh_ringing_mode *mode)
{
    size_t place = out->n_modes++;
    while (place > 0 && out->mode[place - 1].amplitude.value < mode->amplitude.value) {
        out->mode[place] = out->mode[place - 1];
        place--;
    }
    out->mode[place] = *mode;
}

/* Covariance of the four figures of the component whose part and pole stand at these columns.
 */
static void get_covariance(
    const struct fit *fit, const double *inverse, size_t part, size_t pole, double (*cov)[4])
{
    const size_t index[4] = {part, part + 1, pole, pole + 1};
    for (size_t a = 0; a < 4; a++) {
        for (size_t b = 0; b < 4; b++) {
            cov[a][b] = inverse[index[a] * fit->m + index[b]] /
                        (fit->scale[index[a]] * fit->scale[index[b]]);
        }
    }
}

/* Modes with uncertainties from the covariance of all parameters for noise of residual_sd. */
static enum sh_status list_modes(const double *x,
                                 size_t n,
                                 const struct component *c,
                                 size_t count,
                                 double rate_hz,
                                 struct sh_ringing_result *out)
{
    struct fit fit;
    double inverse[PARAMETERS_MAX * PARAMETERS_MAX];
    enum sh_status status = factor_fit(x, n, c, count, true, &fit);
    if (status != SH_OK) {
        return status;
    }
    sh_cholesky_invert(fit.normal, fit.m, inverse);
    size_t part = 0;
    size_t pole = count_columns(c, count, false);
    for (size_t k = 0; k < count; k++) {
        bool is_mode = c[k].angle > 0.0;
        if (is_mode && out->n_modes < SH_RINGING_MODES_MAX) {
            double cov[4][4];
            get_covariance(&fit, inverse, part, pole, cov);
            struct sh_ringing_mode mode = make_mode(&c[k], rate_hz, out->residual_sd, cov);
            insert_mode(out, &mode);
        }
        part += is_mode ? 2 : 1;
        pole += is_mode ? 2 : 1;
    }
    return SH_OK;
}

enum sh_status sh_ringing_run(struct sh_ringing *ringing,
                              const double *x,
                              size_t n,
                              double rate_hz,
                              struct sh_ringing_result *out)
{
    if (n > ringing->config.n_max || !(rate_hz > 0.0) || !isfinite(rate_hz)) {
        return SH_ERR_ARGUMENT;
    }
    struct sh_ringing_result result = {.n_modes = 0};
    double complex poles[ORDER_MAX];
    enum sh_status status = sh_pencil_run(ringing->pencil, x, n, poles, &result.order);
    if (status != SH_OK) {
        return status;
    }
    struct component components[ORDER_MAX];
    size_t count = pick_components(poles, result.order, components);
    double squares = sh_dot_get(x, x, n);
    if (count > 0) {
        status = fit_parts(x, n, components, count, &squares);
    }
    if (status == SH_OK) {
        size_t n_free = n - count_columns(components, count, true);
        result.residual_sd = sqrt(squares / (double)n_free);
        status = list_modes(x, n, components, count, rate_hz, &result);
    }
    if (status == SH_OK) {
        *out = result;
    }
    return status;
}
