/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/flinch.h"

#include <math.h>

#include "signal/moving.h"

#define SEARCH_S      0.4  /* before c */
#define LAG_S         0.12 /* from the dip to the means before and after it */
#define SIDE_WINDOW_S 0.06
#define DIP_WINDOW_S  0.03
#define LEAVE_S       0.005
#define LEVEL_SPAN_S  0.03 /* the level that the force leaves: the mean before */
#define LEAVE_RATIO   0.98
#define NORMAL_975    1.959963984540054
#define DEEPEST_RATIO 0.5
#define DEEPEST_REACH 0.9
#define COARSE_RATIO  0.85
#define COARSE_FRAMES 6u
#define RIVAL_NOISES  2.0                /* of one of two dips, which share most of the way */
#define RECTANGLE     0.5773502691896258 /* standard deviation of a half-width 1: 1/sqrt 3 */

/* The search, in frames of the force. */
struct dip_search {
    size_t first; /* of the samples that sums stand for */
    size_t n;     /* of them */
    size_t begin; /* frames at which a dip may lie */
    size_t end;   /* behind the last */
    size_t lag;
    size_t n_side;
    size_t n_dip;
};

struct dip {
    double depth_n;
    size_t frame;
};

/*
 * First frame at which the force has left the hold for good, between the two times: the one
 * behind the last sample that is not 2 % below the mean of the 30 ms before it.
 */
static enum sh_why find_leave(const struct sh_scene *scene, const double at_s[2], size_t *leave)
{
    const struct sh_span span = sh_scene_force_span(scene, at_s[0], at_s[1]);
    const size_t n_level = sh_scene_force_window(scene, LEVEL_SPAN_S);
    double *sums = scene->workspace->scratch[0];
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    if (n_level == 0) {
        return SH_WHY_TOO_SLOW;
    }
    const double *net_n = scene->view->force.net_n + span.first;
    if (sh_moving_sums(net_n, span.n, sums) != SH_OK) {
        return SH_WHY_UNRESOLVED;
    }
    for (size_t i = span.n; i-- > n_level;) {
        const double level_n = sh_moving_sums_mean(sums, net_n[0], i - n_level, n_level);
        if (net_n[i] >= LEAVE_RATIO * level_n) {
            *leave = span.first + i + 1u;
            return SH_WHY_KNOWN;
        }
    }
    return SH_WHY_UNRESOLVED;
}

/* Sets the search up and the sums into scratch[0]. */
static enum sh_why
prepare(const struct sh_scene *scene, const double at_s[2], struct dip_search *search)
{
    const struct sh_quantity full_draw = sh_scene_event(scene, SH_EVENT_FULL_DRAW);
    const double rate_hz = scene->view->force.rate_hz;
    const double reach_s = LAG_S + 0.5 * SIDE_WINDOW_S;
    size_t leave = 0;
    if (!sh_quantity_is_known(&full_draw)) {
        return full_draw.why;
    }
    if (at_s[0] - SEARCH_S - reach_s < full_draw.value) {
        return SH_WHY_TOO_SHORT;
    }
    const double hold_s[2] = {full_draw.value, at_s[1]};
    enum sh_why why = find_leave(scene, hold_s, &leave);
    if (why != SH_WHY_KNOWN) {
        return why;
    }
    const struct sh_span inside = sh_scene_force_span(scene, at_s[0] - SEARCH_S, at_s[0]);
    if (!sh_span_is_usable(&inside)) {
        return inside.why;
    }
    search->lag = sh_moving_window(LAG_S, rate_hz);
    search->n_side = sh_moving_window(SIDE_WINDOW_S, rate_hz);
    search->n_dip = sh_moving_window(DIP_WINDOW_S, rate_hz);
    const size_t reach = search->lag + search->n_side / 2u + 1u;
    const size_t last = search->lag + (size_t)ceil(LEAVE_S * rate_hz);
    const size_t end = leave > last ? leave - last + 1u : 0u;
    search->begin = inside.first;
    search->end = inside.first + inside.n < end ? inside.first + inside.n : end;
    const size_t n_frames = scene->view->force.n_frames;
    if (search->begin < reach || search->end + reach > n_frames) {
        return SH_WHY_TOO_SHORT;
    }
    search->first = search->begin - reach;
    search->n = search->end > search->begin ? search->end + reach - search->first : 0u;
    return SH_WHY_KNOWN;
}

static double
get_mean(const struct sh_scene *scene, const struct dip_search *search, size_t centre, size_t n)
{
    const double *sums = scene->workspace->scratch[0];
    const double x0 = scene->view->force.net_n[search->first];
    return sh_moving_sums_mean(sums, x0, centre - search->first - (n - 1u) / 2u, n);
}

static double
get_depth(const struct sh_scene *scene, const struct dip_search *search, size_t frame)
{
    const double before_n = get_mean(scene, search, frame - search->lag, search->n_side);
    const double after_n = get_mean(scene, search, frame + search->lag, search->n_side);
    return fmin(before_n, after_n) - get_mean(scene, search, frame, search->n_dip);
}

static enum sh_why find_dip(const struct sh_scene *scene,
                            const double at_s[2],
                            struct dip_search *search,
                            struct dip *deepest)
{
    enum sh_why why = prepare(scene, at_s, search);
    *deepest = (struct dip){.depth_n = 0.0};
    if (why != SH_WHY_KNOWN || search->n == 0) {
        return why;
    }
    const unsigned char *flags = scene->view->stream[scene->view->force.stream].flags;
    why = sh_span_check(flags + search->first, search->n);
    if (why != SH_WHY_KNOWN) {
        return why;
    }
    const double *net_n = scene->view->force.net_n + search->first;
    if (search->n > scene->workspace->n_scratch ||
        sh_moving_sums(net_n, search->n, scene->workspace->scratch[0]) != SH_OK) {
        return SH_WHY_UNRESOLVED;
    }
    for (size_t i = search->begin; i < search->end; i++) {
        const double depth_n = get_depth(scene, search, i);
        if (depth_n > deepest->depth_n) {
            *deepest = (struct dip){depth_n, i};
        }
    }
    return SH_WHY_KNOWN;
}

static enum sh_why
evaluate_flinch(const struct sh_scene *scene, const double at_s[2], double *value)
{
    struct dip_search search;
    struct dip deepest;
    const enum sh_why why = find_dip(scene, at_s, &search, &deepest);
    *value = deepest.depth_n;
    return why;
}

/* From where to where no dip is shallower than enough_n, about the deepest. */
static void find_near(const struct sh_scene *scene,
                      const struct dip_search *search,
                      const struct dip *deepest,
                      double enough_n,
                      size_t range[2])
{
    range[0] = deepest->frame;
    range[1] = deepest->frame;
    while (range[0] > search->begin && get_depth(scene, search, range[0] - 1u) >= enough_n) {
        range[0]--;
    }
    while (range[1] + 1u < search->end && get_depth(scene, search, range[1] + 1u) >= enough_n) {
        range[1]++;
    }
}

/* First and last frame of the whole search at which a dip is as deep as enough_n. */
static void find_any(const struct sh_scene *scene,
                     const struct dip_search *search,
                     double enough_n,
                     size_t range[2])
{
    for (size_t i = search->begin; i < search->end; i++) {
        if (get_depth(scene, search, i) >= enough_n) {
            range[0] = i < range[0] ? i : range[0];
            range[1] = i > range[1] ? i : range[1];
        }
    }
}

/* How much deeper a dip may be between two frames: an eighth of its curvature. */
static double
get_missed(const struct sh_scene *scene, const struct dip_search *search, size_t frame)
{
    if (frame <= search->begin || frame + 1u >= search->end) {
        return 0.0;
    }
    const double beside_n =
        get_depth(scene, search, frame - 1u) + get_depth(scene, search, frame + 1u);
    return fmax(2.0 * get_depth(scene, search, frame) - beside_n, 0.0) / 8.0;
}

/*
 * Time of the deepest dip: the middle of where it stays within its white noise. Another dip may
 * have been the deepest but for the noise of both: the limits take in all that could.
 */
static struct sh_quantity measure_time(const struct sh_scene *scene, const double at_s[2])
{
    struct dip_search search;
    struct dip deepest;
    size_t range[2];
    const struct sh_shot_force *force = &scene->view->force;
    const enum sh_why why = find_dip(scene, at_s, &search, &deepest);
    if (why != SH_WHY_KNOWN) {
        return sh_quantity_unknown(why);
    }
    if (!(deepest.depth_n > 0.0)) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    const double noise_n =
        force->noise_n * sqrt(1.0 / (double)search.n_dip + 1.0 / (double)search.n_side);
    find_near(scene, &search, &deepest, deepest.depth_n - noise_n, range);
    const struct sh_shot_stream *stream = &scene->view->stream[force->stream];
    /* A window of an even number of samples has its middle half a sample behind its centre. */
    const double shift = search.n_dip % 2u == 0 ? 0.5 : 0.0;
    const double middle = 0.5 * (double)(range[0] + range[1]) + shift;
    const double half = 0.5 * (double)(range[1] - range[0]);
    struct sh_quantity time =
        sh_quantity_known(sh_shot_stream_time(stream, force->delay_s, middle),
                          RECTANGLE * (half + 0.5) / force->rate_hz);
    sh_scene_add_u(&time, force->delay_u_s);
    sh_scene_add_u(&time, force->time_u_s);
    const double rival_n = RIVAL_NOISES * noise_n + get_missed(scene, &search, deepest.frame);
    find_any(scene, &search, deepest.depth_n - rival_n, range);
    const double reach_s = NORMAL_975 * hypot(force->delay_u_s, force->time_u_s);
    /* a dip between two frames reaches past the last that is deep enough, to the next at most
     */
    const double before_s = (middle - (double)range[0] - shift + 1.0) / force->rate_hz;
    const double after_s = ((double)range[1] + shift + 1.0 - middle) / force->rate_hz;
    time.has_interval = true;
    time.lo = time.value - hypot(before_s, reach_s);
    time.hi = time.value + hypot(after_s, reach_s);
    return time;
}

/*
 * The deepest of several noisy dips is too deep on average, by half the noise, and spreads less
 * than one of them, by a tenth; where a dip's mean has only a few samples it is rounded to
 * fewer, and deeper by more: all as simulated.
 */
static void set_interval(struct sh_quantity *flinch, double noise_n, bool is_coarse)
{
    const double middle_n =
        flinch->value - (is_coarse ? COARSE_RATIO : DEEPEST_RATIO) * noise_n;
    flinch->has_interval = true;
    const double reach_n = DEEPEST_REACH * NORMAL_975 * flinch->u;
    flinch->lo = fmax(middle_n - reach_n, 0.0);
    flinch->hi = middle_n + reach_n;
}

void sh_flinch_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    const struct sh_quantity c = sh_scene_c_in_force(scene);
    const struct sh_quantity release = sh_scene_event_in_force(scene, SH_EVENT_RELEASE);
    const struct sh_scene_probe probe = {evaluate_flinch, {c, release}, true};
    struct sh_quantity flinch = sh_scene_run_probe(scene, &probe);
    struct sh_quantity time = sh_quantity_unknown(flinch.why);
    if (sh_quantity_is_known(&flinch)) {
        const double at_s[2] = {c.value, release.value};
        /* the lower of two means has half the variance of one (David & Nagaraja 2003) */
        const double side_n = sh_scene_get_mean_noise(scene, 2.0 * SIDE_WINDOW_S);
        const double noise_n = hypot(sh_scene_get_mean_noise(scene, DIP_WINDOW_S), side_n);
        const double rate_hz = scene->view->force.rate_hz;
        const bool is_coarse = sh_moving_window(DIP_WINDOW_S, rate_hz) < COARSE_FRAMES;
        sh_scene_add_force_u(scene, &flinch, noise_n, false);
        set_interval(&flinch, noise_n, is_coarse);
        time = measure_time(scene, at_s);
    }
    measures->quantity[SH_MEASURE_FLINCH_FORCE_FIRST] = flinch;
    measures->quantity[SH_MEASURE_FLINCH_TIME_FIRST] = time;
}
