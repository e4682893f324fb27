/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/dpss.h"

#include <math.h>
#include <stdbool.h>

#include "base/units.h"

#define BISECTIONS_MAX 1200 /* from any finite bracket to neighbouring numbers */

/* One half of the problem: sequences even or odd about the middle. */
struct half_problem {
    size_t n;         /* full length */
    bool is_odd;      /* v[n - 1 - i] = -v[i] */
    double sin2_pi_w; /* sin^2(pi W) */
};

/* Half the coupling i (n - i) / 2 between samples i - 1 and i. */
static double get_coupling(size_t i, size_t n)
{
    return 0.5 * (double)i * (double)(n - i);
}

static double get_potential(const struct half_problem *p, size_t i)
{
    double t = 0.5 * ((double)p->n - 1.0) - (double)i;
    return 2.0 * t * t * p->sin2_pi_w;
}

/* The recurrence on its way from the edge (v[0] = 1) to the middle. */
struct shot {
    double x;    /* the sample reached */
    double flux; /* coupling times the step to the next one */
    size_t n_changes;
};

/* Goes on to sample i + 1. */
static void step_inward(const struct half_problem *p, double mu, size_t i, struct shot *shot)
{
    shot->flux += (get_potential(p, i) - mu) * shot->x;
    double next = shot->x + shot->flux / get_coupling(i + 1, p->n);
    shot->n_changes += signbit(next) != signbit(shot->x);
    shot->x = next;
}

/* What must vanish at the middle if mu is an eigenvalue; the last sample is n / 2 - 1. */
static double get_middle_condition(const struct half_problem *p, double mu, struct shot *shot)
{
    size_t n_half = p->n / 2;
    if (p->n % 2 == 0) {
        double flux = shot->flux + (get_potential(p, n_half - 1) - mu) * shot->x;
        return p->is_odd ? flux + 2.0 * get_coupling(n_half, p->n) * shot->x : flux;
    }
    if (p->is_odd) {
        double flux = shot->flux + (get_potential(p, n_half - 1) - mu) * shot->x;
        return shot->x + flux / get_coupling(n_half, p->n);
    }
    step_inward(p, mu, n_half - 1, shot);
    return shot->flux + 0.5 * (get_potential(p, n_half) - mu) * shot->x;
}

/*
 * How many eigenvalues of this half lie below mu: the sign changes of the recurrence, the
 * condition at the middle counting as a last sample. Stores the half in v where that is not
 * NULL.
 */
static size_t shoot(const struct half_problem *p, double mu, double *v)
{
    size_t n_half = p->n / 2;
    struct shot shot = {1.0, 0.0, 0};
    for (size_t i = 0; i < n_half; i++) {
        if (v != NULL) {
            v[i] = shot.x;
        }
        if (i + 1 < n_half) {
            step_inward(p, mu, i, &shot);
        }
    }
    double last = get_middle_condition(p, mu, &shot);
    if (v != NULL && p->n % 2 == 1) {
        v[n_half] = p->is_odd ? 0.0 : shot.x;
    }
    return shot.n_changes + (signbit(last) != signbit(shot.x));
}

/* The eigenvalue number index (from 0, smallest first) of one half. */
static double find_eigenvalue(const struct half_problem *p, size_t index)
{
    double low = 0.0;
    double high = 1.0;
    while (shoot(p, high, NULL) <= index) {
        low = high;
        high *= 2.0;
    }
    for (int i = 0; i < BISECTIONS_MAX; i++) {
        double middle = low + 0.5 * (high - low);
        if (middle <= low || middle >= high) {
            break;
        }
        if (shoot(p, middle, NULL) <= index) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

static void unfold(const struct half_problem *p, double *v)
{
    size_t n = p->n;
    double energy = 0.0;
    double sum = 0.0;
    for (size_t i = 0; i < n / 2; i++) {
        v[n - 1 - i] = p->is_odd ? -v[i] : v[i];
        energy += 2.0 * v[i] * v[i];
        sum += 2.0 * v[i];
    }
    if (n % 2 == 1) {
        energy += v[n / 2] * v[n / 2];
        sum += v[n / 2];
    }
    double scale = 1.0 / sqrt(energy);
    if (!p->is_odd && sum < 0.0) {
        scale = -scale;
    }
    for (size_t i = 0; i < n; i++) {
        v[i] *= scale;
    }
}

/* sin(2 pi W d) / (pi d) summed against v, over v at its largest sample. */
static double get_concentration(const double *v, size_t n, double w)
{
    size_t top = 0;
    for (size_t i = 1; i < n; i++) {
        top = fabs(v[i]) > fabs(v[top]) ? i : top;
    }
    double sum = 2.0 * w * v[top];
    for (size_t i = 0; i < n; i++) {
        double d = i > top ? (double)(i - top) : (double)(top - i);
        if (i != top) {
            sum += v[i] * sin(2.0 * SH_PI * w * d) / (SH_PI * d);
        }
    }
    return fmin(sum / v[top], 1.0);
}

enum sh_status
sh_dpss_make(const struct sh_dpss_config *config, double *tapers, double *concentration)
{
    size_t n = config->n;
    if (n < 2 || n > SH_DPSS_LENGTH_MAX || config->k < 1 || config->k > n ||
        config->k > SH_DPSS_TAPERS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    if (!(config->nw > 0.0 && config->nw <= SH_DPSS_NW_MAX && config->nw < 0.5 * (double)n)) {
        return SH_ERR_ARGUMENT;
    }
    double w = config->nw / (double)n;
    double sine = sin(SH_PI * w);
    for (size_t k = 0; k < config->k; k++) {
        double *v = tapers + k * n;
        struct half_problem p = {n, k % 2 == 1, sine * sine};
        double mu = find_eigenvalue(&p, k / 2);
        (void)shoot(&p, mu, v);
        unfold(&p, v);
        if (concentration != NULL) {
            concentration[k] = get_concentration(v, n, w);
        }
    }
    return SH_OK;
}
