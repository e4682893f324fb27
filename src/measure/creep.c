/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/creep.h"

#include <math.h>
#include <string.h>

#include "measure/hold.h"
#include "signal/moving.h"
#include "signal/theil_sen.h"

#define LARGEST_U       0.33
#define NORMAL_975      1.959963984540054
#define CREEP_AFTER_S   0.35
#define CREEP_WINDOW_S  0.5
#define RATE_FROM_S     1.05 /* before c */
#define RATE_UNTIL_S    0.05
#define RATE_WINDOW_S   0.01
#define RATE_LEVEL      0.95
#define COLLAPSE_SPAN_S 0.2
#define PICKED          0.1 /* of a mean's variance: the largest of many falls; seen in simulation */
#define RATE_RATIO      1.15   /* what the slopes beside the median add; seen in simulation */
#define RELEASE_RATIO   0.1    /* of the drop, at the release */
#define FIRST_TENTH_S   0.0011 /* what is hidden of it, as simulated */
#define RECTANGLE       0.5773502691896258 /* 1 / sqrt 3 */
#define ROOT_PI         1.7724538509055159

/* The largest fall of the 500 ms means between the two times. */
static enum sh_why
find_fall(const struct sh_scene *scene, const double at_s[2], struct sh_moving_fall *fall)
{
    const struct sh_span span = sh_scene_force_span(scene, at_s[0] + CREEP_AFTER_S, at_s[1]);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    const size_t n_window = sh_scene_force_window(scene, CREEP_WINDOW_S);
    double *means = scene->workspace->scratch[0];
    const double *net_n = scene->view->force.net_n + span.first;
    if (n_window == 0) {
        return SH_WHY_TOO_SLOW;
    }
    if (span.n < n_window) {
        return SH_WHY_TOO_SHORT;
    }
    const bool is_done = sh_moving_mean(net_n, span.n, n_window, means) == SH_OK &&
                         sh_moving_find_fall(means, span.n - n_window + 1u, fall) == SH_OK;
    return is_done ? SH_WHY_KNOWN : SH_WHY_UNRESOLVED;
}

static enum sh_why
evaluate_creep(const struct sh_scene *scene, const double at_s[2], double *value)
{
    struct sh_moving_fall fall = {.fall = 0.0};
    const enum sh_why why = find_fall(scene, at_s, &fall);
    *value = fall.fall;
    return why;
}

/*
 * Standard uncertainty, from white noise, of the difference of two 500 ms means lag_s apart:
 * what both take in cancels.
 */
static double get_fall_noise(const struct sh_scene *scene, double lag_s)
{
    const double apart = fmin(lag_s / CREEP_WINDOW_S, 1.0);
    return sh_scene_get_mean_noise(scene, CREEP_WINDOW_S) * sqrt(2.0 * apart + PICKED);
}

double sh_creep_get_bias_ratio(double n_means)
{
    if (!(n_means > 1.0)) {
        return 0.0;
    }
    return fmax(2.0 * sqrt(2.0 * log(n_means)) - 1.3 / n_means, 0.0);
}

/*
 * Where the release stands for the clicker, the window ends when the force has gone by a tenth
 * of the drop, and takes in how it went: a third of that tenth on average, which a sample's
 * width hides.
 */
static double get_release_u(const struct sh_scene *scene)
{
    const struct sh_quantity click = sh_scene_event(scene, SH_EVENT_CLICKER);
    const struct sh_quantity *drop_n = &scene->shot->drop_n;
    if (sh_quantity_is_known(&click) || !sh_quantity_is_known(drop_n)) {
        return 0.0;
    }
    return RECTANGLE * RELEASE_RATIO * drop_n->value / 3.0 * FIRST_TENTH_S / CREEP_WINDOW_S;
}

/*
 * What noise alone may make reaches down to nothing. The largest of many noisy falls is too
 * large, up to a click by a third of u on average, as simulated; up to a release what its
 * window takes in makes up for it.
 */
static void set_interval(const struct sh_scene *scene, struct sh_quantity *creep, double bias_n)
{
    const struct sh_quantity click = sh_scene_event(scene, SH_EVENT_CLICKER);
    const double high =
        sh_quantity_is_known(&click) ? NORMAL_975 - 2.0 * LARGEST_U : NORMAL_975;
    const double reach_n = NORMAL_975 * creep->u;
    creep->has_interval = true;
    creep->lo = creep->value > bias_n + reach_n ? creep->value - reach_n : 0.0;
    creep->hi = creep->value + high * creep->u;
}

static void measure_creep(const struct sh_scene *scene,
                          const struct sh_quantity at[2],
                          struct sh_measures *measures)
{
    const struct sh_scene_probe probe = {evaluate_creep, {at[0], at[1]}, true};
    struct sh_quantity creep = sh_scene_run_probe(scene, &probe);
    measures->creep_bias_n = sh_quantity_unknown(creep.why);
    if (sh_quantity_is_known(&creep)) {
        const double at_s[2] = {at[0].value, at[1].value};
        const double span_s = at_s[1] - at_s[0] - CREEP_AFTER_S;
        const double bias_n = sh_scene_get_mean_noise(scene, CREEP_WINDOW_S) *
                              sh_creep_get_bias_ratio(span_s / CREEP_WINDOW_S);
        struct sh_moving_fall fall = {.fall = 0.0};
        (void)find_fall(scene, at_s, &fall); /* it was found before */
        const double lag_s = (double)(fall.i_bottom - fall.i_top) / scene->view->force.rate_hz;
        sh_scene_add_u(&creep, get_release_u(scene));
        sh_scene_add_force_u(scene, &creep, get_fall_noise(scene, lag_s), false);
        set_interval(scene, &creep, bias_n);
        measures->creep_bias_n = sh_quantity_known(bias_n, 0.0);
    }
    measures->quantity[SH_MEASURE_CREEP_FORCE_FIRST] = creep;
    struct sh_quantity length = sh_scene_get_length(scene, &creep);
    length.lo = length.has_interval ? fmax(length.lo, 0.0) : length.lo;
    measures->quantity[SH_MEASURE_CREEP_LENGTH_FIRST] = length;
}

/*
 * Means of n_block samples of the span, with their times from at_s on, into points; their
 * number. A span of a second at any rate gives fewer than SH_WORKSPACE_POINTS_MAX.
 */
static size_t make_points(const struct sh_scene *scene,
                          const struct sh_span *span,
                          size_t n_block,
                          double at_s)
{
    const struct sh_shot_force *force = &scene->view->force;
    const double *time_s = scene->view->stream[force->stream].time_s;
    double *x = scene->workspace->points;
    double *y = x + SH_WORKSPACE_POINTS_MAX;
    size_t n = 0;
    for (size_t i = 0; i + n_block <= span->n && n < SH_WORKSPACE_POINTS_MAX; i += n_block) {
        double sum_s = 0.0;
        double sum_n = 0.0;
        for (size_t k = span->first + i; k < span->first + i + n_block; k++) {
            sum_s += time_s[k] - force->delay_s - at_s;
            sum_n += force->net_n[k];
        }
        x[n] = sum_s / (double)n_block;
        y[n] = sum_n / (double)n_block;
        n++;
    }
    return n;
}

/* The 10 ms means of the last second before at_s[1], into the points; their number in *n. */
static enum sh_why find_points(const struct sh_scene *scene, const double at_s[2], size_t *n)
{
    if (at_s[1] - RATE_FROM_S < at_s[0]) {
        return SH_WHY_TOO_SHORT;
    }
    const struct sh_span span =
        sh_scene_force_span(scene, at_s[1] - RATE_FROM_S, at_s[1] - RATE_UNTIL_S);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    const size_t n_block = sh_moving_window(RATE_WINDOW_S, scene->view->force.rate_hz);
    *n = make_points(scene, &span, n_block, at_s[1]);
    return SH_WHY_KNOWN;
}

static enum sh_why
evaluate_rate(const struct sh_scene *scene, const double at_s[2], double *value)
{
    size_t n = 0;
    const enum sh_why why = find_points(scene, at_s, &n);
    if (why != SH_WHY_KNOWN) {
        return why;
    }
    double *x = scene->workspace->points;
    double *y = x + SH_WORKSPACE_POINTS_MAX;
    struct sh_theil_sen line;
    const enum sh_status status =
        sh_theil_sen_fit(x, y, n, RATE_LEVEL, y + SH_WORKSPACE_POINTS_MAX, &line);
    if (status != SH_OK) {
        return status == SH_ERR_SHORT ? SH_WHY_TOO_SLOW : SH_WHY_UNRESOLVED;
    }
    *value = line.slope;
    return SH_WHY_KNOWN;
}

/* Weighs the pairs of point k with those before it: +- 1 each that lies within reach_n of the
 * slope; the sum of their times apart. */
static double
weigh_pairs_of(const double *x, size_t k, double slope, double reach_n, double *weight)
{
    const double *y = x + SH_WORKSPACE_POINTS_MAX;
    double sum_s = 0.0;
    for (size_t i = 0; i < k; i++) {
        const double apart_s = x[k] - x[i];
        if (fabs(y[k] - y[i] - slope * apart_s) <= reach_n) {
            weight[k] += 1.0;
            weight[i] -= 1.0;
            sum_s += apart_s;
        }
    }
    return sum_s;
}

/*
 * Standard uncertainty of the slope from white noise of noise_n a point, by the law of
 * propagation (JCGM 100:2008, 5.1.2). The median slope b is where as many pairs lie above as
 * below it; so the noise of a point moves b by the sum of +- 1 over its pairs that lie at b,
 * divided by the sum of all such pairs' times apart. "At b" means within the noise of a pair:
 * half-width sqrt(pi) noise_n of a box as high as its normal density. Tremor spreads the
 * slopes, and few pairs then carry the noise. The points are in the workspace.
 */
static double
get_rate_noise(const struct sh_scene *scene, size_t n, double slope, double noise_n)
{
    double weight[SH_WORKSPACE_POINTS_MAX];
    const double *x = scene->workspace->points;
    double sum_s = 0.0;
    double squares = 0.0;
    memset(weight, 0, n * sizeof *weight);
    for (size_t k = 0; k < n; k++) {
        sum_s += weigh_pairs_of(x, k, slope, ROOT_PI * noise_n, weight);
    }
    for (size_t i = 0; i < n; i++) {
        squares += weight[i] * weight[i];
    }
    return sum_s > 0.0 ? RATE_RATIO * noise_n * sqrt(squares) / sum_s : 0.0;
}

static struct sh_quantity measure_rate(const struct sh_scene *scene,
                                       const struct sh_quantity at[2])
{
    const struct sh_scene_probe probe = {evaluate_rate, {at[0], at[1]}, false};
    struct sh_quantity rate = sh_scene_run_probe(scene, &probe);
    if (sh_quantity_is_known(&rate)) {
        const double at_s[2] = {at[0].value, at[1].value};
        size_t n = 0;
        (void)find_points(scene, at_s, &n); /* they were found before */
        const double noise_n = sh_scene_get_mean_noise(scene, RATE_WINDOW_S);
        sh_scene_add_u(&rate, get_rate_noise(scene, n, rate.value, noise_n));
        sh_scene_add_u(&rate, scene->view->force.scale_u_ratio * rate.value);
    }
    return rate;
}

static enum sh_why
evaluate_collapse(const struct sh_scene *scene, const double at_s[2], double *value)
{
    double click_n = 0.0;
    double release_n = 0.0;
    enum sh_why why = sh_scene_force_mean(scene, at_s[0] - COLLAPSE_SPAN_S, at_s[0], &click_n);
    if (why == SH_WHY_KNOWN) {
        why = sh_hold_release_force(scene, at_s[1], &release_n);
    }
    *value = click_n - release_n;
    return why;
}

static struct sh_quantity measure_collapse(const struct sh_scene *scene,
                                           const struct sh_quantity *full_draw)
{
    const struct sh_quantity click = sh_scene_event_in_force(scene, SH_EVENT_CLICKER);
    const struct sh_quantity release = sh_scene_release_in_force(scene);
    const struct sh_scene_probe probe = {evaluate_collapse, {click, release}, true};
    struct sh_quantity collapse = sh_scene_run_probe(scene, &probe);
    if (!sh_quantity_is_known(&collapse)) {
        return collapse;
    }
    if (!sh_quantity_is_known(full_draw)) {
        return sh_quantity_unknown(full_draw->why);
    }
    if (click.value - COLLAPSE_SPAN_S < full_draw->value) {
        return sh_quantity_unknown(SH_WHY_TOO_SHORT);
    }
    const double noise_n =
        hypot(sh_scene_get_mean_noise(scene, COLLAPSE_SPAN_S),
              sh_scene_get_median_noise(scene, release.value - SH_HOLD_RELEASE_SPAN_S,
                                        release.value));
    sh_scene_add_force_u(scene, &collapse, noise_n, false);
    return collapse;
}

void sh_creep_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    const struct sh_quantity at[2] = {sh_scene_event_in_force(scene, SH_EVENT_FULL_DRAW),
                                      sh_scene_c_in_force(scene)};
    const struct sh_quantity until[2] = {at[0], sh_scene_last_c_in_force(scene)};
    measure_creep(scene, until, measures);
    measures->quantity[SH_MEASURE_CREEP_RATE_FIRST] = measure_rate(scene, at);
    measures->quantity[SH_MEASURE_COLLAPSE_FIRST] = measure_collapse(scene, &at[0]);
}
