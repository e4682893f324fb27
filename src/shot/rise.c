/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/rise.h"

#include <math.h>

#define SLOPE_REACH_S 0.015 /* to both sides of an event, for the slope of the rate there */
#define RAMP_START    0.35  /* of its 10-90 % length a release may begin before its 10 % */
#define MARGIN_S      1.0   /* before a draw leaves rest: its rate there is needed too */
#define NOISE_REACH   4.0
#define NORMAL_975    1.959963984540054
#define SHOWN_RATIO   0.5 /* of the largest force, by a sensor at the end of its range */
#define FASTER_RATIO  1.5 /* the largest rate may be so much above what was seen of it */
#define SLOWING_RATIO 0.5
#define DOUBT_S       0.1  /* two sigma of the rate's Gaussian */
#define FLAT_PER_S    1e-6 /* of the largest rate, a second: smallest slope of the rate */

size_t sh_rise_find_low(const struct sh_pull *pull, size_t first, size_t before, double level_n)
{
    size_t low = before;
    while (low > first && pull->force_n[low] >= level_n) {
        low--;
    }
    return low;
}

/* The part of the pull whose rate was worked out: begins at average `first`. */
struct rates {
    const double *slope;
    size_t first;
    size_t n;
    double rate_hz;
    double noise; /* of one rate */
    double level; /* 10 % of the largest */
    double largest;
    double low_n; /* force at which the main rise begins */
};

/* Rates i and i + 1 lie on either side of the level: where, in averages, and how sure. */
static struct sh_quantity cross(const struct rates *rates, size_t i)
{
    const double *slope = rates->slope;
    const double place = (double)i + (rates->level - slope[i]) / (slope[i + 1] - slope[i]);
    const size_t reach = (size_t)ceil(SLOPE_REACH_S * rates->rate_hz);
    const size_t before = i > reach ? i - reach : 0;
    const size_t after = i + 1 + reach < rates->n ? i + 1 + reach : rates->n - 1;
    const double bend = fmax(fabs(slope[after] - slope[before]) / (double)(after - before),
                             FLAT_PER_S * rates->largest / rates->rate_hz);
    const double noise = rates->noise * sqrt(1.0 + SH_RISE_SLOW_RATIO * SH_RISE_SLOW_RATIO);
    /* a straight line between two rates, which bend over sigma, is off by 1/8 of step^2 / sigma
     */
    const double coarse = fmin(1.0, 1.0 / (8.0 * SH_PULL_SIGMA_S * rates->rate_hz));
    const double u = hypot(noise / bend, coarse / sqrt(3.0));
    return sh_quantity_known((double)rates->first + place, u);
}

static double find_largest(const struct rates *rates, size_t begin)
{
    double largest = rates->slope[begin];
    for (size_t i = begin; i < rates->n; i++) {
        largest = fmax(largest, rates->slope[i]);
    }
    return largest;
}

static struct sh_quantity in_frames(const struct sh_pull *pull, struct sh_quantity average)
{
    if (sh_quantity_is_known(&average)) {
        average.value = sh_pull_get_frame(pull, average.value);
        average.u *= (double)pull->n_average;
        if (average.has_interval) {
            average.lo = sh_pull_get_frame(pull, average.lo);
            average.hi = sh_pull_get_frame(pull, average.hi);
        }
    }
    return average;
}

/* Where the force crosses a level between averages i and i + 1, at a low rate. */
static struct sh_quantity cross_force(const struct sh_pull *pull, size_t i, double level_n)
{
    const double *force_n = pull->force_n;
    const double place = (level_n - force_n[i]) / (force_n[i + 1] - force_n[i]);
    return sh_quantity_known((double)i + fmin(1.0, fmax(0.0, place)), 1.0 / sqrt(3.0));
}

/* The draw start if the main rise begins at average i, where the force crosses level_n. */
static struct sh_quantity
find_start(const struct sh_pull *pull, const struct rates *rates, size_t i, double level_n)
{
    size_t start = i > rates->first ? i - rates->first : 0;
    if (rates->slope[start] < rates->level) {
        return cross_force(pull, i, level_n);
    }
    while (start > 0 && rates->slope[start] >= rates->level) {
        start--;
    }
    return rates->slope[start] < rates->level ? cross(rates, start)
                                              : sh_quantity_unknown(SH_WHY_TOO_SHORT);
}

/*
 * A preload that stands at just 25 % of the largest force belongs to the main rise or does not
 * as its noise has it: then the start lies between what the first and the last place give at
 * which the force may have left 25 %.
 */
static struct sh_quantity find_draw_start(const struct sh_pull *pull,
                                          const struct rates *rates,
                                          const struct sh_rise *rise)
{
    const double low_n = rates->low_n;
    const double reach_n = NOISE_REACH * pull->noise_n;
    if (pull->force_n[rise->low] >= low_n) {
        return sh_quantity_unknown(SH_WHY_TOO_SHORT);
    }
    const size_t before = sh_rise_find_low(pull, rates->first, rise->low + 1, low_n - reach_n);
    const size_t after = sh_rise_find_low(pull, rise->low, rise->high, low_n + reach_n);
    const struct sh_quantity first = find_start(pull, rates, before, low_n - reach_n);
    const struct sh_quantity last = find_start(pull, rates, after, low_n + reach_n);
    struct sh_quantity start = find_start(pull, rates, rise->low, low_n);
    const bool are_known = sh_quantity_is_known(&start) && sh_quantity_is_known(&first) &&
                           sh_quantity_is_known(&last);
    if (are_known && last.value - first.value > 1.0) {
        start.has_interval = true;
        start.lo = first.value - NORMAL_975 * first.u;
        start.hi = last.value + NORMAL_975 * last.u;
        start.u = hypot(start.u, (last.value - first.value) / sqrt(3.0));
    }
    return start;
}

static void
find_events(const struct sh_pull *pull, const struct rates *rates, struct sh_rise *out)
{
    out->draw_start = in_frames(pull, find_draw_start(pull, rates, out));
    size_t full = out->high - rates->first;
    while (full < rates->n && rates->slope[full] >= rates->level) {
        full++;
    }
    out->full_draw = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    if (full < rates->n && full > 0 && rates->slope[full - 1] >= rates->level) {
        out->full_draw = in_frames(pull, cross(rates, full - 1));
    }
}

void sh_rise_find(struct sh_pull *pull,
                  size_t first,
                  const struct sh_fall *fall,
                  struct sh_rise *out)
{
    const double low_n = SH_RISE_LOW_RATIO * fall->largest_n;
    const double rest_n =
        fmax(SH_RISE_REST_RATIO * fall->largest_n, NOISE_REACH * pull->noise_n);
    const double ramp = RAMP_START * fall->length_s * pull->rate_hz + 1.0;
    const size_t end = (size_t)fmax((double)first, floor(fall->begin - ramp) + 1.0);
    *out = (struct sh_rise){.largest_n = fall->largest_n,
                            .draw_start = sh_quantity_unknown(SH_WHY_TOO_SHORT),
                            .full_draw = sh_quantity_unknown(SH_WHY_TOO_SHORT)};
    out->low = sh_rise_find_low(pull, first, fall->half, low_n);
    out->high = out->low;
    while (out->high < fall->half &&
           pull->force_n[out->high] <= SH_RISE_HIGH_RATIO * fall->largest_n) {
        out->high++;
    }
    const size_t begin = sh_rise_find_low(pull, first, out->low, rest_n);
    const size_t margin = (size_t)(MARGIN_S * pull->rate_hz);
    const size_t from = begin > first + margin ? begin - margin : first;
    if (out->high >= end || sh_pull_find_slope(pull, from, end) != SH_OK) {
        out->full_draw = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        return;
    }
    struct rates rates = {.slope = pull->slope_n_per_s,
                          .first = from,
                          .n = pull->n_slopes,
                          .rate_hz = pull->rate_hz,
                          .low_n = low_n,
                          .noise = pull->noise_n *
                                   sh_gauss_get_slope_noise(pull->gauss, pull->rate_hz)};
    rates.largest = find_largest(&rates, begin - from);
    rates.level = SH_RISE_SLOW_RATIO * rates.largest;
    out->rate_max_n_per_s = rates.largest;
    out->first_slope = from;
    find_events(pull, &rates, out);
}

/* A draw start that another lower level, of force or of rate, may move to last. */
static void
doubt_start(const struct sh_pull *pull, const struct sh_quantity *last, struct sh_rise *rise)
{
    const struct sh_quantity start = in_frames(pull, *last);
    struct sh_quantity *draw_start = &rise->draw_start;
    double lo = 0.0;
    double hi = 0.0;
    if (!sh_quantity_is_known(draw_start)) {
        return;
    }
    const double apart = sh_quantity_is_known(&start) ? start.value - draw_start->value : 0.0;
    if (!sh_quantity_is_known(&start) || apart > DOUBT_S * pull->frame_rate_hz) {
        *draw_start = sh_quantity_unknown(SH_WHY_CLIPPED);
        return;
    }
    sh_quantity_interval(draw_start, &lo, &hi);
    draw_start->has_interval = true;
    draw_start->lo = lo;
    draw_start->hi = fmax(hi, start.value + NORMAL_975 * start.u);
    draw_start->u = hypot(draw_start->u, fmax(0.0, apart) / sqrt(3.0));
}

void sh_rise_doubt(const struct sh_pull *pull, size_t full, struct sh_rise *rise)
{
    struct rates rates = {.slope = pull->slope_n_per_s,
                          .first = rise->first_slope,
                          .n = pull->n_slopes,
                          .rate_hz = pull->rate_hz,
                          .noise = pull->noise_n *
                                   sh_gauss_get_slope_noise(pull->gauss, pull->rate_hz),
                          .level = SH_RISE_SLOW_RATIO * rise->rate_max_n_per_s,
                          .largest = rise->rate_max_n_per_s};
    const size_t near = (size_t)(DOUBT_S * pull->rate_hz);
    if (!(rates.largest > 0.0)) {
        return;
    }
    const double low_n = SH_RISE_LOW_RATIO / SHOWN_RATIO * rise->largest_n;
    const size_t low = sh_rise_find_low(pull, rise->low, rise->high, low_n);
    const size_t last_clear = full > rates.first + near ? full - near - rates.first : 0;
    /* far below its largest, the rate does not rise again before a full draw */
    const bool is_slowing = last_clear < rates.n && low < full &&
                            rates.slope[last_clear] < SLOWING_RATIO * rates.largest;
    rates.level *= is_slowing ? 1.0 : FASTER_RATIO;
    const struct sh_quantity last = find_start(pull, &rates, low, low_n);
    doubt_start(pull, &last, rise);
    rise->full_draw = sh_quantity_unknown(SH_WHY_CLIPPED);
}
