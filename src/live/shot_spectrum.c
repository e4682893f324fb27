/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/shot_spectrum.h"

#include <math.h>
#include <stdlib.h>

#include "live/number_text.h"
#include "live/shot_window.h"
#include "measure/span.h"
#include "measure/tremor.h"
#include "signal/chi_square.h"
#include "signal/decimate.h"
#include "signal/detrend.h"
#include "signal/multitaper.h"

#define HOLD_RATE_HZ     200.0
#define HOLD_RATE_MIN_HZ 75.0
#define RING_RATE_MIN_HZ 500.0
#define RING_AFTER_S     0.02
#define RING_SPAN_S      0.5
#define RING_SHOCK_S     0.15 /* in which the shock may reach the range */
#define LEVEL            0.95
#define SAMPLES_MAX      16384u
#define LEAD_S           3.5 /* read before the draw, for the rest level */
#define LONGEST_S        170.0
#define DIGITS           6

static double get_event_s(const struct sh_shot_record *record, enum sh_event event)
{
    const struct sh_quantity *at = &record->shot.event_s[event];
    return sh_quantity_is_known(at) ? at->value : (double)NAN;
}

/* The window around the shot, draw start to the ring's end; false where nothing is known. */
static bool find_window(const struct sh_shot_record *record,
                        enum sh_timebase_reading reading,
                        struct sh_shot_window_config *config)
{
    double start_s = get_event_s(record, SH_EVENT_DRAW_START);
    double full_s = get_event_s(record, SH_EVENT_FULL_DRAW);
    double over_s = get_event_s(record, SH_EVENT_RELEASE);
    over_s = isfinite(over_s) ? over_s : get_event_s(record, SH_EVENT_LET_DOWN);
    double from_s = isfinite(start_s) ? start_s : isfinite(full_s) ? full_s : over_s - 1.0;
    *config =
        (struct sh_shot_window_config){.from_s = from_s - LEAD_S,
                                       .until_s = over_s + RING_SHOCK_S + RING_SPAN_S + 0.1,
                                       .draw_start_s = start_s,
                                       .reading = reading};
    if (!isfinite(config->from_s) || !isfinite(config->until_s)) {
        return false;
    }
    config->from_s = fmax(config->from_s, config->until_s - LONGEST_S);
    return true;
}

/* One spectrum being made. */
struct work {
    struct sh_multitaper *multitaper;
    double *x; /* [SAMPLES_MAX] */
};

/* Adds the density of n samples at rate_hz to out, in steps of step_hz. */
static void add_density(const struct work *work,
                        size_t n,
                        double rate_hz,
                        double step_hz,
                        struct sh_shot_spectrum *out)
{
    struct sh_psd psd;
    const struct sh_multitaper_window window = {.x = work->x, .n = n, .rate_hz = rate_hz};
    if (sh_multitaper_run(work->multitaper, &window) != SH_OK ||
        sh_multitaper_get_psd(work->multitaper, &psd) != SH_OK) {
        return;
    }
    out->step_hz = step_hz;
    out->n = 0;
    for (size_t i = 0; i < SH_SHOT_SPECTRUM_POINTS; i++) {
        size_t bin = (size_t)lround((double)i * step_hz / psd.bin_hz);
        if (bin >= psd.n_bins) {
            return;
        }
        out->density[i] += psd.power[bin];
        out->lo[i] = (double)NAN;
        out->hi[i] = (double)NAN;
        out->n = i + 1;
    }
}

/* Limits of the density that the multitaper holds. Its weights are the same in every bin, so
 * that one pair of quantiles, half a millisecond of work, serves them all. */
static void add_limits(const struct work *work, struct sh_shot_spectrum *out)
{
    double freedom = out->n > 0 ? sh_multitaper_get_freedom(work->multitaper, 1) : (double)NAN;
    double most = sh_chi_square_get_quantile(0.5 + 0.5 * LEVEL, freedom);
    double least = sh_chi_square_get_quantile(0.5 - 0.5 * LEVEL, freedom);
    for (size_t i = 0; i < out->n; i++) {
        out->lo[i] = freedom * out->density[i] / most;
        out->hi[i] = freedom * out->density[i] / least;
    }
}

static void make_hold(const struct sh_shot_record *record,
                      const struct sh_shot_view *view,
                      const struct work *work,
                      struct sh_shot_spectrum *out)
{
    const struct sh_shot_force *force = &view->force;
    double click_s = get_event_s(record, SH_EVENT_CLICKER);
    double c_s = isfinite(click_s) ? click_s : get_event_s(record, SH_EVENT_RELEASE);
    double from_s = get_event_s(record, SH_EVENT_FULL_DRAW) + SH_TREMOR_AFTER_FULL_DRAW_S;
    double until_s = c_s - SH_TREMOR_BEFORE_C_S;
    struct sh_decimate *decimate = NULL;
    if (!force->is_present || force->rate_hz < HOLD_RATE_MIN_HZ ||
        !(until_s - from_s >= SH_TREMOR_SPAN_MIN_S)) {
        return;
    }
    struct sh_span span =
        sh_span_find(&view->stream[force->stream], force->delay_s, from_s, until_s);
    if (!sh_span_is_usable(&span) ||
        sh_decimate_open(force->rate_hz, HOLD_RATE_HZ, &decimate, NULL) != SH_OK) {
        return;
    }
    size_t n = sh_decimate_get_count(decimate, span.n);
    if (n <= SAMPLES_MAX &&
        sh_decimate_run(decimate, force->net_n + span.first, span.n, work->x) == SH_OK &&
        sh_detrend_line(work->x, NULL, n, work->x) == SH_OK) {
        add_density(work, n, sh_decimate_get_rate(decimate),
                    SH_SHOT_SPECTRUM_HOLD_HZ / (SH_SHOT_SPECTRUM_POINTS - 1), out);
        add_limits(work, out);
    }
    sh_decimate_close(&decimate);
}

/* When the ring is looked at from: behind the last sample of the shock that reached the range.
 */
static double
find_ring_start(const struct sh_shot_stream *stream, double delay_s, double release_s)
{
    double from_s = release_s + RING_AFTER_S;
    struct sh_shot_window_span span =
        sh_shot_window_find(stream, delay_s, release_s, release_s + RING_SHOCK_S);
    for (size_t i = span.first; i < span.first + span.n; i++) {
        if ((stream->flags[i] & SH_SHOT_FLAG_CLIPPED) != 0) {
            from_s = fmax(from_s, stream->time_s[i] - delay_s + 1.5 / stream->stream->rate_hz);
        }
    }
    return from_s;
}

static void make_ring(const struct sh_shot_record *record,
                      const struct sh_shot_view *view,
                      const struct work *work,
                      struct sh_shot_spectrum *out)
{
    size_t i = 0;
    size_t first = 0;
    double release_s = get_event_s(record, SH_EVENT_RELEASE);
    if (!isfinite(release_s) || !sh_shot_view_find(view, SH_ROLE_BOW_ACCELERATION, SH_AXIS_NONE,
                                                   SH_FINGER_NONE, &i, &first)) {
        return;
    }
    const struct sh_shot_stream *stream = &view->stream[i];
    double delay_s = stream->stream->channel[first].delay_s;
    double from_s = find_ring_start(stream, delay_s, release_s);
    struct sh_span span = sh_span_find(stream, delay_s, from_s, from_s + RING_SPAN_S);
    if (!sh_span_is_usable(&span) || span.n > SAMPLES_MAX ||
        stream->stream->rate_hz < RING_RATE_MIN_HZ) {
        return;
    }
    for (size_t k = 0; k < stream->stream->n_channels; k++) {
        if (stream->stream->channel[k].role == SH_ROLE_BOW_ACCELERATION &&
            sh_detrend_mean(stream->value[k] + span.first, NULL, span.n, work->x) == SH_OK) {
            add_density(work, span.n, stream->stream->rate_hz,
                        SH_SHOT_SPECTRUM_RING_HZ / (SH_SHOT_SPECTRUM_POINTS - 1), out);
        }
    }
}

enum sh_status sh_shot_spectrum_find(struct sh_recording_reader *reader,
                                     const struct sh_shot_record *record,
                                     enum sh_timebase_reading reading,
                                     struct sh_shot_spectra *out,
                                     struct sh_error *err)
{
    struct sh_owned_view window;
    struct sh_shot_window_config wanted;
    struct sh_multitaper_config config = sh_multitaper_config_default();
    struct work work = {.x = NULL};
    *out = (struct sh_shot_spectra){.hold = {.n = 0}};
    if (!find_window(record, reading, &wanted)) {
        return SH_OK;
    }
    enum sh_status status = sh_shot_window_open(reader, &wanted, &window, err);
    if (status != SH_OK) {
        return status;
    }
    config.is_density_only = true;
    status = sh_multitaper_open(&config, &work.multitaper, err);
    work.x = malloc(SAMPLES_MAX * sizeof *work.x);
    if (status == SH_OK && work.x == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    if (status == SH_OK) {
        make_hold(record, &window.view, &work, &out->hold);
        make_ring(record, &window.view, &work, &out->ring);
    }
    free(work.x);
    sh_multitaper_close(&work.multitaper);
    sh_owned_view_close(&window);
    return status;
}

/* One series, after a comma where it is not the first. */
static void write_series(const char *start,
                         const char *unit,
                         const struct sh_shot_spectrum *spectrum,
                         struct sh_text *text)
{
    sh_text_puts(text, start);
    for (size_t i = 0; i < spectrum->n; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text, (double)i * spectrum->step_hz, DIGITS);
    }
    sh_text_puts(text, "],\"density\":");
    sh_number_text_put_list(text, spectrum->density, spectrum->n, DIGITS);
    sh_text_printf(text, ",\"density_unit\":\"%s\",\"lo\":", unit);
    sh_number_text_put_list(text, spectrum->lo, spectrum->n, DIGITS);
    sh_text_puts(text, ",\"hi\":");
    sh_number_text_put_list(text, spectrum->hi, spectrum->n, DIGITS);
    sh_text_puts(text, "}");
}

void sh_shot_spectrum_write(unsigned n,
                            const struct sh_shot_spectra *spectra,
                            struct sh_text *text)
{
    sh_text_printf(text, "{\"n\":%u,\"series\":[", n);
    if (spectra->hold.n > 0) {
        write_series("{\"role\":\"string_force\",\"unit\":\"N\",\"f_hz\":[", "N2/Hz",
                     &spectra->hold, text);
    }
    if (spectra->hold.n > 0 && spectra->ring.n > 0) {
        sh_text_puts(text, ",");
    }
    if (spectra->ring.n > 0) {
        write_series("{\"role\":\"bow_ring\",\"unit\":\"m/s2\",\"f_hz\":[", "(m/s2)2/Hz",
                     &spectra->ring, text);
    }
    sh_text_puts(text, "]}");
}
