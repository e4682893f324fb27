/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/coverage/tally.h"

#include <math.h>
#include <stdlib.h>

#include "signal/random.h"

#define N_DRAWS     1000u
#define INSIDE_LOW  0.93
#define INSIDE_HIGH 0.97

bool tally_add(struct tally *tally,
               size_t session,
               const struct sh_quantity *measured,
               double truth)
{
    double low = 0.0;
    double high = 0.0;
    if (!sh_quantity_is_known(measured)) {
        tally->n_unknown++;
        return true;
    }
    if (tally->n == tally->capacity) {
        const size_t capacity = tally->capacity > 0 ? 2u * tally->capacity : 64u;
        struct tally_row *grown = realloc(tally->rows, capacity * sizeof *grown);
        if (grown == NULL) {
            return false;
        }
        tally->rows = grown;
        tally->capacity = capacity;
    }
    sh_quantity_interval(measured, &low, &high);
    tally->rows[tally->n++] = (struct tally_row){.session = session,
                                                 .error = measured->value - truth,
                                                 .u = measured->u,
                                                 .is_inside = truth >= low && truth <= high};
    return true;
}

void tally_close(struct tally *tally)
{
    free(tally->rows);
    *tally = (struct tally){.n = 0};
}

static int compare(const void *a, const void *b)
{
    const double left = *(const double *)a;
    const double right = *(const double *)b;
    return (left > right) - (left < right);
}

static double get_quantile(const double *sorted, size_t n, double share)
{
    const double at = ceil(share * (double)n);
    return sorted[at >= 1.0 ? (size_t)at - 1u : 0u];
}

/* What each session has: rows, and rows inside. */
static void count_sessions(const struct tally *tally, double (*session)[2])
{
    for (size_t i = 0; i < tally->n; i++) {
        session[tally->rows[i].session][0] += 1.0;
        session[tally->rows[i].session][1] += tally->rows[i].is_inside ? 1.0 : 0.0;
    }
}

static void
draw_sessions(double (*session)[2], size_t n_sessions, uint64_t seed, double share[N_DRAWS])
{
    struct sh_random random;
    sh_random_init(&random, seed);
    for (size_t k = 0; k < N_DRAWS; k++) {
        double n = 0.0;
        double n_inside = 0.0;
        for (size_t i = 0; i < n_sessions; i++) {
            const size_t s = (size_t)sh_random_get_below(&random, n_sessions);
            n += session[s][0];
            n_inside += session[s][1];
        }
        share[k] = n > 0.0 ? n_inside / n : 0.0;
    }
    qsort(share, N_DRAWS, sizeof *share, compare);
}

static void sum_errors(const struct tally *tally, double *size, struct tally_summary *out)
{
    const double n = (double)tally->n;
    for (size_t i = 0; i < tally->n; i++) {
        const struct tally_row *row = &tally->rows[i];
        out->bias += row->error / n;
        out->error_rms += row->error * row->error / n;
        out->u_rms += row->u * row->u / n;
        out->inside_ratio += row->is_inside ? 1.0 / n : 0.0;
        size[i] = fabs(row->error);
    }
    out->error_rms = sqrt(out->error_rms);
    out->u_rms = sqrt(out->u_rms);
    qsort(size, tally->n, sizeof *size, compare);
    out->error_95 = get_quantile(size, tally->n, 0.95);
}

bool tally_sum(const struct tally *tally,
               size_t n_sessions,
               uint64_t seed,
               struct tally_summary *out)
{
    static double share[N_DRAWS];
    *out = (struct tally_summary){.n = tally->n, .n_unknown = tally->n_unknown};
    if (tally->n == 0) {
        return false;
    }
    double(*session)[2] = calloc(n_sessions, sizeof *session);
    double *size = calloc(tally->n, sizeof *size);
    const bool is_done = session != NULL && size != NULL;
    if (is_done) {
        sum_errors(tally, size, out);
        count_sessions(tally, session);
        draw_sessions(session, n_sessions, seed, share);
        out->inside_low = get_quantile(share, N_DRAWS, 0.025);
        out->inside_high = get_quantile(share, N_DRAWS, 0.975);
        out->is_met = out->inside_low <= INSIDE_HIGH && out->inside_high >= INSIDE_LOW;
    }
    free(session);
    free(size);
    return is_done;
}
