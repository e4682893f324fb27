/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/tapers.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "signal/dot.h"
#include "signal/dpss.h"

#define ENERGY_LEAST 1e-6 /* that a taper must keep outside the earlier ones */
#define POINTS_PER_W 16   /* of Simpson's rule over one unit of time-bandwidth */

struct sh_tapers {
    size_t n_max;
    double nw;
    size_t k;
    size_t n;       /* length of the last make */
    size_t n_whole; /* length for which whole[] holds tapers, 0: none */
    bool has_gaps;  /* the last make used masked[] */
    double *whole;  /* [k][n] */
    double *masked; /* [k][n] */
    double whole_concentration[SH_TAPERS_MAX];
    double masked_concentration[SH_TAPERS_MAX];
};

enum sh_status sh_tapers_open(size_t n_max, double nw, size_t k, struct sh_tapers **out)
{
    if (n_max < 1 || k < 1 || k > SH_TAPERS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    struct sh_tapers *t = calloc(1, sizeof(*t));
    if (t == NULL) {
        return SH_ERR_MEMORY;
    }
    t->n_max = n_max;
    t->nw = nw;
    t->k = k;
    t->whole = calloc(k * n_max, sizeof(*t->whole));
    t->masked = calloc(k * n_max, sizeof(*t->masked));
    if (t->whole == NULL || t->masked == NULL) {
        sh_tapers_close(&t);
        return SH_ERR_MEMORY;
    }
    *out = t;
    return SH_OK;
}

void sh_tapers_close(struct sh_tapers **tapers)
{
    if (tapers == NULL || *tapers == NULL) {
        return;
    }
    free((*tapers)->whole);
    free((*tapers)->masked);
    free(*tapers);
    *tapers = NULL;
}

/* Takes the parts along the first k tapers off taper k. */
static void clear_earlier(double *tapers, size_t k, size_t n)
{
    double *v = tapers + k * n;
    for (size_t j = 0; j < k; j++) {
        const double *u = tapers + j * n;
        sh_dot_add(-sh_dot_get(u, v, n), u, v, n);
    }
}

/* Squared size of the transform of v at f cycles a sample. */
static double get_density(const double *v, size_t n, double f)
{
    double complex turn = cexp(-2.0 * SH_PI * f * (double complex)I);
    double complex sum = 0.0;
    for (size_t i = n; i-- > 0;) {
        sum = sum * turn + v[i];
    }
    return creal(sum) * creal(sum) + cimag(sum) * cimag(sum);
}

/* Share of the energy of a taper of unit energy within w cycles a sample of 0. */
static double get_concentration(const double *v, size_t n, double nw)
{
    double w = nw / (double)n;
    size_t n_steps = 2 * (size_t)ceil(0.5 * POINTS_PER_W * nw);
    double sum = 0.0;
    for (size_t i = 0; i <= n_steps; i++) {
        double weight = i % 2 == 1 ? 4.0 : 2.0;
        weight = i == 0 || i == n_steps ? 1.0 : weight;
        sum += weight * get_density(v, n, w * (double)i / (double)n_steps);
    }
    return fmin(2.0 * sum * w / (3.0 * (double)n_steps), 1.0);
}

static enum sh_status mask_tapers(struct sh_tapers *t, const bool *present, size_t n)
{
    for (size_t k = 0; k < t->k; k++) {
        double *v = t->masked + k * n;
        for (size_t i = 0; i < n; i++) {
            v[i] = present[i] ? t->whole[k * n + i] : 0.0;
        }
        clear_earlier(t->masked, k, n);
        clear_earlier(t->masked, k, n);
        double energy = sh_dot_get(v, v, n);
        if (energy < ENERGY_LEAST) {
            return SH_ERR_SINGULAR;
        }
        double scale = 1.0 / sqrt(energy);
        for (size_t i = 0; i < n; i++) {
            v[i] *= scale;
        }
        t->masked_concentration[k] = get_concentration(v, n, t->nw);
    }
    return SH_OK;
}

static bool has_absent(const bool *present, size_t n)
{
    for (size_t i = 0; present != NULL && i < n; i++) {
        if (!present[i]) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_tapers_make(struct sh_tapers *tapers, const bool *present, size_t n)
{
    struct sh_tapers *t = tapers;
    if (n > t->n_max) {
        return SH_ERR_ARGUMENT;
    }
    if (t->n_whole != n) {
        struct sh_dpss_config config = {n, t->nw, t->k};
        t->n_whole = 0;
        enum sh_status status = sh_dpss_make(&config, t->whole, t->whole_concentration);
        if (status != SH_OK) {
            return status;
        }
        t->n_whole = n;
    }
    t->n = n;
    t->has_gaps = has_absent(present, n);
    return t->has_gaps ? mask_tapers(t, present, n) : SH_OK;
}

const double *sh_tapers_get(const struct sh_tapers *tapers, size_t i)
{
    return (tapers->has_gaps ? tapers->masked : tapers->whole) + i * tapers->n;
}

double sh_tapers_get_concentration(const struct sh_tapers *tapers, size_t i)
{
    return tapers->has_gaps ? tapers->masked_concentration[i] : tapers->whole_concentration[i];
}
