/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/events/tally.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "signal/random.h"

#define MOST           0.95
#define MS_PER_S       1e3
#define BOOTSTRAP_SEED 17

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* Value of sorted[n] at a share, n above 0. */
static double get_quantile(const double *sorted, size_t n, double share)
{
    const double at = share * (double)(n - 1);
    const size_t below = (size_t)at;
    const size_t above = below + 1 < n ? below + 1 : below;
    return sorted[below] + (at - (double)below) * (sorted[above] - sorted[below]);
}

/* Truths in their interval, and truths, of one event in one session. */
static void count_inside(const struct pairing *pairing, size_t e, size_t *inside, size_t *n)
{
    *inside = 0;
    *n = 0;
    for (size_t i = 0; i < pairing->n_draws; i++) {
        const struct pairing_event *event = &pairing->draw[i].event[e];
        const bool has_both = event->is_true && event->is_found;
        *n += has_both ? 1 : 0;
        *inside += has_both && event->is_inside ? 1 : 0;
    }
}

/* The share's interval when whole sessions are drawn again (Efron 1979). work: [resamples] */
static void resample(
    const struct pairing *pairing, size_t n, size_t e, double *work, struct tally_event *out)
{
    struct sh_random random;
    size_t n_shares = 0;
    sh_random_init(&random, BOOTSTRAP_SEED);
    for (size_t k = 0; k < TALLY_RESAMPLES; k++) {
        size_t inside = 0;
        size_t all = 0;
        for (size_t i = 0; i < n; i++) {
            size_t one_inside = 0;
            size_t one = 0;
            const size_t pick = (size_t)(sh_random_get_uniform(&random) * (double)n);
            count_inside(&pairing[pick], e, &one_inside, &one);
            inside += one_inside;
            all += one;
        }
        if (all > 0) {
            work[n_shares++] = (double)inside / (double)all;
        }
    }
    if (n_shares > 0) {
        qsort(work, n_shares, sizeof *work, compare);
        out->inside_lo = get_quantile(work, n_shares, 0.025);
        out->inside_hi = get_quantile(work, n_shares, 0.975);
    }
}

/* Errors of one event over all sessions, into error[]; how many. */
static size_t gather(
    const struct pairing *pairing, size_t n, size_t e, double *error, struct tally_event *out)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t d = 0; d < pairing[i].n_draws; d++) {
            const struct pairing_event *event = &pairing[i].draw[d].event[e];
            out->n_true += event->is_true ? 1 : 0;
            if (!event->is_true || !event->is_found) {
                continue;
            }
            error[out->n_found++] = event->error_s;
            if (fabs(event->error_s) > out->worst_s) {
                out->worst_s = fabs(event->error_s);
                out->worst_seed = pairing[i].seed;
                out->worst_at_s = pairing[i].draw[d].truth_s;
            }
        }
    }
    return out->n_found;
}

static void count_event(
    const struct pairing *pairing, size_t n, size_t e, double *work, struct tally_event *out)
{
    const size_t n_errors = gather(pairing, n, e, work, out);
    size_t n_inside = 0;
    if (n_errors == 0) {
        return;
    }
    qsort(work, n_errors, sizeof *work, compare);
    out->bias_s = get_quantile(work, n_errors, 0.5);
    for (size_t i = 0; i < n_errors; i++) {
        work[i] = fabs(work[i]);
    }
    qsort(work, n_errors, sizeof *work, compare);
    out->median_s = get_quantile(work, n_errors, 0.5);
    out->most_s = get_quantile(work, n_errors, MOST);
    for (size_t i = 0; i < n; i++) {
        size_t inside = 0;
        size_t all = 0;
        count_inside(&pairing[i], e, &inside, &all);
        n_inside += inside;
    }
    out->inside = (double)n_inside / (double)n_errors;
    resample(pairing, n, e, work, out);
}

enum sh_status tally_make(const struct pairing *pairing, size_t n, struct tally *out)
{
    *out = (struct tally){0};
    double *work = malloc((n * PRACTICE_DRAWS + TALLY_RESAMPLES) * sizeof *work);
    if (work == NULL) {
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < n; i++) {
        out->n_sessions += pairing[i].is_done ? 1 : 0;
        out->n_draws += pairing[i].n_draws;
        out->n_invented += pairing[i].n_invented;
        out->n_clicker_seen += pairing[i].n_clicker_seen;
        out->n_clicker_false += pairing[i].n_clicker_false;
        for (size_t d = 0; d < pairing[i].n_draws; d++) {
            out->n_missed += pairing[i].draw[d].is_missed ? 1 : 0;
            out->n_cut += pairing[i].draw[d].is_cut ? 1 : 0;
            out->n_kind_right += pairing[i].draw[d].is_kind_right ? 1 : 0;
        }
    }
    for (size_t e = 0; e < PAIRING_EVENTS; e++) {
        count_event(pairing, n, e, work, &out->event[e]);
    }
    free(work);
    return SH_OK;
}

static void print_event(const char *set, size_t e, const struct tally_event *event)
{
    if (event->n_true == 0) {
        return;
    }
    (void)printf("| %s | %s | %zu of %zu |", set, pairing_get_name(e), event->n_found,
                 event->n_true);
    if (event->n_found == 0) {
        (void)printf(" - | - | - | - | - |\n");
        return;
    }
    (void)printf(" %.2f | %.2f | %.2f | %+.2f | %.1f (%.1f-%.1f) |\n",
                 MS_PER_S * event->median_s, MS_PER_S * event->most_s,
                 MS_PER_S * event->worst_s, MS_PER_S * event->bias_s, 100.0 * event->inside,
                 100.0 * event->inside_lo, 100.0 * event->inside_hi);
    (void)fprintf(stderr, "%s %s: worst in seed %llu at %.3f s\n", set, pairing_get_name(e),
                  (unsigned long long)event->worst_seed, event->worst_at_s);
}

static void print_faults(const char *set, const struct pairing *pairing)
{
    if (pairing->n_invented > 0) {
        (void)fprintf(stderr, "%s seed %llu: %zu invented, last at %.3f s\n", set,
                      (unsigned long long)pairing->seed, pairing->n_invented,
                      pairing->invented_s);
    }
    for (size_t d = 0; d < pairing->n_draws; d++) {
        const struct pairing_draw *draw = &pairing->draw[d];
        if (draw->is_missed || !(draw->is_kind_right || draw->is_cut)) {
            (void)fprintf(stderr, "%s seed %llu: draw at %.3f s %s\n", set,
                          (unsigned long long)pairing->seed, draw->truth_s,
                          draw->is_missed ? "missed" : "of the wrong kind");
        }
    }
}

void tally_print(const char *set,
                 const struct pairing *pairing,
                 size_t n,
                 const struct tally *tally)
{
    const struct tally_event *clicker = &tally->event[2];
    const size_t n_whole = tally->n_draws - tally->n_missed - tally->n_cut;
    (void)printf("%s: %zu sessions, %zu draws, %zu missed, %zu invented, kinds right %zu of "
                 "%zu (%zu cut "
                 "by a gap)",
                 set, tally->n_sessions, tally->n_draws, tally->n_missed, tally->n_invented,
                 tally->n_kind_right, n_whole, tally->n_cut);
    if (tally->n_clicker_seen > 0) {
        (void)printf("; clicker recall %.4f, precision %.4f",
                     (double)clicker->n_found / (double)clicker->n_true,
                     1.0 - (double)tally->n_clicker_false / (double)tally->n_clicker_seen);
    }
    (void)printf("\n");
    for (size_t e = 0; e < PAIRING_EVENTS; e++) {
        print_event(set, e, &tally->event[e]);
    }
    for (size_t i = 0; i < n; i++) {
        print_faults(set, &pairing[i]);
    }
    (void)fflush(stdout);
}
