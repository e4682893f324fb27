/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/band_plot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "report/plot_frame.h"
#include "report/svg.h"
#include "signal/stats.h"

#define AREA_PX    180.0
#define TICKS_MAX  6u
#define N_BANDS    SH_PARTS_BANDS_COUNT
#define BAND_LEFT  0.06 /* room for the labels of y */
#define BAND_WIDTH ((1.0 - BAND_LEFT) / N_BANDS)
#define BAND_FILL  0.8 /* of a band's width is used */
#define LABEL_PX   15.0

static const struct sh_quantity *
get_band(const struct sh_shot_record *record, enum sh_measure measure, size_t band)
{
    return sh_catalog_get(&record->measures, measure, band);
}

static double find_top(const struct sh_analysis *analysis, enum sh_measure measure)
{
    double top = 0.0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        for (size_t band = 0; band < N_BANDS; band++) {
            const struct sh_quantity *rms = get_band(&analysis->shots[i], measure, band);
            top = sh_quantity_is_known(rms) ? fmax(top, rms->value) : top;
        }
    }
    return top;
}

/* Left end and width of a band's part of the plot. */
static double get_left(size_t band)
{
    return BAND_LEFT + ((double)band + (1.0 - BAND_FILL) / 2.0) * BAND_WIDTH;
}

/* work has room for all shots. */
static void draw_band(struct sh_text *text,
                      const struct sh_plot_frame *frame,
                      const struct sh_analysis *analysis,
                      const enum sh_measure measure,
                      size_t band,
                      double *work)
{
    const double width = BAND_FILL * BAND_WIDTH;
    size_t n_known = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_quantity *rms = get_band(&analysis->shots[i], measure, band);
        if (sh_quantity_is_known(rms)) {
            double share = ((double)i + 0.5) / (double)analysis->n_shots;
            sh_svg_marker(text, "dot", SH_SVG_DISC,
                          (const double[]){get_left(band) + width * share,
                                           sh_plot_frame_get_y(frame, rms->value)});
            work[n_known++] = rms->value;
        }
    }
    if (n_known > 0) {
        double y = sh_plot_frame_get_y(frame, sh_stats_select_median(work, n_known));
        sh_svg_line(text, "median", (const double[]){get_left(band), y},
                    (const double[]){get_left(band) + width, y});
    }
    sh_svg_label(text, "tick",
                 (const double[]){get_left(band) + width / 2.0, frame->bottom_px + LABEL_PX},
                 SH_SVG_MIDDLE, sh_catalog_get_part_name(measure, band));
}

void sh_band_plot_draw(struct sh_text *text,
                       const struct sh_analysis *analysis,
                       enum sh_measure measure)
{
    double top = find_top(analysis, measure);
    const struct sh_catalog_row *row = sh_catalog_get_row(measure);
    char name[64];
    if (!(top > 0.0)) {
        return;
    }
    double *work = malloc(analysis->n_shots * sizeof *work);
    if (work == NULL) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
        return;
    }
    struct sh_ruler x = sh_ruler_fit(0.0, 1.0, 3);
    struct sh_ruler y = sh_ruler_fit(0.0, top, TICKS_MAX);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, AREA_PX);
    (void)snprintf(name, sizeof name, "rms (%s)", row->symbol);
    frame.has_x_ticks = false;
    frame.x_name = "band";
    frame.y_name = name;
    sh_svg_open(text, sh_plot_frame_get_height(&frame), row->title);
    sh_plot_frame_draw(text, &frame);
    for (size_t band = 0; band < N_BANDS; band++) {
        draw_band(text, &frame, analysis, measure, band, work);
    }
    sh_svg_close(text);
    free(work);
}
