/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/hold.h"

#include <math.h>

#include "signal/moving.h"

#define HOLD_END_S     0.05 /* the hold force ends so long before the release */
#define PEAK_WINDOW_S  0.02
#define ANCHOR_BEGIN_S 0.35 /* after full draw: the level at anchor */
#define ANCHOR_END_S   0.55
#define CLICK_SPAN_S   0.05 /* before the clicker */
enum sh_why sh_hold_release_force(const struct sh_scene *scene, double at_s, double *value_n)
{
    return sh_scene_force_median(scene, at_s - SH_HOLD_RELEASE_SPAN_S, at_s, value_n);
}

static enum sh_why
evaluate_hold(const struct sh_scene *scene, const double at_s[2], double *value)
{
    return sh_scene_force_median(scene, at_s[0], at_s[1] - HOLD_END_S, value);
}

static enum sh_why
evaluate_release(const struct sh_scene *scene, const double at_s[2], double *value)
{
    return sh_hold_release_force(scene, at_s[1], value);
}

/* 20 ms means of the hold into scratch[1]; their number, 0 and *why where there are none. */
static size_t find_means(const struct sh_scene *scene, const double at_s[2], enum sh_why *why)
{
    const struct sh_span span = sh_scene_force_span(scene, at_s[0], at_s[1]);
    const size_t n_window = sh_scene_force_window(scene, PEAK_WINDOW_S);
    *why = span.why;
    if (!sh_span_is_usable(&span)) {
        return 0;
    }
    if (n_window == 0) {
        *why = SH_WHY_TOO_SLOW;
        return 0;
    }
    const double *net_n = scene->view->force.net_n + span.first;
    if (sh_moving_mean(net_n, span.n, n_window, scene->workspace->scratch[1]) != SH_OK) {
        *why = span.n < n_window ? SH_WHY_TOO_SHORT : SH_WHY_UNRESOLVED;
        return 0;
    }
    return span.n - n_window + 1u;
}

static double get_largest(const double *x, size_t n)
{
    double largest = x[0];
    for (size_t i = 1; i < n; i++) {
        largest = fmax(largest, x[i]);
    }
    return largest;
}

static enum sh_why
evaluate_peak(const struct sh_scene *scene, const double at_s[2], double *value)
{
    enum sh_why why = SH_WHY_KNOWN;
    const size_t n = find_means(scene, at_s, &why);
    if (n > 0) {
        *value = get_largest(scene->workspace->scratch[1], n);
    }
    return why;
}

/*
 * How far the largest of several noisy means lies above the largest true one, at most: the mean
 * of the largest of m normal numbers is below noise sqrt(2 ln m) (David & Nagaraja 2003, sec.
 * 4.5), m being the separate windows that come within three noises of the peak, twice, since
 * overlapping windows reach higher than separate ones.
 */
static double get_peak_bias(const struct sh_scene *scene, const double at_s[2], double noise_n)
{
    enum sh_why why = SH_WHY_KNOWN;
    const size_t n = find_means(scene, at_s, &why);
    const double *means = scene->workspace->scratch[1];
    if (n == 0) {
        return 0.0;
    }
    const double near_n = get_largest(means, n) - 3.0 * noise_n;
    double n_near = 0.0;
    for (size_t i = 0; i < n; i++) {
        n_near += means[i] >= near_n ? 1.0 : 0.0;
    }
    const double m = 2.0 * n_near / (double)sh_scene_force_window(scene, PEAK_WINDOW_S);
    return m > 1.0 ? noise_n * sqrt(2.0 * log(m)) : 0.0;
}

static enum sh_why
evaluate_expansion(const struct sh_scene *scene, const double at_s[2], double *value)
{
    double anchor_n = 0.0;
    double click_n = 0.0;
    if (at_s[0] + ANCHOR_END_S > at_s[1]) {
        return SH_WHY_TOO_SHORT;
    }
    enum sh_why why = sh_scene_force_median(scene, at_s[0] + ANCHOR_BEGIN_S,
                                            at_s[0] + ANCHOR_END_S, &anchor_n);
    if (why == SH_WHY_KNOWN) {
        why = sh_scene_force_mean(scene, at_s[1] - CLICK_SPAN_S, at_s[1], &click_n);
    }
    *value = click_n - anchor_n;
    return why;
}

static struct sh_quantity measure_expansion(const struct sh_scene *scene,
                                            const struct sh_quantity *full_draw,
                                            const struct sh_quantity *click)
{
    const struct sh_scene_probe probe = {evaluate_expansion, {*full_draw, *click}, false};
    struct sh_quantity figure_n = sh_scene_run_probe(scene, &probe);
    if (sh_quantity_is_known(&figure_n)) {
        const double anchor_n = sh_scene_get_median_noise(
            scene, full_draw->value + ANCHOR_BEGIN_S, full_draw->value + ANCHOR_END_S);
        const double click_n = sh_scene_get_mean_noise(scene, CLICK_SPAN_S);
        sh_scene_add_force_u(scene, &figure_n, hypot(anchor_n, click_n), false);
    }
    return sh_scene_get_length(scene, &figure_n);
}

static void measure_forces(const struct sh_scene *scene,
                           const struct sh_quantity at[2],
                           struct sh_measures *measures)
{
    const struct sh_scene_probe hold = {evaluate_hold, {at[0], at[1]}, false};
    struct sh_quantity *figure = sh_catalog_get_mutable(measures, SH_MEASURE_HOLD_FORCE, 0);
    *figure = sh_scene_run_probe(scene, &hold);
    if (sh_quantity_is_known(figure)) {
        const double noise_n =
            sh_scene_get_median_noise(scene, at[0].value, at[1].value - HOLD_END_S);
        sh_scene_add_force_u(scene, figure, noise_n, true);
    }

    const struct sh_scene_probe peak = {evaluate_peak, {at[0], at[1]}, true};
    figure = sh_catalog_get_mutable(measures, SH_MEASURE_PEAK_FORCE, 0);
    *figure = sh_scene_run_probe(scene, &peak);
    if (sh_quantity_is_known(figure)) {
        const double at_s[2] = {at[0].value, at[1].value};
        const double n = (double)sh_scene_force_window(scene, PEAK_WINDOW_S);
        const double noise_n = scene->view->force.noise_n / sqrt(n);
        sh_scene_add_u(figure, get_peak_bias(scene, at_s, noise_n));
        sh_scene_add_force_u(scene, figure, noise_n, true);
    }

    const struct sh_quantity last = sh_scene_release_in_force(scene);
    const struct sh_scene_probe release = {evaluate_release, {last, last}, true};
    figure = sh_catalog_get_mutable(measures, SH_MEASURE_RELEASE_FORCE, 0);
    *figure = sh_scene_run_probe(scene, &release);
    if (sh_quantity_is_known(figure)) {
        const double noise_n =
            sh_scene_get_median_noise(scene, last.value - SH_HOLD_RELEASE_SPAN_S, last.value);
        sh_scene_add_force_u(scene, figure, noise_n, true);
    }
}

void sh_hold_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    struct sh_quantity *const first = measures->quantity;
    first[SH_MEASURE_DRAW_TIME_FIRST] =
        sh_scene_between(scene, SH_EVENT_FULL_DRAW, SH_EVENT_DRAW_START);
    first[SH_MEASURE_HOLD_TIME_FIRST] =
        sh_scene_between(scene, SH_EVENT_RELEASE, SH_EVENT_FULL_DRAW);
    first[SH_MEASURE_EXPANSION_TIME_FIRST] =
        sh_scene_between(scene, SH_EVENT_CLICKER, SH_EVENT_FULL_DRAW);
    first[SH_MEASURE_CLICKER_REACTION_FIRST] =
        sh_scene_between(scene, SH_EVENT_RELEASE, SH_EVENT_CLICKER);
    const struct sh_quantity full_draw = sh_scene_event_in_force(scene, SH_EVENT_FULL_DRAW);
    const struct sh_quantity click = sh_scene_event_in_force(scene, SH_EVENT_CLICKER);
    first[SH_MEASURE_EXPANSION_FIRST] = measure_expansion(scene, &full_draw, &click);
    const struct sh_quantity at[2] = {full_draw,
                                      sh_scene_event_in_force(scene, SH_EVENT_RELEASE)};
    measure_forces(scene, at, measures);
}
