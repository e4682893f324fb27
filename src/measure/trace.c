/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/trace.h"

#include <math.h>

#include "measure/scene.h"
#include "measure/tremor.h"

/* A stretch of time, cut into pieces. */
struct pieces {
    double from_s;
    double until_s;
    size_t n;
};

static enum sh_event find_zero(const struct sh_scene *scene)
{
    static const enum sh_event candidates[] = {SH_EVENT_RELEASE, SH_EVENT_LET_DOWN,
                                               SH_EVENT_END, SH_EVENT_DRAW_START};
    for (size_t i = 0; i < sizeof candidates / sizeof candidates[0]; i++) {
        const struct sh_quantity at = sh_scene_event(scene, candidates[i]);
        if (sh_quantity_is_known(&at)) {
            return candidates[i];
        }
    }
    return SH_EVENT_COUNT;
}

/* An event less zero; both errors, since the axis is drawn from zero. */
static void
set_events(const struct sh_scene *scene, const struct sh_quantity *zero, struct sh_trace *out)
{
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        const struct sh_quantity at = sh_scene_event(scene, (enum sh_event)i);
        out->event_s[i] = sh_scene_difference(&at, zero);
    }
    out->event_s[out->zero] = sh_quantity_known(0.0, 0.0);
}

/* First frame at or after a time, at most n_frames. */
static size_t find_frame(const struct sh_scene *scene, double t_s)
{
    const struct sh_shot_force *force = &scene->view->force;
    const struct sh_shot_stream *stream = &scene->view->stream[force->stream];
    if (force->n_frames == 0) {
        return 0;
    }
    const double index = ceil(sh_shot_stream_index(stream, force->delay_s, t_s));
    return (size_t)fmin(fmax(index, 0.0), (double)force->n_frames);
}

/* Piece in which a frame lies; pieces->n where it is none, or its sample was lost. */
static size_t
find_piece(const struct sh_scene *scene, const struct pieces *pieces, size_t frame)
{
    const struct sh_shot_force *force = &scene->view->force;
    const struct sh_shot_stream *stream = &scene->view->stream[force->stream];
    const double t_s = stream->time_s[frame] - force->delay_s;
    const double share = (t_s - pieces->from_s) / (pieces->until_s - pieces->from_s);
    const bool is_lost = (stream->flags[frame] & SH_SHOT_FLAG_FILLED) != 0;
    if (is_lost || share < 0.0 || share >= 1.0) {
        return pieces->n;
    }
    const size_t piece = (size_t)(share * (double)pieces->n);
    return piece < pieces->n ? piece : pieces->n - 1u;
}

static void draw_whole(const struct sh_scene *scene,
                       const struct pieces *pieces,
                       double zero_s,
                       struct sh_trace *out)
{
    size_t last = pieces->n;
    const double width_s = (pieces->until_s - pieces->from_s) / (double)pieces->n;
    const size_t end = find_frame(scene, pieces->until_s);
    for (size_t i = find_frame(scene, pieces->from_s); i < end; i++) {
        const double net_n = scene->view->force.net_n[i];
        const size_t piece = find_piece(scene, pieces, i);
        if (piece == pieces->n) {
            continue;
        }
        if (piece != last) {
            const size_t k = out->n_whole++;
            out->whole_s[k] = pieces->from_s + ((double)piece + 0.5) * width_s - zero_s;
            out->whole_low_n[k] = net_n;
            out->whole_high_n[k] = net_n;
            last = piece;
        }
        const size_t k = out->n_whole - 1u;
        out->whole_low_n[k] = fmin(out->whole_low_n[k], net_n);
        out->whole_high_n[k] = fmax(out->whole_high_n[k], net_n);
    }
}

static void draw_close(const struct sh_scene *scene,
                       const struct pieces *pieces,
                       double zero_s,
                       struct sh_trace *out)
{
    size_t last = pieces->n;
    double n_in = 0.0;
    const struct sh_shot_force *force = &scene->view->force;
    const double *time_s = scene->view->stream[force->stream].time_s;
    const size_t end = find_frame(scene, pieces->until_s);
    for (size_t i = find_frame(scene, pieces->from_s); i < end; i++) {
        const size_t piece = find_piece(scene, pieces, i);
        if (piece == pieces->n) {
            continue;
        }
        if (piece != last) {
            out->close_s[out->n_close] = 0.0;
            out->close_n[out->n_close] = 0.0;
            out->n_close++;
            n_in = 0.0;
            last = piece;
        }
        const size_t k = out->n_close - 1u;
        const double t_s = time_s[i] - force->delay_s - zero_s;
        n_in += 1.0;
        out->close_s[k] += (t_s - out->close_s[k]) / n_in;
        out->close_n[k] += (force->net_n[i] - out->close_n[k]) / n_in;
    }
}

/* Mean density of each piece of 0 to 25 Hz; a piece without a bin has no point. */
static void set_spectrum(const struct sh_psd *psd, struct sh_trace *out)
{
    size_t last = SH_TRACE_SPECTRUM_MAX;
    double n_in = 0.0;
    const double width_hz = SH_TRACE_SPECTRUM_HZ / (double)SH_TRACE_SPECTRUM_MAX;
    for (size_t i = 0; i < psd->n_bins; i++) {
        const size_t piece = (size_t)((double)i * psd->bin_hz / width_hz);
        if (piece >= SH_TRACE_SPECTRUM_MAX) {
            return;
        }
        if (piece != last) {
            out->spectrum_hz[out->n_spectrum] = ((double)piece + 0.5) * width_hz;
            out->spectrum_n2_per_hz[out->n_spectrum] = 0.0;
            out->n_spectrum++;
            n_in = 0.0;
            last = piece;
        }
        double *mean = &out->spectrum_n2_per_hz[out->n_spectrum - 1u];
        n_in += 1.0;
        *mean += (psd->power[i] - *mean) / n_in;
    }
}

static void draw_spectrum(const struct sh_scene *scene, struct sh_trace *out)
{
    struct sh_psd psd;
    struct sh_tremor_window window;
    if (sh_tremor_find_window(scene, &window) == SH_WHY_KNOWN &&
        sh_tremor_run(scene, &window, &psd) == SH_WHY_KNOWN) {
        set_spectrum(&psd, out);
    }
}

static void draw_force(const struct sh_scene *scene, double zero_s, struct sh_trace *out)
{
    const struct sh_quantity draw_start = sh_scene_event(scene, SH_EVENT_DRAW_START);
    const struct pieces close = {.from_s = zero_s - SH_TRACE_CLOSE_BEFORE_S,
                                 .until_s = zero_s + SH_TRACE_CLOSE_AFTER_S,
                                 .n = SH_TRACE_CLOSE_MAX};
    if (sh_quantity_is_known(&draw_start)) {
        const struct pieces whole = {.from_s = draw_start.value - SH_TRACE_BEFORE_S,
                                     .until_s = zero_s + SH_TRACE_AFTER_S,
                                     .n = SH_TRACE_WHOLE_MAX};
        draw_whole(scene, &whole, zero_s, out);
    }
    if (out->zero == SH_EVENT_RELEASE) {
        draw_close(scene, &close, zero_s, out);
    }
    draw_spectrum(scene, out);
}

enum sh_status sh_trace_make(struct sh_workspace *workspace,
                             const struct sh_shot *shot,
                             const struct sh_shot_view *view,
                             struct sh_trace *out)
{
    if (!sh_scene_is_for(workspace, view)) {
        return SH_ERR_ARGUMENT;
    }
    const struct sh_scene scene = {.shot = shot, .view = view, .workspace = workspace};
    *out = (struct sh_trace){.zero = find_zero(&scene)};
    if (out->zero == SH_EVENT_COUNT) {
        for (int i = 0; i < SH_EVENT_COUNT; i++) {
            out->event_s[i] = sh_scene_event(&scene, (enum sh_event)i);
        }
        return SH_OK;
    }
    const struct sh_quantity zero = sh_scene_event(&scene, out->zero);
    set_events(&scene, &zero, out);
    if (view->force.is_present) {
        draw_force(&scene, zero.value, out);
    }
    return SH_OK;
}
