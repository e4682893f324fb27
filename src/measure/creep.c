/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/creep.h"

#include <math.h>

#include "measure/hold.h"
#include "signal/moving.h"
#include "signal/theil_sen.h"

#define NORMAL_975           1.959963984540054
#define CREEP_AFTER_S        0.35
#define CREEP_WINDOW_S       0.5
#define RATE_FROM_S          1.05 /* before c */
#define RATE_UNTIL_S         0.05
#define RATE_WINDOW_S        0.01
#define RATE_LEVEL           0.95
#define COLLAPSE_SPAN_S      0.2
#define THEIL_SEN_EFFICIENCY 0.955 /* 3 / pi */

static enum sh_why
evaluate_creep(const struct sh_scene *scene, const double at_s[2], double *value)
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
    struct sh_moving_fall fall;
    const bool is_done = sh_moving_mean(net_n, span.n, n_window, means) == SH_OK &&
                         sh_moving_find_fall(means, span.n - n_window + 1u, &fall) == SH_OK;
    if (!is_done) {
        return SH_WHY_UNRESOLVED;
    }
    *value = fall.fall;
    return SH_WHY_KNOWN;
}

double sh_creep_get_bias_ratio(double n_means)
{
    if (!(n_means > 1.0)) {
        return 0.0;
    }
    return fmax(2.0 * sqrt(2.0 * log(n_means)) - 1.3 / n_means, 0.0);
}

static void measure_creep(const struct sh_scene *scene,
                          const struct sh_quantity at[2],
                          struct sh_measures *measures)
{
    const struct sh_scene_probe probe = {evaluate_creep, {at[0], at[1]}};
    struct sh_quantity creep = sh_scene_run_probe(scene, &probe);
    measures->creep_bias_n = sh_quantity_unknown(creep.why);
    if (sh_quantity_is_known(&creep)) {
        const double variance =
            sh_unsteady_get_variance(&scene->tremor, CREEP_WINDOW_S, 0.0, 0.0);
        const double span_s = at[1].value - at[0].value - CREEP_AFTER_S;
        const double bias_n = sqrt(variance) * sh_creep_get_bias_ratio(span_s / CREEP_WINDOW_S);
        sh_scene_add_force_u(scene, &creep, sqrt(2.0 * variance), false);
        creep.has_interval = true;
        creep.lo = fmax(creep.value - bias_n - NORMAL_975 * creep.u, 0.0);
        creep.hi = creep.value + NORMAL_975 * creep.u;
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

static enum sh_why
evaluate_rate(const struct sh_scene *scene, const double at_s[2], double *value)
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
    const size_t n = make_points(scene, &span, n_block, at_s[1]);
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

static struct sh_quantity measure_rate(const struct sh_scene *scene,
                                       const struct sh_quantity at[2])
{
    const struct sh_scene_probe probe = {evaluate_rate, {at[0], at[1]}};
    struct sh_quantity rate = sh_scene_run_probe(scene, &probe);
    if (sh_quantity_is_known(&rate)) {
        const double variance =
            sh_unsteady_get_slope_variance(&scene->tremor, RATE_FROM_S - RATE_UNTIL_S);
        sh_scene_add_u(&rate, sqrt(variance / THEIL_SEN_EFFICIENCY));
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
    const struct sh_quantity release = sh_scene_event_in_force(scene, SH_EVENT_RELEASE);
    const struct sh_scene_probe probe = {evaluate_collapse, {click, release}};
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
    const double lag_s =
        release.value - click.value + 0.5 * (COLLAPSE_SPAN_S - SH_HOLD_RELEASE_SPAN_S);
    const double variance = sh_unsteady_get_variance(&scene->tremor, SH_HOLD_RELEASE_SPAN_S,
                                                     COLLAPSE_SPAN_S, lag_s);
    sh_scene_add_force_u(scene, &collapse, sqrt(variance), false);
    return collapse;
}

void sh_creep_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    const struct sh_quantity at[2] = {sh_scene_event_in_force(scene, SH_EVENT_FULL_DRAW),
                                      sh_scene_c_in_force(scene)};
    measure_creep(scene, at, measures);
    measures->quantity[SH_MEASURE_CREEP_RATE_FIRST] = measure_rate(scene, at);
    measures->quantity[SH_MEASURE_COLLAPSE_FIRST] = measure_collapse(scene, &at[0]);
}
