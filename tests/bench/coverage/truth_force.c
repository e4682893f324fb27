/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "bench/coverage/truth.h"

#define RATE_HZ      4000.0
#define N_POINTS     100u /* 10 ms means of one second */
#define N_SLOPES     (N_POINTS * (N_POINTS - 1u) / 2u)
#define STEADY_MIN_S 0.5

static double get_force(const void *context, double t_s)
{
    return sh_string_signal_get_force_n(context, t_s);
}

/* Largest fall of the 500 ms mean below its own running maximum. */
static bool find_creep(const struct trace *force, const struct truth_draw *at, double *creep_n)
{
    const double from_s = at->full_draw_s + 0.35;
    double most_n = -(double)INFINITY;
    *creep_n = 0.0;
    const double n = floor((at->c_s - 0.5 - from_s) * RATE_HZ) + 1.0;
    for (size_t i = 0; (double)i < n; i++) {
        const double t_s = from_s + (double)i / RATE_HZ;
        const double mean_n = trace_mean(force, t_s, t_s + 0.5);
        most_n = fmax(most_n, mean_n);
        *creep_n = fmax(*creep_n, most_n - mean_n);
    }
    return from_s + 0.5 <= at->c_s;
}

static double find_rate(const struct trace *force, double c_s)
{
    static double slope[N_SLOPES];
    double mean_n[N_POINTS];
    size_t n = 0;
    for (size_t i = 0; i < N_POINTS; i++) {
        const double from_s = c_s - 1.05 + 0.01 * (double)i;
        mean_n[i] = trace_mean(force, from_s, from_s + 0.01);
    }
    for (size_t i = 0; i < N_POINTS; i++) {
        for (size_t k = i + 1u; k < N_POINTS; k++) {
            slope[n++] = (mean_n[k] - mean_n[i]) / (0.01 * (double)(k - i));
        }
    }
    return trace_pick_median(slope, n);
}

/* When the force leaves the hold for good: 2 % below the mean of the 30 ms before. */
static double find_leave_s(const struct trace *force, const struct truth_draw *at)
{
    double t_s = at->release_s;
    while (t_s > at->full_draw_s && trace_mean(force, t_s, t_s + 1.0 / RATE_HZ) <
                                        0.98 * trace_mean(force, t_s - 0.03, t_s)) {
        t_s -= 1.0 / RATE_HZ;
    }
    return t_s;
}

static void
find_flinch(const struct trace *force, const struct truth_draw *at, struct truth_figures *out)
{
    const double last_s = fmin(at->c_s, find_leave_s(force, at) - 0.005 - 0.12);
    double deepest_n = 0.0;
    double deepest_s = 0.0;
    const double n = ceil((last_s - at->c_s + 0.4) * RATE_HZ);
    for (size_t i = 0; (double)i < n; i++) {
        const double t_s = at->c_s - 0.4 + (double)i / RATE_HZ;
        const double before_n = trace_mean(force, t_s - 0.15, t_s - 0.09);
        const double after_n = trace_mean(force, t_s + 0.09, t_s + 0.15);
        const double depth_n =
            fmin(before_n, after_n) - trace_mean(force, t_s - 0.015, t_s + 0.015);
        if (depth_n > deepest_n) {
            deepest_n = depth_n;
            deepest_s = t_s;
        }
    }
    if (at->c_s - 0.55 < at->full_draw_s) {
        return;
    }
    truth_set(out, SH_MEASURE_FLINCH_FORCE_FIRST, deepest_n);
    if (deepest_n > 0.0) {
        truth_set(out, SH_MEASURE_FLINCH_TIME_FIRST, deepest_s + at->draw->hand_s);
    }
}

static void
find_levels(const struct trace *force, const struct truth_draw *at, struct truth_figures *out)
{
    const double stiffness = at->plan->config.bow.stiffness_n_per_m;
    const double release_n = trace_median(force, at->release_s - 0.03, at->release_s);
    double creep_n = 0.0;
    truth_set(out, SH_MEASURE_HOLD_FORCE_FIRST,
              trace_median(force, at->full_draw_s, at->release_s - 0.05));
    truth_set(out, SH_MEASURE_PEAK_FORCE_FIRST,
              trace_largest_mean(force, at->full_draw_s, at->release_s, 0.02));
    truth_set(out, SH_MEASURE_RELEASE_FORCE_FIRST, release_n);
    if (find_creep(force, at, &creep_n)) {
        truth_set(out, SH_MEASURE_CREEP_FORCE_FIRST, creep_n);
        truth_set(out, SH_MEASURE_CREEP_LENGTH_FIRST, creep_n / stiffness);
    }
    if (at->c_s - 1.05 >= at->full_draw_s) {
        truth_set(out, SH_MEASURE_CREEP_RATE_FIRST, find_rate(force, at->c_s));
    }
    if (!at->has_click) {
        return;
    }
    const double click_n = trace_mean(force, at->click_s - 0.2, at->click_s);
    truth_set(out, SH_MEASURE_COLLAPSE_FIRST, click_n - release_n);
    if (at->full_draw_s + 0.55 <= at->click_s) {
        const double anchor_n =
            trace_median(force, at->full_draw_s + 0.35, at->full_draw_s + 0.55);
        const double last_n = trace_mean(force, at->click_s - 0.05, at->click_s);
        truth_set(out, SH_MEASURE_EXPANSION_FIRST, (last_n - anchor_n) / stiffness);
    }
}

static double get_rms_between(struct truth_kit *kit,
                              const struct signal *signal,
                              double from_s,
                              double until_s)
{
    struct sh_psd psd;
    return truth_run_spectrum(kit, signal, from_s, until_s, &psd)
               ? truth_get_rms(&psd, 2.0, 25.0)
               : (double)NAN;
}

static void find_tremor(struct truth_kit *kit,
                        const struct signal *signal,
                        const struct truth_draw *at,
                        struct truth_figures *out)
{
    static const size_t place[3] = {SH_MEASURE_TREMOR_RMS_FIRST, SH_MEASURE_TREMOR_PEAK_FIRST,
                                    SH_MEASURE_TREMOR_BAND_FIRST};
    const double from_s = at->full_draw_s + 0.25;
    const double until_s = at->c_s - 0.05;
    const double third_s = (until_s - from_s) / 3.0;
    struct sh_psd psd;
    out->steady_rms_n = get_rms_between(kit, signal, at->full_draw_s + 0.35, at->c_s - 0.4);
    if (until_s - from_s < 1.0 || !truth_run_spectrum(kit, signal, from_s, until_s, &psd)) {
        return;
    }
    truth_set_tremor(&psd, place, out);
    out->has_thirds = true;
    out->first_third_n = get_rms_between(kit, signal, from_s, from_s + third_s);
    out->last_third_n = get_rms_between(kit, signal, until_s - third_s, until_s);
}

enum sh_status
truth_find_force(struct truth_kit *kit, const struct truth_draw *at, struct truth_figures *out)
{
    struct trace force;
    const struct signal signal = {get_force, &at->draw->string};
    if (!trace_open(&force, &signal, at->draw_start_s, at->release_s + 0.05, RATE_HZ)) {
        return SH_ERR_MEMORY;
    }
    find_levels(&force, at, out);
    find_flinch(&force, at, out);
    find_tremor(kit, &signal, at, out);
    trace_close(&force);
    return SH_OK;
}
