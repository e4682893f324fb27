/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_slide.h"

#include <math.h>
#include <stdbool.h>

#define POINTS_MIN     8u
#define SMOOTHED       3u
#define REACHED        0.9
#define QUANTISATION_U 0.28867513459481287 /* 1 / sqrt 12 */
#define SOFT_RATIO     0.35 /* of the fall: how much earlier a smooth one may have begun */
#define NORMAL_975     1.959963984540054

static double get_mean(const double *x, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i];
    }
    return sum / (double)n;
}

/* Number of points up to where the fall is nearly done. */
static size_t find_end(const struct sh_finger_slide_series *series)
{
    const double from = get_mean(series->share, series->n_before);
    const double to = get_mean(series->share + series->n - series->n_after, series->n_after);
    const double low = from - REACHED * (from - to);
    for (size_t i = 0; i + SMOOTHED <= series->n; i++) {
        if (get_mean(series->share + i, SMOOTHED) <= low) {
            return i + SMOOTHED;
        }
    }
    return series->n;
}

/* Sum of squares about level and line with a corner at corner_s; *slope of the line. */
static double fit_corner(const struct sh_finger_slide_series *series,
                         size_t n,
                         double corner_s,
                         double *slope)
{
    double sum_x = 0.0;
    double sum_y = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum_x += fmax(series->time_s[i] - corner_s, 0.0);
        sum_y += series->share[i];
    }
    const double mean_x = sum_x / (double)n;
    const double mean_y = sum_y / (double)n;
    double xx = 0.0;
    double xy = 0.0;
    double yy = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double x = fmax(series->time_s[i] - corner_s, 0.0) - mean_x;
        const double y = series->share[i] - mean_y;
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    *slope = xx > 0.0 ? xy / xx : 0.0;
    return fmax(yy - *slope * xy, 0.0);
}

/* The least sum of squares of all falling corners; false where none falls. */
static bool find_least(const struct sh_finger_slide_series *series,
                       size_t n,
                       double *least,
                       double *corner_s)
{
    bool is_found = false;
    const size_t n_steps =
        (size_t)floor((series->time_s[n - 1] - series->time_s[0]) / series->step_s);
    for (size_t i = 1; i < n_steps; i++) {
        const double at_s = series->time_s[0] + (double)i * series->step_s;
        double slope = 0.0;
        const double squares = fit_corner(series, n, at_s, &slope);
        if (slope < 0.0 && (!is_found || squares < *least)) {
            *least = squares;
            *corner_s = at_s;
            is_found = true;
        }
    }
    return is_found;
}

/* How far from corner_s, in steps of step_s (of either sign), the squares stay within limit. */
static double get_reach(const struct sh_finger_slide_series *series,
                        size_t n,
                        const double corner_and_step_s[2],
                        double limit)
{
    const double step_s = corner_and_step_s[1];
    double slope = 0.0;
    for (size_t i = 1;; i++) {
        const double here_s = corner_and_step_s[0] + (double)i * step_s;
        const bool is_inside = here_s > series->time_s[0] && here_s < series->time_s[n - 1];
        if (!is_inside || fit_corner(series, n, here_s, &slope) > limit) {
            return (double)(i - 1u) * fabs(step_s);
        }
    }
}

struct sh_quantity sh_finger_slide_find(const struct sh_finger_slide_series *series)
{
    const bool has_ends = series->n_before >= 1 && series->n_before <= series->n &&
                          series->n_after >= 1 && series->n_after <= series->n;
    if (series->n < POINTS_MIN || !has_ends) {
        return sh_quantity_unknown(SH_WHY_TOO_SHORT);
    }
    double least = 0.0;
    double corner_s = 0.0;
    const size_t end = find_end(series);
    const size_t n = end < POINTS_MIN ? POINTS_MIN : end;
    if (!find_least(series, n, &least, &corner_s)) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    const double limit = least * (1.0 + 1.0 / ((double)n - 3.0));
    const double earlier[2] = {corner_s, -series->step_s};
    const double later[2] = {corner_s, series->step_s};
    const double range_s =
        get_reach(series, n, earlier, limit) + get_reach(series, n, later, limit);
    const double corner_u_s = hypot(0.5 * range_s, QUANTISATION_U * series->step_s);
    const double soft_s = SOFT_RATIO * fmax(0.0, series->time_s[n - 1] - corner_s);
    struct sh_quantity begin =
        sh_quantity_known(corner_s, hypot(corner_u_s, QUANTISATION_U * soft_s));
    begin.has_interval = true;
    begin.lo = corner_s - soft_s - NORMAL_975 * corner_u_s;
    begin.hi = corner_s + NORMAL_975 * corner_u_s;
    return begin;
}
