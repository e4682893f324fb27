/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/rank.h"

#include <math.h>
#include <stdbool.h>

#include "signal/distribution.h"
#include "signal/finite.h"

/* Moves the number at root down to its place in the heap of the first n places. */
static void sift_down(const double *x, size_t *order, size_t root, size_t n)
{
    const size_t moved = order[root];
    for (;;) {
        size_t child = 2 * root + 1;
        if (child >= n) {
            break;
        }
        if (child + 1 < n && x[order[child]] < x[order[child + 1]]) {
            child++;
        }
        if (!(x[moved] < x[order[child]])) {
            break;
        }
        order[root] = order[child];
        root = child;
    }
    order[root] = moved;
}

/* Places of x[n] from the smallest on (heap sort, Williams 1964). */
static void sort_places(const double *x, size_t n, size_t *order)
{
    for (size_t i = 0; i < n; i++) {
        order[i] = i;
    }
    for (size_t i = n / 2; i > 0; i--) {
        sift_down(x, order, i - 1, n);
    }
    for (size_t i = n; i > 1; i--) {
        const size_t largest = order[0];
        order[0] = order[i - 1];
        order[i - 1] = largest;
        sift_down(x, order, 0, i - 1);
    }
}

/* One past the last of those alike with the one at start. */
static size_t find_tie_end(const double *x, const size_t *order, size_t n, size_t start)
{
    size_t end = start + 1;
    while (end < n && !(x[order[end]] > x[order[start]])) {
        end++;
    }
    return end;
}

enum sh_status sh_rank_make(const double *x, size_t n, size_t *order, double *rank)
{
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    sort_places(x, n, order);
    size_t end = 0;
    for (size_t start = 0; start < n; start = end) {
        end = find_tie_end(x, order, n, start);
        for (size_t i = start; i < end; i++) {
            rank[order[i]] = 0.5 * (double)(start + 1 + end);
        }
    }
    return SH_OK;
}

static enum sh_status check_pairs(const struct sh_rank_pairs *pairs, double level, size_t least)
{
    if (!(level > 0.0 && level < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (pairs->n < least) {
        return SH_ERR_SHORT;
    }
    return sh_finite_is_all(pairs->x, pairs->n) && sh_finite_is_all(pairs->y, pairs->n)
               ? SH_OK
               : SH_ERR_NOT_FINITE;
}

/* Limits by Fisher's z, whose standard error is given. */
static void set_limits(double z_u, double level, struct sh_rank_correlation *c)
{
    const double t = sh_distribution_get_normal_quantile(0.5 * (1.0 + level));
    const double z = atanh(c->value); /* infinite at 1 and -1, where the limits meet */
    c->lo = tanh(z - t * z_u);
    c->hi = tanh(z + t * z_u);
}

enum sh_status sh_rank_get_spearman(const struct sh_rank_pairs *pairs,
                                    double level,
                                    const struct sh_rank_work *work,
                                    struct sh_rank_correlation *correlation)
{
    enum sh_status status = check_pairs(pairs, level, 4);
    if (status != SH_OK) {
        return status;
    }
    const size_t n = pairs->n;
    (void)sh_rank_make(pairs->x, n, work->order, work->rank_x);
    (void)sh_rank_make(pairs->y, n, work->order, work->rank_y);
    const double mean = 0.5 * (double)(n + 1);
    double xx = 0.0;
    double yy = 0.0;
    double xy = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double dx = work->rank_x[i] - mean;
        const double dy = work->rank_y[i] - mean;
        xx += dx * dx;
        yy += dy * dy;
        xy += dx * dy;
    }
    if (!(xx > 0.0 && yy > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    const double r = fmax(fmin(xy / (sqrt(xx) * sqrt(yy)), 1.0), -1.0);
    struct sh_rank_correlation got = {.value = r};
    const double freedom = (double)(n - 2);
    const double t = r * sqrt(freedom / ((1.0 - r) * (1.0 + r))); /* infinite at 1 and -1 */
    got.p = sh_distribution_get_t_two_sided(t, freedom);
    set_limits(sqrt((1.0 + 0.5 * r * r) / (double)(n - 3)), level, &got);
    *correlation = got;
    return SH_OK;
}

/* Sums over the ties of a list: t (t - 1), t (t - 1)(t - 2), t (t - 1)(2 t + 5). */
struct ties {
    double pairs;
    double triples;
    double variance;
};

static struct ties sum_ties(const double *x, size_t n, size_t *order)
{
    struct ties ties = {0.0, 0.0, 0.0};
    sort_places(x, n, order);
    size_t end = 0;
    for (size_t start = 0; start < n; start = end) {
        end = find_tie_end(x, order, n, start);
        const double t = (double)(end - start);
        ties.pairs += t * (t - 1.0);
        ties.triples += t * (t - 1.0) * (t - 2.0);
        ties.variance += t * (t - 1.0) * (2.0 * t + 5.0);
    }
    return ties;
}

static int compare(double a, double b)
{
    return (a > b) - (a < b);
}

/* Concordant less discordant pairs. */
static double count_concordance(const struct sh_rank_pairs *pairs)
{
    double sum = 0.0;
    for (size_t i = 1; i < pairs->n; i++) {
        for (size_t k = 0; k < i; k++) {
            sum +=
                (double)(compare(pairs->x[i], pairs->x[k]) * compare(pairs->y[i], pairs->y[k]));
        }
    }
    return sum;
}

enum sh_status sh_rank_get_kendall(const struct sh_rank_pairs *pairs,
                                   double level,
                                   const struct sh_rank_work *work,
                                   struct sh_rank_correlation *correlation)
{
    enum sh_status status = check_pairs(pairs, level, 5);
    if (status != SH_OK) {
        return status;
    }
    const double n = (double)pairs->n;
    const struct ties x = sum_ties(pairs->x, pairs->n, work->order);
    const struct ties y = sum_ties(pairs->y, pairs->n, work->order);
    const double all = n * (n - 1.0);
    if (!(x.pairs < all && y.pairs < all)) {
        return SH_ERR_SINGULAR;
    }
    const double sum = count_concordance(pairs);
    const double tau = 2.0 * sum / (sqrt(all - x.pairs) * sqrt(all - y.pairs));
    struct sh_rank_correlation got = {.value = fmax(fmin(tau, 1.0), -1.0)};
    const double variance = (all * (2.0 * n + 5.0) - x.variance - y.variance) / 18.0 +
                            x.triples * y.triples / (9.0 * all * (n - 2.0)) +
                            x.pairs * y.pairs / (2.0 * all);
    got.p = 2.0 * sh_distribution_get_normal(-fabs(sum) / sqrt(variance));
    set_limits(sqrt(0.437 / (n - 4.0)), level, &got);
    *correlation = got;
    return SH_OK;
}
