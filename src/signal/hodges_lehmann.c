/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hodges_lehmann.h"

#include <math.h>
#include <string.h>

#include "signal/distribution.h"
#include "signal/finite.h"
#include "signal/stats.h"

static enum sh_status check_list(const double *x, size_t n, double level)
{
    if (!(level > 0.0 && level < 1.0) || n > SH_HODGES_LEHMANN_MAX) {
        return SH_ERR_ARGUMENT;
    }
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    return sh_finite_is_all(x, n) ? SH_OK : SH_ERR_NOT_FINITE;
}

/* Sum of t^3 - t over the ties of x[n], which is sorted. */
static double sum_ties(double *x, size_t n)
{
    double sum = 0.0;
    size_t end = 0;
    sh_stats_sort(x, n);
    for (size_t start = 0; start < n; start = end) {
        end = start + 1;
        while (end < n && !(x[end] > x[start])) {
            end++;
        }
        const double t = (double)(end - start);
        sum += t * t * t - t;
    }
    return sum;
}

/* Ways to each rank sum: the Gaussian binomial coefficient of n + m over n, into ways[n m + 1].
 */
static void count_rank_sums(size_t n, size_t m, double *ways)
{
    const size_t last = n * m;
    memset(ways, 0, (last + 1) * sizeof(*ways));
    ways[0] = 1.0;
    for (size_t i = 1; i <= n; i++) {
        for (size_t u = last; u >= m + i; u--) { /* times 1 - q^(m + i) */
            ways[u] -= ways[u - m - i];
        }
        for (size_t u = i; u <= last; u++) { /* over 1 - q^i */
            ways[u] += ways[u - i];
        }
    }
}

/* Ways to each signed-rank sum of n, into ways[n (n + 1) / 2 + 1]. */
static void count_signed_ranks(size_t n, double *ways)
{
    const size_t last = n * (n + 1) / 2;
    memset(ways, 0, (last + 1) * sizeof(*ways));
    ways[0] = 1.0;
    for (size_t i = 1; i <= n; i++) {
        for (size_t u = last; u >= i; u--) { /* times 1 + q^i */
            ways[u] += ways[u - i];
        }
    }
}

/* The smallest sum whose lower tail reaches the share; the law has last + 1 sums. */
static size_t find_rank(const double *ways, size_t last, double share)
{
    double all = 0.0;
    for (size_t u = 0; u <= last; u++) {
        all += ways[u];
    }
    double below = ways[0];
    size_t u = 0;
    while (u < last && below < share * all) {
        below += ways[++u];
    }
    return u;
}

/* The same by the normal law; 0 where not even the first one is inside. */
static size_t find_normal_rank(double mean, double sd, double share)
{
    const double rank = mean + 0.5 + sd * sh_distribution_get_normal_quantile(share);
    return rank >= 1.0 ? (size_t)rank : 0;
}

/* Median of value[n] and its rank-th from either end, counted from 1. */
static enum sh_status
take_ranks(double *value, size_t n, size_t rank, struct sh_hodges_lehmann *result)
{
    if (!sh_finite_is_all(value, n)) {
        return SH_ERR_NOT_FINITE;
    }
    result->is_short = rank == 0;
    const size_t k = rank > 0 ? rank - 1 : 0;
    result->shift = sh_stats_select_median(value, n);
    result->lo = sh_stats_select(value, n, k);
    result->hi = sh_stats_select(value, n, n - 1 - k);
    return isfinite(result->shift) ? SH_OK : SH_ERR_NOT_FINITE;
}

static size_t find_shift_rank(const struct sh_hodges_lehmann_lists *lists,
                              double share,
                              double *work,
                              bool *is_exact)
{
    const size_t n = lists->n;
    const size_t m = lists->m;
    memcpy(work, lists->x, n * sizeof(*work));
    memcpy(work + n, lists->y, m * sizeof(*work));
    const double ties = sum_ties(work, n + m);
    *is_exact = !(ties > 0.0) && n <= SH_HODGES_LEHMANN_EXACT && m <= SH_HODGES_LEHMANN_EXACT;
    if (*is_exact) {
        count_rank_sums(n, m, work);
        return find_rank(work, n * m, share);
    }
    const double pairs = (double)n * (double)m;
    const double all = (double)(n + m);
    const double spread = all + 1.0 - ties / (all * (all - 1.0));
    return find_normal_rank(0.5 * pairs, sqrt(fmax(pairs * spread, 0.0) / 12.0), share);
}

enum sh_status sh_hodges_lehmann_get_shift(const struct sh_hodges_lehmann_lists *lists,
                                           double level,
                                           double *work,
                                           struct sh_hodges_lehmann *result)
{
    enum sh_status status = check_list(lists->x, lists->n, level);
    if (status == SH_OK) {
        status = check_list(lists->y, lists->m, level);
    }
    if (status != SH_OK) {
        return status;
    }
    struct sh_hodges_lehmann got = {0};
    const size_t rank = find_shift_rank(lists, 0.5 * (1.0 - level), work, &got.is_exact);
    for (size_t i = 0; i < lists->n; i++) {
        for (size_t k = 0; k < lists->m; k++) {
            work[i * lists->m + k] = lists->y[k] - lists->x[i];
        }
    }
    status = take_ranks(work, lists->n * lists->m, rank, &got);
    if (status == SH_OK) {
        *result = got;
    }
    return status;
}

static size_t
find_centre_rank(const double *x, size_t n, double share, double *work, bool *is_exact)
{
    double least = HUGE_VAL;
    for (size_t i = 0; i < n; i++) {
        work[i] = fabs(x[i]);
        least = fmin(least, work[i]);
    }
    const double ties = sum_ties(work, n);
    *is_exact = !(ties > 0.0) && least > 0.0 && n <= SH_HODGES_LEHMANN_EXACT;
    const size_t last = n * (n + 1) / 2;
    if (*is_exact) {
        count_signed_ranks(n, work);
        return find_rank(work, last, share);
    }
    const double variance = (double)last * (double)(2 * n + 1) / 12.0 - ties / 48.0; /* */
    return find_normal_rank(0.5 * (double)last, sqrt(fmax(variance, 0.0)), share);
}

enum sh_status sh_hodges_lehmann_get_centre(
    const double *x, size_t n, double level, double *work, struct sh_hodges_lehmann *result)
{
    enum sh_status status = check_list(x, n, level);
    if (status != SH_OK) {
        return status;
    }
    struct sh_hodges_lehmann got = {0};
    const size_t rank = find_centre_rank(x, n, 0.5 * (1.0 - level), work, &got.is_exact);
    size_t n_means = 0;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = i; k < n; k++) {
            work[n_means++] = x[i] + 0.5 * (x[k] - x[i]);
        }
    }
    status = take_ranks(work, n_means, rank, &got);
    if (status == SH_OK) {
        *result = got;
    }
    return status;
}
