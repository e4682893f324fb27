/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/spectrum_plot.h"

#include <math.h>
#include <stdlib.h>

#include "report/curve_set.h"
#include "report/svg.h"

#define LOW_HZ      2.0 /* below lies sway, which would set the scale */
#define AREA_PX     180.0
#define TICKS_X_MAX 7u
#define TICKS_Y_MAX 6u

static bool has_rise(const struct sh_shot_record *record)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code == SH_CODE_TREMOR_RISE) {
            return true;
        }
    }
    return false;
}

static bool make_curve(const struct sh_shot_record *record,
                       const struct sh_trace *trace,
                       struct sh_curve *curve)
{
    curve->number = record->shot.n;
    curve->is_marked = has_rise(record);
    curve->n = 0;
    for (size_t i = 0; i < trace->n_spectrum; i++) {
        if (trace->spectrum_hz[i] >= LOW_HZ) {
            curve->x[curve->n] = trace->spectrum_hz[i];
            curve->y[curve->n++] = sqrt(trace->spectrum_n2_per_hz[i]);
        }
    }
    return curve->n > 1;
}

static double find_top(const struct sh_curve *curves, size_t n)
{
    double top = 0.0;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < curves[i].n; k++) {
            top = fmax(top, curves[i].y[k]);
        }
    }
    return top;
}

void sh_spectrum_plot_draw(struct sh_text *text,
                           const struct sh_analysis *analysis,
                           const struct sh_trace *traces)
{
    struct sh_curve *curves = calloc(analysis->n_shots + 1, sizeof *curves);
    double *scratch = calloc(analysis->n_shots + 1, sizeof *scratch);
    size_t n = 0;
    if (curves == NULL || scratch == NULL) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
        goto out;
    }
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n += make_curve(&analysis->shots[i], &traces[i], &curves[n]) ? 1 : 0;
    }
    if (n == 0) {
        goto out;
    }
    struct sh_ruler x = sh_ruler_fit(0.0, SH_TRACE_SPECTRUM_HZ, TICKS_X_MAX);
    struct sh_ruler y = sh_ruler_fit(0.0, find_top(curves, n), TICKS_Y_MAX);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, AREA_PX);
    frame.has_x_ticks = true;
    frame.x_name = "frequency (Hz)";
    frame.y_name = "tremor of the force (N/√Hz)";
    sh_svg_open(text, sh_plot_frame_get_height(&frame),
                "Spectra of the force's tremor, one a hold");
    sh_plot_frame_draw(text, &frame);
    sh_curve_set_draw(text, &frame, curves, n, scratch);
    sh_svg_close(text);
out:
    free(curves);
    free(scratch);
}
