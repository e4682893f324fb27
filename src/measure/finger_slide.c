/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_slide.h"

#include <math.h>
#include <stdbool.h>

#define POINTS_MIN      8u
#define PARAMETERS      5.0 /* level, drift, depth, beginning, length */
#define LENGTH_LOW_S    0.1
#define LENGTH_GROWTH   1.5  /* between the lengths that are tried first */
#define LENGTH_SECTIONS 16   /* each leaves 0.62 of the lengths */
#define LEFT_MIN        1e-9 /* rms about a straight line that is none: rounding of shares */
#define GOLDEN          0.6180339887498949
#define COARSE_STEPS    5u
#define REACH_95        6.0 /* F, 0.95, of 1 and some 60 is 4.0; more, as the form is chosen too */
#define HALF_STEP       0.5                 /* the limit is passed between two steps */
#define QUANTISATION_U  0.28867513459481287 /* 1 / sqrt 12 */
#define RECTANGLE_95    0.475               /* to either side, of a rectangle's width */
#define NORMAL_975      1.959963984540054

enum form { FORM_STRAIGHT, FORM_SMOOTH, FORM_COUNT };

/* The series with its straight line taken off: what is left for a fall to explain. */
struct fit {
    const struct sh_finger_slide_series *series;
    double middle_s;
    double tt; /* sum of squares of the times about their middle */
    double mean;
    double drift_per_s;
    double yy; /* sum of squares of what is left */
    double span_s;
};

static void start_fit(const struct sh_finger_slide_series *series, struct fit *fit)
{
    const double n = (double)series->n;
    double ty = 0.0;
    *fit = (struct fit){.series = series,
                        .span_s = series->time_s[series->n - 1] - series->time_s[0]};
    for (size_t i = 0; i < series->n; i++) {
        fit->middle_s += series->time_s[i] / n;
        fit->mean += series->share[i] / n;
    }
    for (size_t i = 0; i < series->n; i++) {
        const double t = series->time_s[i] - fit->middle_s;
        fit->tt += t * t;
        ty += t * series->share[i];
    }
    fit->drift_per_s = ty / fit->tt;
    for (size_t i = 0; i < series->n; i++) {
        const double left = series->share[i] - fit->mean -
                            fit->drift_per_s * (series->time_s[i] - fit->middle_s);
        fit->yy += left * left;
    }
}

/* How much of a fall is done, by the part of its time that has gone. */
static double get_done(enum form form, double gone)
{
    const double u = fmin(1.0, fmax(0.0, gone));
    return form == FORM_STRAIGHT ? u : u * u * u * (10.0 + u * (6.0 * u - 15.0));
}

/* Sum of squares about level, drift and a fall of its best depth; yy where it would rise. */
static double
get_squares(const struct fit *fit, enum form form, double begin_s, double length_s)
{
    const struct sh_finger_slide_series *series = fit->series;
    double sum = 0.0;
    double st = 0.0;
    double ss = 0.0;
    double sy = 0.0;
    for (size_t i = 0; i < series->n; i++) {
        const double done = get_done(form, (series->time_s[i] - begin_s) / length_s);
        const double t = series->time_s[i] - fit->middle_s;
        sum += done;
        st += done * t;
        ss += done * done;
        sy += done * (series->share[i] - fit->mean - fit->drift_per_s * t);
    }
    const double own = ss - sum * sum / (double)series->n - st * st / fit->tt;
    return sy < 0.0 && own > 1e-9 * ss ? fmax(fit->yy - sy * sy / own, 0.0) : fit->yy;
}

/* The least sum of squares of falls of one form with lengths from low_s to high_s: the golden
 * section. */
static double refine_length(
    const struct fit *fit, enum form form, double begin_s, double low_s, double high_s)
{
    double a_s = high_s - GOLDEN * (high_s - low_s);
    double b_s = low_s + GOLDEN * (high_s - low_s);
    double a = get_squares(fit, form, begin_s, a_s);
    double b = get_squares(fit, form, begin_s, b_s);
    for (int i = 0; i < LENGTH_SECTIONS; i++) {
        if (a < b) {
            high_s = b_s;
            b_s = a_s;
            b = a;
            a_s = high_s - GOLDEN * (high_s - low_s);
            a = get_squares(fit, form, begin_s, a_s);
        } else {
            low_s = a_s;
            a_s = b_s;
            a = b;
            b_s = low_s + GOLDEN * (high_s - low_s);
            b = get_squares(fit, form, begin_s, b_s);
        }
    }
    return fmin(a, b);
}

/* The least sum of squares of all falls that begin at begin_s. */
static double get_least(const struct fit *fit, double begin_s)
{
    double least = fit->yy;
    for (int form = 0; form < FORM_COUNT; form++) {
        double best = fit->yy;
        double best_s = 0.0;
        for (double length_s = LENGTH_LOW_S; length_s < fit->span_s;
             length_s *= LENGTH_GROWTH) {
            const double squares = get_squares(fit, (enum form)form, begin_s, length_s);
            best_s = squares < best ? length_s : best_s;
            best = fmin(best, squares);
        }
        if (best < fit->yy) {
            best = fmin(best, refine_length(fit, (enum form)form, begin_s,
                                            best_s / LENGTH_GROWTH, best_s * LENGTH_GROWTH));
        }
        least = fmin(least, best);
    }
    return least;
}

/* The step at which a fall fits best, of those every `by` from first to last. */
static size_t
find_best(const struct fit *fit, size_t first, size_t last, size_t by, double *least)
{
    size_t best = first;
    *least = (double)INFINITY;
    for (size_t i = first; i <= last; i += by) {
        const double squares =
            get_least(fit, fit->series->time_s[0] + (double)i * fit->series->step_s);
        if (squares < *least) {
            *least = squares;
            best = i;
        }
    }
    return best;
}

static bool is_within(const struct fit *fit, size_t step, double limit)
{
    const double begin_s = fit->series->time_s[0] + (double)step * fit->series->step_s;
    return get_least(fit, begin_s) <= limit;
}

/* The first step that fits within limit: of the coarse ones up to best, then back from it. */
static size_t find_first(const struct fit *fit, size_t best, double limit)
{
    size_t first = 0;
    while (first < best && !is_within(fit, first, limit)) {
        first += COARSE_STEPS;
    }
    first = first < best ? first : best;
    while (first > 0 && is_within(fit, first - 1u, limit)) {
        first--;
    }
    return first;
}

/* And the last one up to the series' last step. */
static size_t find_last(const struct fit *fit, size_t best, size_t end, double limit)
{
    size_t last = end;
    while (last > best + COARSE_STEPS && !is_within(fit, last, limit)) {
        last -= COARSE_STEPS;
    }
    last = is_within(fit, last, limit) ? last : best;
    while (last < end && is_within(fit, last + 1u, limit)) {
        last++;
    }
    return last;
}

struct sh_quantity sh_finger_slide_find(const struct sh_finger_slide_series *series)
{
    if (series->n < POINTS_MIN) {
        return sh_quantity_unknown(SH_WHY_TOO_SHORT);
    }
    struct fit fit;
    double least = 0.0;
    start_fit(series, &fit);
    const size_t last = (size_t)floor(fit.span_s / series->step_s);
    const size_t coarse = find_best(&fit, 0, last, COARSE_STEPS, &least);
    const size_t from = coarse > COARSE_STEPS ? coarse - COARSE_STEPS : 0;
    const size_t to = coarse + COARSE_STEPS < last ? coarse + COARSE_STEPS : last;
    const size_t best = find_best(&fit, from, to, 1, &least);
    const double limit = least * (1.0 + REACH_95 / ((double)series->n - PARAMETERS));
    if (limit >= fit.yy || fit.yy < LEFT_MIN * LEFT_MIN * (double)series->n) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    const double before = HALF_STEP + (double)(best - find_first(&fit, best, limit));
    const double after = HALF_STEP + (double)(find_last(&fit, best, last, limit) - best);
    const double begin_s = series->time_s[0] + (double)best * series->step_s;
    struct sh_quantity begin = sh_quantity_known(
        begin_s, series->step_s * hypot(fmax(before, after) / NORMAL_975, QUANTISATION_U));
    begin.has_interval = true;
    begin.lo = begin_s - series->step_s * hypot(before, RECTANGLE_95);
    begin.hi = begin_s + series->step_s * hypot(after, RECTANGLE_95);
    return begin;
}
