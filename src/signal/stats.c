/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/stats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/finite.h"

static enum sh_status check_input(const double *x, size_t n, size_t n_least)
{
    if (n < n_least) {
        return SH_ERR_SHORT;
    }
    return sh_finite_is_all(x, n) ? SH_OK : SH_ERR_NOT_FINITE;
}

static int compare_numbers(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

void sh_stats_sort(double *x, size_t n)
{
    if (n > 1) {
        qsort(x, n, sizeof(x[0]), compare_numbers);
    }
}

static double find_middle(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/*
 * Moves what is below pivot to the front of x[low .. end); returns where the rest begins. Each
 * number is moved whether or not it has to be: no branch depends on the data.
 */
static size_t gather_below(double *x, size_t low, size_t end, double pivot)
{
    size_t n_below = low;
    for (size_t i = low; i < end; i++) {
        const double value = x[i];
        x[i] = x[n_below];
        x[n_below] = value;
        n_below += value < pivot;
    }
    return n_below;
}

static size_t gather_up_to(double *x, size_t low, size_t end, double pivot)
{
    size_t n_below = low;
    for (size_t i = low; i < end; i++) {
        const double value = x[i];
        x[i] = x[n_below];
        x[n_below] = value;
        n_below += value <= pivot;
    }
    return n_below;
}

double sh_stats_select(double *x, size_t n, size_t k)
{
    size_t low = 0;
    size_t end = n;
    while (end - low > 1) {
        const double pivot = find_middle(x[low], x[low + (end - low) / 2], x[end - 1]);
        const size_t equal = gather_below(x, low, end, pivot);
        if (k < equal) {
            end = equal;
            continue;
        }
        const size_t more = gather_up_to(x, equal, end, pivot);
        if (k < more) {
            break;
        }
        low = more;
    }
    return x[k];
}

double sh_stats_select_median(double *x, size_t n)
{
    const double upper = sh_stats_select(x, n, n / 2);
    if (n % 2 == 1) {
        return upper;
    }
    double lower = x[0];
    for (size_t i = 1; i < n / 2; i++) {
        lower = fmax(lower, x[i]);
    }
    return lower + 0.5 * (upper - lower);
}

enum sh_status sh_stats_get_mean(const double *x, size_t n, double *mean, double *sd)
{
    enum sh_status status = check_input(x, n, sd != NULL ? 2 : 1);
    if (status != SH_OK) {
        return status;
    }
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i];
    }
    const double rough = sum / (double)n;
    double rest = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double d = x[i] - rough;
        rest += d;
        squares += d * d;
    }
    if (!isfinite(rest) || (sd != NULL && !isfinite(squares))) {
        return SH_ERR_NOT_FINITE;
    }
    *mean = rough + rest / (double)n;
    if (sd != NULL) {
        *sd = sqrt(fmax(squares - rest * rest / (double)n, 0.0) / (double)(n - 1));
    }
    return SH_OK;
}

enum sh_status sh_stats_get_cv(const double *x, size_t n, double *cv_ratio)
{
    double mean = 0.0;
    double sd = 0.0;
    enum sh_status status = sh_stats_get_mean(x, n, &mean, &sd);
    if (status != SH_OK) {
        return status;
    }
    const double ratio = sd / fabs(mean);
    if (!isfinite(ratio)) {
        return SH_ERR_SINGULAR;
    }
    *cv_ratio = ratio;
    return SH_OK;
}

enum sh_status
sh_stats_get_median(const double *x, size_t n, double *work, double *median, double *mad)
{
    enum sh_status status = check_input(x, n, 1);
    if (status != SH_OK) {
        return status;
    }
    memcpy(work, x, n * sizeof(x[0]));
    const double middle = sh_stats_select_median(work, n);
    for (size_t i = 0; i < n; i++) {
        work[i] = fabs(x[i] - middle);
    }
    if (!isfinite(middle) || !sh_finite_is_all(work, n)) {
        return SH_ERR_NOT_FINITE;
    }
    *median = middle;
    if (mad != NULL) {
        *mad = sh_stats_select_median(work, n);
    }
    return SH_OK;
}

enum sh_status sh_stats_get_robust_cv(const double *x, size_t n, double *work, double *cv_ratio)
{
    double median = 0.0;
    double mad = 0.0;
    enum sh_status status = check_input(x, n, 2);
    if (status == SH_OK) {
        status = sh_stats_get_median(x, n, work, &median, &mad);
    }
    if (status != SH_OK) {
        return status;
    }
    const double ratio = SH_STATS_MAD_TO_SD * mad / fabs(median);
    if (!isfinite(ratio)) {
        return SH_ERR_SINGULAR;
    }
    *cv_ratio = ratio;
    return SH_OK;
}

enum sh_status
sh_stats_get_autocorrelation(const double *x, size_t n, size_t lag, double *correlation)
{
    if (n < 2 || lag >= n) {
        return SH_ERR_SHORT;
    }
    double mean = 0.0;
    enum sh_status status = sh_stats_get_mean(x, n, &mean, NULL);
    if (status != SH_OK) {
        return status;
    }
    double squares = 0.0;
    double products = 0.0;
    for (size_t i = 0; i < n; i++) {
        squares += (x[i] - mean) * (x[i] - mean);
    }
    for (size_t i = lag; i < n; i++) {
        products += (x[i] - mean) * (x[i - lag] - mean);
    }
    if (!isfinite(squares)) {
        return SH_ERR_NOT_FINITE;
    }
    if (!(squares > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    *correlation = products / squares;
    return SH_OK;
}

enum sh_status
sh_stats_get_quantile(const double *x, size_t n, double share, double *work, double *quantile)
{
    enum sh_status status = check_input(x, n, 1);
    if (status != SH_OK) {
        return status;
    }
    if (!(share >= 0.0 && share <= 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    memcpy(work, x, n * sizeof(x[0]));
    const double place = share * (double)(n - 1);
    const size_t k = (size_t)place;
    const double lower = sh_stats_select(work, n, k);
    if (k + 1 == n) {
        *quantile = lower;
        return SH_OK;
    }
    double upper = work[k + 1];
    for (size_t i = k + 2; i < n; i++) {
        upper = fmin(upper, work[i]);
    }
    const double value = lower + (place - (double)k) * (upper - lower);
    if (!isfinite(value)) {
        return SH_ERR_NOT_FINITE;
    }
    *quantile = value;
    return SH_OK;
}

enum sh_status sh_stats_get(const double *x, size_t n, double *work, struct sh_stats *stats)
{
    struct sh_stats got = {0};
    enum sh_status status = sh_stats_get_mean(x, n, &got.mean, &got.sd);
    if (status == SH_OK) {
        status = sh_stats_get_median(x, n, work, &got.median, &got.mad);
    }
    if (status != SH_OK) {
        return status;
    }
    got.robust_sd = SH_STATS_MAD_TO_SD * got.mad;
    got.min = x[0];
    got.max = x[0];
    for (size_t i = 1; i < n; i++) {
        got.min = fmin(got.min, x[i]);
        got.max = fmax(got.max, x[i]);
    }
    *stats = got;
    return SH_OK;
}
