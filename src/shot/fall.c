/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/fall.h"

#include <math.h>

#define REACH_S    0.25 /* to both sides of the half: longer than a release by far */
#define HALF_RATIO 0.5
#define TENTH      0.1

/* The smallest mean that begins in first .. last. */
static double find_smallest(const struct sh_pull *pull, size_t first, size_t last)
{
    double smallest_n = pull->mean_n[first < pull->n_means ? first : pull->n_means - 1];
    for (size_t i = first; i <= last && i < pull->n_means; i++) {
        smallest_n = fmin(smallest_n, pull->mean_n[i]);
    }
    return smallest_n;
}

/* Where the straight line between averages i and i + 1 meets level_n. */
static double cross(const struct sh_pull *pull, size_t i, double level_n)
{
    const double *force_n = pull->force_n;
    const double step_n = force_n[i + 1] - force_n[i];
    return step_n < 0.0 ? (double)i + (level_n - force_n[i]) / step_n : (double)i;
}

bool sh_fall_find(const struct sh_pull *pull, size_t first, size_t end, struct sh_fall *out)
{
    const size_t reach = (size_t)ceil(REACH_S * pull->rate_hz);
    size_t top = 0;
    out->largest_n = sh_pull_get_largest(pull, first, end, &top);
    size_t half = end - 1;
    while (half > top && pull->force_n[half] < HALF_RATIO * out->largest_n) {
        half--;
    }
    if (!(out->largest_n > 0.0) || half + 1 >= pull->n) {
        return false;
    }
    const size_t before = half > first + reach ? half - reach : first;
    out->half = half;
    out->high_n = sh_pull_get_largest(pull, before, half + 1, &top);
    out->high_n = fmax(out->high_n, pull->force_n[half]);
    out->low_n = find_smallest(pull, half + 1, half + reach);
    const double tenth_n = TENTH * (out->high_n - out->low_n);
    size_t begin = half;
    while (begin > before && pull->force_n[begin] < out->high_n - tenth_n) {
        begin--;
    }
    size_t bottom = half + 1;
    while (bottom < pull->n && bottom <= half + reach &&
           pull->force_n[bottom] > out->low_n + tenth_n) {
        bottom++;
    }
    if (bottom >= pull->n || !(tenth_n > 0.0)) {
        return false;
    }
    out->begin = cross(pull, begin, out->high_n - tenth_n);
    out->end = cross(pull, bottom - 1, out->low_n + tenth_n);
    out->length_s = (out->end - out->begin) / pull->rate_hz;
    return true;
}

enum sh_shot_kind sh_fall_get_kind(const struct sh_fall *fall, enum sh_fall_shock shock)
{
    if (fall->length_s <= SH_FALL_SHOT_MAX_S) {
        return SH_SHOT_SHOT;
    }
    if (fall->length_s >= SH_FALL_LET_DOWN_MIN_S) {
        return SH_SHOT_LET_DOWN;
    }
    switch (shock) {
    case SH_FALL_SHOCK_SEEN:
        return SH_SHOT_SHOT;
    case SH_FALL_SHOCK_ABSENT:
        return SH_SHOT_LET_DOWN;
    case SH_FALL_SHOCK_UNKNOWN:
        break;
    }
    return SH_SHOT_UNRESOLVED;
}
