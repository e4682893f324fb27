/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/tremor.h"

#include <math.h>

#include "base/units.h"
#include "measure/tremor_peak.h"
#include "signal/detrend.h"

#define STEADY_AFTER_S  0.35
#define STEADY_BEFORE_S 0.4
#define STEADY_MIN_S    0.5 /* one period of the lowest frequency */
#define SPAN_SLACK_S    1e-9
#define RMS_LOW_HZ      2.0
#define RMS_HIGH_HZ     25.0
#define PEAK_LOW_HZ     4.0
#define PEAK_HIGH_HZ    15.0
#define TAPERS_RATIO    1.1 /* what the tapers leave of the variance; seen in simulation */
#define RECTANGLE       0.5773502691896258 /* standard deviation of a half-width 1: 1/sqrt 3 */
#define NORMAL_975      1.959963984540054
#define NORMAL_95       1.6448536269514722 /* where the interval reaches down to 0 */
#define LEAST_RATIO     0.25
#define FLOOR_LOW_HZ    30.0 /* where neither tremor nor what a filter leaves is */
#define FLOOR_HIGH_HZ   60.0
#define FLOOR_RATIO     0.95 /* of half the rate */

static const double band_edges_hz[SH_PARTS_BANDS_COUNT + 1] = {2.0, 4.0, 8.0, 12.0, 25.0};

/* What else is to be known to turn a spectrum into figures. */
struct tremor_basis {
    struct sh_psd psd;
    double rate_hz; /* of the sensor */
    double white;   /* density of its own noise, unit^2/Hz, of all axes */
    double n_axes;  /* whose powers were added */
    double u_ratio; /* calibration */
};

/* Where the figures of force or bow stand. */
struct tremor_places {
    size_t rms;
    size_t peak;
    size_t band;
};

static const struct tremor_places force_places = {
    SH_MEASURE_TREMOR_RMS_FIRST, SH_MEASURE_TREMOR_PEAK_FIRST, SH_MEASURE_TREMOR_BAND_FIRST};
static const struct tremor_places bow_places = {SH_MEASURE_BOW_TREMOR_RMS_FIRST,
                                                SH_MEASURE_BOW_TREMOR_PEAK_FIRST,
                                                SH_MEASURE_BOW_TREMOR_BAND_FIRST};

enum sh_why sh_tremor_run(const struct sh_scene *scene,
                          const struct sh_tremor_window *window,
                          struct sh_psd *psd)
{
    struct sh_workspace *workspace = scene->workspace;
    const struct sh_decimate *decimate = workspace->decimate[window->stream];
    const double rate_hz = sh_decimate_get_rate(decimate);
    if (rate_hz < SH_TREMOR_RATE_MIN_HZ) {
        return SH_WHY_TOO_SLOW;
    }
    const struct sh_span span = sh_span_find(&scene->view->stream[window->stream],
                                             window->delay_s, window->from_s, window->until_s);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    const size_t n = sh_decimate_get_count(decimate, span.n);
    if (span.n > workspace->n_scratch || n > workspace->n_scratch) {
        return SH_WHY_UNRESOLVED;
    }
    double *x = workspace->scratch[0];
    const struct sh_multitaper_window piece = {.x = x, .n = n, .rate_hz = rate_hz};
    const bool is_done =
        sh_decimate_run(decimate, window->value + span.first, span.n, x) == SH_OK &&
        sh_detrend_line(x, NULL, n, x) == SH_OK &&
        sh_multitaper_run(workspace->multitaper, &piece) == SH_OK &&
        sh_multitaper_get_psd(workspace->multitaper, psd) == SH_OK;
    return is_done ? SH_WHY_KNOWN : SH_WHY_UNRESOLVED;
}

/* Where most of the power between two frequencies lies. */
static double get_centre_hz(const struct sh_psd *psd, double lo_hz, double hi_hz)
{
    double sum = 0.0;
    double power = 0.0;
    const size_t first = (size_t)ceil(lo_hz / psd->bin_hz);
    for (size_t i = first; i < psd->n_bins && (double)i * psd->bin_hz <= hi_hz; i++) {
        sum += (double)i * psd->bin_hz * psd->power[i];
        power += psd->power[i];
    }
    return power > 0.0 ? sum / power : 0.0;
}

/*
 * Share of an rms at f_hz that is lost where a sample is the mean over its whole period, which
 * is not known of a sensor: 1 - sinc(f / rate), by its first term.
 */
static double get_loss_ratio(double f_hz, double rate_hz)
{
    const double x = SH_PI * f_hz / rate_hz;
    return x * x / 6.0;
}

/* Power between two frequencies less the white noise's; below 0 where that happened to be less.
 */
static bool
get_power(const struct tremor_basis *basis, double lo_hz, double hi_hz, double *power)
{
    if (sh_psd_get_power(&basis->psd, lo_hz, hi_hz, power) != SH_OK) {
        return false;
    }
    *power -= basis->white * (hi_hz - lo_hz);
    return true;
}

/*
 * Share of a band's noise power that varies where the spectrum is smoothed over smooth_hz: the
 * band's edges become slopes, and the integral of the square of a box smoothed by another one
 * is its width less a third of the narrower one's (elementary).
 */
static double get_free_ratio(double band_hz, double smooth_hz)
{
    const double narrow = fmin(band_hz, smooth_hz);
    const double wide = fmax(band_hz, smooth_hz);
    return band_hz / wide * (1.0 - narrow / (3.0 * wide));
}

/*
 * The rms of what there was in this very window. Noise of density w on a signal of power p over
 * a band b makes its power uncertain by the square root of (2 p w + w^2 b) / T, the part of
 * noise in the variance of a smoothed spectrum (Bendat & Piersol 2010, sec. 8.5.1), times what
 * the tapers leave of T. Limits of the power become those of the rms: where less power was seen
 * than the noise has by itself, the upper one counts from what was seen, but leaves a quarter
 * of u at least.
 */
static struct sh_quantity get_rms(const struct tremor_basis *basis, double lo_hz, double hi_hz)
{
    double power = 0.0;
    if (!get_power(basis, lo_hz, hi_hz, &power)) {
        return sh_quantity_unknown(SH_WHY_UNRESOLVED);
    }
    const double seen = power;
    power = fmax(power, 0.0);
    const double w = basis->white;
    const double share = get_free_ratio(hi_hz - lo_hz, 2.0 * basis->psd.half_band_hz);
    const double variance = TAPERS_RATIO * share * (2.0 * power * w + w * w * (hi_hz - lo_hz)) /
                            (basis->n_axes * basis->psd.duration_s);
    const double u_power = sqrt(variance);
    const double value = sqrt(power);
    const double loss =
        get_loss_ratio(get_centre_hz(&basis->psd, lo_hz, hi_hz), basis->rate_hz);
    const double ratio = hypot(basis->u_ratio, loss);
    struct sh_quantity rms = sh_quantity_known(value, sqrt(power + u_power) - value);
    sh_scene_add_u(&rms, ratio * value);
    const double reach = NORMAL_975 * ratio * value;
    const double low = power - NORMAL_975 * u_power;
    const double up = (low > 0.0 ? NORMAL_975 : NORMAL_95) * u_power;
    const double high = fmax(seen + up, LEAST_RATIO * u_power);
    rms.has_interval = true;
    rms.lo = fmax(value - hypot(value - sqrt(fmax(low, 0.0)), reach), 0.0);
    rms.hi = fmax(value + hypot(sqrt(high) - value, reach), value);
    return rms;
}

/* The rms of a steady tremor, of which the window shows a piece: signal/psd.h. */
static struct sh_quantity get_steady_rms(const struct tremor_basis *basis)
{
    struct sh_quantity rms;
    double power = 0.0;
    if (sh_psd_get_rms(&basis->psd, RMS_LOW_HZ, RMS_HIGH_HZ, &rms) != SH_OK ||
        !get_power(basis, RMS_LOW_HZ, RMS_HIGH_HZ, &power)) {
        return sh_quantity_unknown(SH_WHY_UNRESOLVED);
    }
    rms.value = sqrt(fmax(power, 0.0));
    sh_scene_add_u(&rms, basis->u_ratio * rms.value);
    return rms;
}

static struct sh_quantity get_peak(const struct tremor_basis *basis)
{
    const struct sh_tremor_peak_basis peak = {.psd = &basis->psd,
                                              .white = basis->white,
                                              .n_axes = basis->n_axes,
                                              .n_tapers = (double)SH_WORKSPACE_TAPERS};
    return sh_tremor_peak_find(&peak, PEAK_LOW_HZ, PEAK_HIGH_HZ);
}

static void fill(const struct tremor_basis *basis,
                 const struct tremor_places *places,
                 struct sh_measures *measures)
{
    measures->quantity[places->rms] = get_rms(basis, RMS_LOW_HZ, RMS_HIGH_HZ);
    measures->quantity[places->peak] = get_peak(basis);
    for (size_t i = 0; i < SH_PARTS_BANDS_COUNT; i++) {
        measures->quantity[places->band + i] =
            get_rms(basis, band_edges_hz[i], band_edges_hz[i + 1]);
    }
}

static void
fill_unknown(enum sh_why why, const struct tremor_places *places, struct sh_measures *measures)
{
    measures->quantity[places->rms] = sh_quantity_unknown(why);
    measures->quantity[places->peak] = sh_quantity_unknown(why);
    for (size_t i = 0; i < SH_PARTS_BANDS_COUNT; i++) {
        measures->quantity[places->band + i] = sh_quantity_unknown(why);
    }
}

/* Window of a length that is asked for, or why there is none. */
static enum sh_why
check_window(const struct sh_scene *scene, double min_s, struct sh_tremor_window *window)
{
    const struct sh_quantity full_draw = sh_scene_event(scene, SH_EVENT_FULL_DRAW);
    const struct sh_quantity c = sh_scene_click_or_release(scene);
    if (!sh_quantity_is_known(&full_draw)) {
        return full_draw.why;
    }
    if (!sh_quantity_is_known(&c)) {
        return c.why;
    }
    window->from_s += full_draw.value;
    window->until_s += c.value;
    const bool is_long = window->until_s - window->from_s >= min_s - SPAN_SLACK_S;
    return is_long ? SH_WHY_KNOWN : SH_WHY_TOO_SHORT;
}

/* Puts the force into a window given relative to full draw and c. */
static enum sh_why
find_force_window(const struct sh_scene *scene, double min_s, struct sh_tremor_window *window)
{
    const struct sh_shot_force *force = &scene->view->force;
    window->stream = force->stream;
    window->value = force->net_n;
    window->delay_s = force->delay_s;
    return force->is_present ? check_window(scene, min_s, window) : SH_WHY_NO_CHANNEL;
}

enum sh_why sh_tremor_find_window(const struct sh_scene *scene, struct sh_tremor_window *window)
{
    *window = (struct sh_tremor_window){.from_s = SH_TREMOR_AFTER_FULL_DRAW_S,
                                        .until_s = -SH_TREMOR_BEFORE_C_S};
    return find_force_window(scene, SH_TREMOR_SPAN_MIN_S, window);
}

/*
 * Density of the noise: what the force showed at rest, or what this very spectrum holds above
 * the tremor, whichever is less. At rest the string may have been handled; above there may be
 * hum.
 */
static double get_white(const struct sh_psd *psd, double at_rest)
{
    double power = 0.0;
    const double top_hz =
        fmin(FLOOR_HIGH_HZ, FLOOR_RATIO * psd->bin_hz * (double)(psd->n_bins - 1u));
    if (!(top_hz > FLOOR_LOW_HZ) ||
        sh_psd_get_power(psd, FLOOR_LOW_HZ, top_hz, &power) != SH_OK) {
        return at_rest;
    }
    return fmin(at_rest, power / (top_hz - FLOOR_LOW_HZ));
}

static enum sh_why run_force(const struct sh_scene *scene,
                             const struct sh_tremor_window *window,
                             struct tremor_basis *basis)
{
    const struct sh_shot_force *force = &scene->view->force;
    basis->rate_hz = force->rate_hz;
    basis->n_axes = 1.0;
    basis->u_ratio = force->scale_u_ratio;
    const enum sh_why why = sh_tremor_run(scene, window, &basis->psd);
    if (why == SH_WHY_KNOWN) {
        basis->white =
            get_white(&basis->psd, 2.0 * force->noise_n * force->noise_n / force->rate_hz);
    }
    return why;
}

static struct sh_quantity
run_third(const struct sh_scene *scene, const struct sh_tremor_window *whole, double part)
{
    struct tremor_basis basis;
    struct sh_tremor_window window = *whole;
    const double third_s = (whole->until_s - whole->from_s) / 3.0;
    window.from_s = whole->from_s + part * third_s;
    window.until_s = window.from_s + third_s;
    const enum sh_why why = run_force(scene, &window, &basis);
    return why == SH_WHY_KNOWN ? get_steady_rms(&basis) : sh_quantity_unknown(why);
}

/*
 * A slow sensor's samples begin and end up to one step inside the window: widens the peak by
 * what it moves where they do so by one step more, at either end (half a rectangle's share).
 */
static enum sh_why allow_coarse_ends(const struct sh_scene *scene,
                                     const struct sh_tremor_window *whole,
                                     struct sh_quantity *peak)
{
    const double step_s = 1.0 / scene->view->force.rate_hz;
    double moved_hz = 0.0;
    for (int end = 0; end < 2 && sh_quantity_is_known(peak); end++) {
        struct tremor_basis basis;
        struct sh_tremor_window window = *whole;
        window.from_s += end == 0 ? step_s : 0.0;
        window.until_s -= end == 1 ? step_s : 0.0;
        const enum sh_why why = run_force(scene, &window, &basis);
        if (why != SH_WHY_KNOWN) {
            return why;
        }
        const struct sh_quantity other = get_peak(&basis);
        if (sh_quantity_is_known(&other)) {
            moved_hz += fabs(other.value - peak->value);
        }
    }
    peak->u = hypot(peak->u, RECTANGLE * moved_hz);
    peak->lo = peak->value - (peak->value - peak->lo) - moved_hz;
    peak->hi = peak->value + (peak->hi - peak->value) + moved_hz;
    return SH_WHY_KNOWN;
}

/* The whole window; SH_WHY_KNOWN or why there is none. */
static enum sh_why measure_force(const struct sh_scene *scene,
                                 struct sh_tremor_window *window,
                                 struct sh_measures *measures)
{
    struct tremor_basis basis;
    enum sh_why why = sh_tremor_find_window(scene, window);
    if (why == SH_WHY_KNOWN) {
        why = run_force(scene, window, &basis);
    }
    if (why != SH_WHY_KNOWN) {
        fill_unknown(why, &force_places, measures);
        return why;
    }
    fill(&basis, &force_places, measures);
    if (scene->view->force.rate_hz < SH_WORKSPACE_TREMOR_HZ) {
        why = allow_coarse_ends(scene, window, &measures->quantity[force_places.peak]);
    }
    return why;
}

static void measure_thirds(const struct sh_scene *scene,
                           const struct sh_tremor_window *window,
                           enum sh_why why,
                           struct sh_measures *measures)
{
    const bool is_known = why == SH_WHY_KNOWN;
    measures->tremor_first_third_n =
        is_known ? run_third(scene, window, 0.0) : sh_quantity_unknown(why);
    measures->tremor_last_third_n =
        is_known ? run_third(scene, window, 2.0) : sh_quantity_unknown(why);
}

static void measure_steady(const struct sh_scene *scene, struct sh_measures *measures)
{
    struct tremor_basis basis;
    struct sh_tremor_window window = {.from_s = STEADY_AFTER_S, .until_s = -STEADY_BEFORE_S};
    enum sh_why why = find_force_window(scene, STEADY_MIN_S, &window);
    if (why == SH_WHY_KNOWN) {
        why = run_force(scene, &window, &basis);
    }
    if (why != SH_WHY_KNOWN) {
        measures->steady_rms_n = sh_quantity_unknown(why);
        return;
    }
    measures->steady_rms_n = get_steady_rms(&basis);
}

/* Adds one axis to the sum of powers; the first one clears it. */
static enum sh_why add_axis(const struct sh_scene *scene,
                            struct sh_tremor_window *window,
                            size_t axis,
                            struct tremor_basis *sum)
{
    const struct sh_stream *stream = scene->view->stream[window->stream].stream;
    const struct sh_channel *channel = &stream->channel[axis];
    struct sh_psd psd;
    window->value = scene->view->stream[window->stream].value[axis];
    window->delay_s = channel->delay_s;
    const enum sh_why why = sh_tremor_run(scene, window, &psd);
    if (why != SH_WHY_KNOWN) {
        return why;
    }
    double *power = scene->workspace->sum_power;
    const bool is_first = sum->psd.power == NULL;
    for (size_t i = 0; i < psd.n_bins && i < SH_WORKSPACE_BINS_MAX; i++) {
        power[i] = psd.power[i] + (is_first ? 0.0 : power[i]);
    }
    sum->psd = psd;
    sum->rate_hz = stream->rate_hz;
    sum->n_axes += 1.0;
    sum->psd.power = power;
    sum->white += 2.0 * channel->noise * channel->noise / stream->rate_hz;
    sum->u_ratio = fmax(sum->u_ratio, sh_scene_get_channel_u_ratio(channel, 1.0));
    return SH_WHY_KNOWN;
}

static enum sh_why run_bow(const struct sh_scene *scene, struct tremor_basis *sum)
{
    struct sh_tremor_window window = {.from_s = SH_TREMOR_AFTER_FULL_DRAW_S,
                                      .until_s = -SH_TREMOR_BEFORE_C_S};
    size_t first = 0;
    if (!sh_shot_view_find(scene->view, SH_ROLE_BOW_ACCELERATION, SH_AXIS_NONE, SH_FINGER_NONE,
                           &window.stream, &first)) {
        return SH_WHY_NO_CHANNEL;
    }
    enum sh_why why = check_window(scene, SH_TREMOR_SPAN_MIN_S, &window);
    const struct sh_stream *stream = scene->view->stream[window.stream].stream;
    for (size_t c = first; why == SH_WHY_KNOWN && c < stream->n_channels; c++) {
        if (stream->channel[c].role == SH_ROLE_BOW_ACCELERATION) {
            why = add_axis(scene, &window, c, sum);
        }
    }
    return why;
}

void sh_tremor_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    struct tremor_basis bow = {.white = 0.0};
    struct sh_tremor_window window;
    const enum sh_why force_why = measure_force(scene, &window, measures);
    /* next: its window is often as long, and the tapers then stay */
    const enum sh_why why = run_bow(scene, &bow);
    if (why == SH_WHY_KNOWN) {
        fill(&bow, &bow_places, measures);
    } else {
        fill_unknown(why, &bow_places, measures);
    }
    measure_thirds(scene, &window, force_why, measures);
    measure_steady(scene, measures);
}
