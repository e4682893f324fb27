/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/calibration_section.h"

#include <math.h>
#include <stdbool.h>

#include "metrology/scale.h"
#include "report/plot_frame.h"
#include "report/svg.h"

#define REFERENCE_N 100.0
#define PER_CENT    100.0
#define LIMIT_95    1.96
#define AREA_PX     140.0
#define TICKS_MAX   6
#define BARS        12u

static bool is_force(const struct sh_channel *channel)
{
    return channel->role == SH_ROLE_STRING_FORCE || channel->role == SH_ROLE_FINGER_FORCE;
}

/* Calls write for each force channel of the streams; how many there are. */
static size_t visit(const struct sh_stream *streams,
                    size_t n,
                    void (*write)(struct sh_text *text, const struct sh_channel *channel),
                    struct sh_text *text)
{
    size_t n_found = 0;
    for (size_t i = 0; i < n * SH_STREAM_CHANNELS_MAX; i++) {
        const struct sh_stream *stream = &streams[i / SH_STREAM_CHANNELS_MAX];
        const size_t c = i % SH_STREAM_CHANNELS_MAX;
        if (c < stream->n_channels && is_force(&stream->channel[c])) {
            write(text, &stream->channel[c]);
            n_found++;
        }
    }
    return n_found;
}

static void put_name(struct sh_text *text, const struct sh_channel *channel)
{
    if (channel->role == SH_ROLE_FINGER_FORCE) {
        sh_text_printf(text, "%s finger", sh_channel_finger_name(channel->finger));
    } else {
        sh_text_puts(text, "string");
    }
}

/* The point of a curve at 100 N or its last below; *rest where its value is nearest 0. */
static size_t find_point(const struct sh_channel *channel, size_t *rest)
{
    size_t best = 0;
    *rest = 0;
    for (size_t i = 0; i < channel->n_curve; i++) {
        const double value = channel->curve[i].value;
        if (value <= REFERENCE_N && value > channel->curve[best].value) {
            best = i;
        }
        if (fabs(value) < fabs(channel->curve[*rest].value)) {
            *rest = i;
        }
    }
    return best;
}

/* A force and the calibration's standard uncertainty of it, from rest; false: none is known. */
static bool find_u(const struct sh_channel *channel, double *force_n, double *u_n)
{
    double raw = REFERENCE_N;
    double rest_raw = 0.0;
    if (channel->n_curve > 0) {
        size_t rest = 0;
        const size_t point = find_point(channel, &rest);
        raw = channel->curve[point].counts;
        rest_raw = channel->curve[rest].counts;
    } else if (!channel->is_physical) {
        raw = channel->zero + REFERENCE_N / channel->scale;
        rest_raw = channel->zero;
    }
    *force_n = sh_scale_value(channel, raw) - sh_scale_value(channel, rest_raw);
    *u_n = sh_scale_difference_u(channel, raw, rest_raw);
    return *u_n > 0.0;
}

static void write_channel(struct sh_text *text, const struct sh_channel *channel)
{
    double force_n = 0.0;
    double u_n = 0.0;
    sh_text_puts(text, "<li>");
    put_name(text, channel);
    if (channel->calibrated[0] != '\0') {
        sh_text_puts(text, ": calibrated on ");
        sh_text_put_markup(text, channel->calibrated);
    } else {
        sh_text_puts(text,
                     ": <strong>not calibrated</strong>, its newtons rest on a scale that "
                     "nobody has checked");
    }
    if (find_u(channel, &force_n, &u_n)) {
        sh_text_printf(text,
                       ". A net force of %.3g N is known to ±%.2g N (95 %%, calibration alone)",
                       force_n, LIMIT_95 * u_n);
    } else {
        sh_text_puts(text, ". How well its scale is known was not given");
    }
    if (channel->load_drift_time_s > 0.0) {
        sh_text_printf(text, ". Load drift of %+.2g %% in %.2g s is taken off",
                       PER_CENT * channel->load_drift_ratio, channel->load_drift_time_s);
    }
    sh_text_puts(text, ".</li>\n");
}

static void draw_line(struct sh_text *text,
                      const struct sh_plot_frame *frame,
                      const struct sh_channel *channel)
{
    double x[SH_CHANNEL_CURVE_MAX];
    double y[SH_CHANNEL_CURVE_MAX];
    const double box[4] = {frame->left, frame->top_px, frame->right - frame->left,
                           frame->bottom_px - frame->top_px};
    for (size_t i = 0; i < channel->n_curve; i++) {
        x[i] = sh_ruler_get_share(&frame->x, channel->curve[i].counts);
        y[i] = 1.0 - sh_ruler_get_share(&frame->y, channel->curve[i].value);
    }
    sh_svg_curve(text, "curve-middle", box, x, y, channel->n_curve);
}

/* The curve in use, with bars as high as its 95 % interval. */
static void draw_curve(struct sh_text *text, const struct sh_channel *channel)
{
    const struct sh_curve_point *curve = channel->curve;
    const size_t n = channel->n_curve;
    if (n == 0) {
        return;
    }
    const bool is_rising = curve[n - 1].value > curve[0].value;
    const double top_n = is_rising ? curve[n - 1].value : curve[0].value;
    /* from rest on: what lies below only keeps noise near 0 */
    size_t rest = 0;
    (void)find_point(channel, &rest);
    const size_t end = is_rising ? n - 1 : 0;
    struct sh_ruler x = sh_ruler_fit(fmin(curve[rest].counts, curve[end].counts),
                                     fmax(curve[rest].counts, curve[end].counts), TICKS_MAX);
    struct sh_ruler y = sh_ruler_fit(0.0, top_n, TICKS_MAX);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, AREA_PX);
    frame.x_name = "counts";
    frame.y_name = "force (N)";
    sh_text_puts(text, "<figure class=\"card\"><figcaption>Calibration of the ");
    put_name(text, channel);
    sh_text_puts(text, ": force by counts, bars are its 95 % interval.</figcaption>\n");
    sh_svg_open(text, sh_plot_frame_get_height(&frame), "Calibration curve");
    sh_plot_frame_draw(text, &frame);
    draw_line(text, &frame, channel);
    for (size_t i = 0; i < n; i += 1 + n / BARS) {
        const double half = LIMIT_95 * curve[i].u;
        const double low = fmin(fmax(curve[i].value - half, y.lo), y.hi);
        const double high = fmin(fmax(curve[i].value + half, y.lo), y.hi);
        const double at = sh_plot_frame_get_x(&frame, curve[i].counts);
        if (curve[i].counts >= x.lo && curve[i].counts <= x.hi) {
            sh_svg_line(text, "doubt", (const double[]){at, sh_plot_frame_get_y(&frame, low)},
                        (const double[]){at, sh_plot_frame_get_y(&frame, high)});
        }
    }
    sh_svg_close(text);
    sh_text_puts(text, "</figure>\n");
}

void sh_calibration_section_write(struct sh_text *text,
                                  const struct sh_stream *streams,
                                  size_t n)
{
    struct sh_text list;
    bool has_crosstalk = false;
    for (size_t i = 0; i < n; i++) {
        has_crosstalk = has_crosstalk || streams[i].has_crosstalk;
    }
    sh_text_init(&list, 0);
    if (visit(streams, n, write_channel, &list) > 0) {
        sh_text_puts(text, "<section><h2>Calibration</h2>\n<ul>\n");
        sh_text_write(text, list.data != NULL ? list.data : "", list.n_bytes);
        sh_text_puts(text, has_crosstalk
                               ? "<li>What neighbouring sensors show of each other is "
                                 "taken off.</li>\n</ul>\n"
                               : "</ul>\n");
        (void)visit(streams, n, draw_curve, text);
        sh_text_puts(text, "</section>\n");
    }
    if (text->status == SH_OK) {
        text->status = list.status;
    }
    sh_text_close(&list);
}
