/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/release.h"

#include <math.h>

#include "signal/step_fit.h"

#define DROP_RATIO      0.1  /* of the drop, at the release */
#define LET_DOWN_RATIO  0.9  /* of the largest force, at the let-down */
#define COSINE_RATIO    0.59 /* 10-90 % length of half a cosine, of its whole length */
#define DURATION_MIN_S  0.001
#define DURATION_MAX_S  0.1
#define LENGTHEN        1.5 /* a coarse length may be this much short, and two samples */
#define BEFORE_S        0.06
#define AFTER_S         0.004 /* the string rings at some 50 Hz or more */
#define BEFORE_FRAMES   6.0
#define AFTER_FRAMES    4.0
#define AVERAGE_RATE_HZ 400.0 /* faster: an average over one step moves nothing */
#define COVER_95        1.96
#define TAIL            0.025
#define REACH_U         8.0
#define BISECT_ROUNDS   50
#define MISFIT_RATIO    0.004 /* of the drop: what else moves the force just there */

/* The fit's piece of the window. */
struct piece {
    size_t first;
    size_t n;
    double begin; /* 10 % and 90 % of the way down, frames of the window */
    double end;
    double duration_max_s;
};

static struct piece cut_piece(const struct sh_release_force *force,
                              const struct sh_pull *pull,
                              const struct sh_fall *fall)
{
    struct piece piece = {.begin = sh_pull_get_frame(pull, fall->begin),
                          .end = sh_pull_get_frame(pull, fall->end)};
    const double coarse_s = fall->length_s / COSINE_RATIO;
    const double longest_s = LENGTHEN * coarse_s + 2.0 / force->rate_hz + DURATION_MIN_S;
    piece.duration_max_s = fmin(DURATION_MAX_S, longest_s);
    const double before = fmax(BEFORE_FRAMES, fmax(BEFORE_S, longest_s) * force->rate_hz);
    const double after = fmax(AFTER_FRAMES, AFTER_S * force->rate_hz);
    piece.first = (size_t)fmax(0.0, floor(piece.begin - before));
    const double last = fmin((double)force->n_frames - 1.0, ceil(piece.end + after));
    piece.n = (size_t)last + 1 - piece.first;
    return piece;
}

static struct sh_quantity cross_straight(const struct sh_release_force *force,
                                         const struct piece *piece,
                                         const struct sh_fall *fall)
{
    const double level_n = fall->high_n - DROP_RATIO * (fall->high_n - fall->low_n);
    size_t i = (size_t)fmin(ceil(piece->end), (double)force->n_frames - 1.0);
    while (i > piece->first && force->net_n[i] < level_n) {
        i--;
    }
    const double step_n = i + 1 < force->n_frames ? force->net_n[i] - force->net_n[i + 1] : 0.0;
    const double share = step_n > 0.0 ? (force->net_n[i] - level_n) / step_n : 0.5;
    struct sh_quantity release =
        sh_quantity_known((double)i + fmin(1.0, fmax(0.0, share)), 1.0 / sqrt(12.0));
    release.lo = (double)i;
    release.hi = (double)i + 1.0;
    release.has_interval = true;
    return release;
}

static struct sh_quantity
to_frames(struct sh_quantity time_s, const struct piece *piece, double rate_hz)
{
    const double first = (double)piece->first;
    time_s.value = first + time_s.value * rate_hz;
    time_s.u *= rate_hz;
    time_s.lo = first + time_s.lo * rate_hz;
    time_s.hi = first + time_s.hi * rate_hz;
    return time_s;
}

static struct sh_step_fit_config
get_config(const struct sh_release_force *force, const struct piece *piece, double drop_n)
{
    struct sh_step_fit_config config = sh_step_fit_config_default();
    const double step_s = 1.0 / force->rate_hz;
    const double begin_s = (piece->begin - (double)piece->first) * step_s;
    config.rate_hz = force->rate_hz;
    config.fraction = DROP_RATIO;
    config.duration_min_s = DURATION_MIN_S;
    config.duration_max_s = piece->duration_max_s;
    config.start_min_s = fmax(0.0, begin_s - piece->duration_max_s - step_s);
    config.start_max_s =
        fmin((double)(piece->n - 1) * step_s, begin_s + piece->duration_max_s + step_s);
    config.noise = hypot(force->noise_n, MISFIT_RATIO * drop_n);
    config.has_slope = true;
    return config;
}

/* The share of one time's law below t_s: a normal one, with its own width to either side. */
static double get_share_below(const struct sh_quantity *time_s, double t_s)
{
    double lo_s = 0.0;
    double hi_s = 0.0;
    sh_quantity_interval(time_s, &lo_s, &hi_s);
    const double side_s = t_s < time_s->value ? time_s->value - lo_s : hi_s - time_s->value;
    return 0.5 * erfc(-COVER_95 * (t_s - time_s->value) / (side_s * sqrt(2.0)));
}

/* Where share of two times' laws, each as likely as the other, lies below. */
static double
find_share(const struct sh_quantity pair[2], double low_s, double high_s, double share)
{
    for (int round = 0; round < BISECT_ROUNDS; round++) {
        const double middle_s = 0.5 * (low_s + high_s);
        const double below =
            0.5 * (get_share_below(&pair[0], middle_s) + get_share_below(&pair[1], middle_s));
        if (below < share) {
            low_s = middle_s;
        } else {
            high_s = middle_s;
        }
    }
    return 0.5 * (low_s + high_s);
}

/* Either of two times, each as likely (JCGM 101:2008, 5.10: the mean, SD and 95 % of that law).
 */
static struct sh_quantity mix(const struct sh_quantity pair[2])
{
    const double half_s = 0.5 * (pair[1].value - pair[0].value);
    const double low_s =
        fmin(pair[0].value, pair[1].value) - REACH_U * fmax(pair[0].u, pair[1].u);
    const double high_s =
        fmax(pair[0].value, pair[1].value) + REACH_U * fmax(pair[0].u, pair[1].u);
    struct sh_quantity mixed = sh_quantity_known(
        pair[0].value + half_s,
        sqrt(0.5 * (pair[0].u * pair[0].u + pair[1].u * pair[1].u) + half_s * half_s));
    mixed.lo = find_share(pair, low_s, high_s, TAIL);
    mixed.hi = find_share(pair, low_s, high_s, 1.0 - TAIL);
    mixed.has_interval = true;
    return mixed;
}

/*
 * A slow sensor may average over its whole sampling step, or not; nobody has said. Fits the
 * drop that way too (the average being centred on its sample) and takes either for as likely.
 */
static void allow_averaging(const struct sh_release_force *force,
                            const struct piece *piece,
                            const struct sh_step_fit_config *config,
                            struct sh_quantity *time_s)
{
    struct sh_step_fit_config averaging = *config;
    struct sh_step_fit fit;
    averaging.boxcar_s = 1.0 / force->rate_hz;
    if (sh_step_fit_run(&averaging, force->net_n + piece->first, piece->n, &fit) != SH_OK) {
        return;
    }
    const double shift_s = 0.5 * averaging.boxcar_s;
    fit.time_s.value += shift_s;
    fit.time_s.lo += shift_s;
    fit.time_s.hi += shift_s;
    const struct sh_quantity pair[2] = {*time_s, fit.time_s};
    *time_s = mix(pair);
}

void sh_release_find(const struct sh_release_force *force,
                     const struct sh_pull *pull,
                     const struct sh_fall *fall,
                     struct sh_release *out)
{
    const struct piece piece = cut_piece(force, pull, fall);
    const double drop_n = fall->high_n - fall->low_n;
    *out = (struct sh_release){.release = sh_quantity_unknown(SH_WHY_TOO_SHORT),
                               .drop_n = sh_quantity_known(drop_n, force->noise_n)};
    if (piece.n < SH_STEP_FIT_SAMPLES_MIN) {
        return;
    }
    const struct sh_step_fit_config config = get_config(force, &piece, drop_n);
    struct sh_step_fit fit;
    if (sh_step_fit_run(&config, force->net_n + piece.first, piece.n, &fit) != SH_OK) {
        out->release = cross_straight(force, &piece, fall);
        return;
    }
    if (force->rate_hz < AVERAGE_RATE_HZ) {
        allow_averaging(force, &piece, &config, &fit.time_s);
    }
    out->release = to_frames(fit.time_s, &piece, force->rate_hz);
    out->drop_n = fit.drop;
}

struct sh_quantity
sh_release_find_let_down(const struct sh_pull *pull, size_t first, const struct sh_fall *fall)
{
    const double level_n = LET_DOWN_RATIO * fall->largest_n;
    const size_t bottom = (size_t)fall->end;
    size_t i = bottom < pull->n_means ? bottom : pull->n_means - 1;
    while (i > first && pull->mean_n[i] < level_n) {
        i--;
    }
    if (pull->mean_n[i] < level_n || i + 1 >= pull->n_means) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    const double step_n = pull->mean_n[i] - pull->mean_n[i + 1];
    const double share = step_n > 0.0 ? (pull->mean_n[i] - level_n) / step_n : 0.5;
    /* the slope over the mean's own width: a single step is mostly noise */
    const size_t width = pull->n_mean_window;
    const size_t before = i > width ? i - width : 0;
    const size_t after = i + 1 + width < pull->n_means ? i + 1 + width : pull->n_means - 1;
    const double slope_n =
        fmax((pull->mean_n[before] - pull->mean_n[after]) / (double)(after - before),
             1e-6 * fall->largest_n);
    const double noise_n = pull->noise_n / sqrt((double)width);
    const double level_u_n = hypot(noise_n, LET_DOWN_RATIO * noise_n);
    const double u = hypot(level_u_n / slope_n, 1.0 / sqrt(12.0));
    return sh_quantity_known(sh_pull_get_mean_frame(pull, (double)i + share),
                             u * (double)pull->n_average);
}
