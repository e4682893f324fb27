/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_plot.h"

#include <math.h>
#include <stdio.h>

#include "measure/catalog.h"
#include "report/svg.h"

#define TOP_PX    26.0 /* above the rows: "less" and "more" */
#define ROW_PX    40.0
#define BOTTOM_PX 4.0
#define NAME_PX   15.0 /* base line of a row's words */
#define LINE_PX   28.0 /* where its change lies */
#define BAND_PX   12.0
#define ZERO      0.5  /* share of the width */
#define REACH     0.48 /* share on either side of it */
#define WORDS     96

/* The place of a change on a row whose ends are at -most and most. */
static double get_x(double change, double most)
{
    return ZERO + REACH * change / most;
}

static void draw_words(struct sh_text *text,
                       const struct sh_comparison_kind *kind,
                       const struct sh_before_after *figure,
                       double top_px)
{
    const double left[2] = {0.0, top_px + NAME_PX};
    const double right[2] = {1.0, top_px + NAME_PX};
    const int n = kind->n_decimals;
    char words[WORDS];
    (void)snprintf(words, sizeof words, "%+.*f %s (%+.*f to %+.*f)", n,
                   sh_comparison_round(kind, figure->shift), kind->symbol, n,
                   sh_comparison_round(kind, figure->lo), n,
                   sh_comparison_round(kind, figure->hi));
    sh_svg_label(text, "code", left, SH_SVG_START, kind->title);
    sh_svg_label(text, "tick", right, SH_SVG_END, words);
}

static void
draw_change(struct sh_text *text, const struct sh_before_after *figure, double top_px)
{
    const double y = top_px + LINE_PX;
    const double most = fmax(figure->visible, fmax(fabs(figure->lo), fabs(figure->hi)));
    const double hidden = figure->visible > 0.0 ? figure->visible : most;
    const double corner[2] = {get_x(-hidden, most), y - BAND_PX / 2.0};
    const double size[2] = {get_x(hidden, most) - corner[0], BAND_PX};
    const double zero[2][2] = {{ZERO, y - BAND_PX}, {ZERO, y + BAND_PX}};
    const double limits[2][2] = {{get_x(figure->lo, most), y}, {get_x(figure->hi, most), y}};
    const double at[2] = {get_x(figure->shift, most), y};
    const bool is_seen = sh_before_after_is_seen(figure);
    sh_svg_box(text, "hold", corner, size);
    sh_svg_line(text, "axis", zero[0], zero[1]);
    sh_svg_line(text, "doubt", limits[0], limits[1]);
    sh_svg_marker(text, "mark", is_seen ? SH_SVG_DISC : SH_SVG_SQUARE, at);
}

static void draw_ends(struct sh_text *text)
{
    const double less[2] = {ZERO - REACH, NAME_PX};
    const double more[2] = {ZERO + REACH, NAME_PX};
    const double none[2] = {ZERO, NAME_PX};
    sh_svg_label(text, "name", less, SH_SVG_START, "less");
    sh_svg_label(text, "name", none, SH_SVG_MIDDLE, "no change");
    sh_svg_label(text, "name", more, SH_SVG_END, "more");
}

static bool is_drawn(const struct sh_comparison_sheet *sheet, size_t k, bool is_of_fingers)
{
    const struct sh_comparison_kind *kind = sh_comparison_get_kind(k);
    return sheet->comparison->figure[k].why == SH_BEFORE_AFTER_KNOWN &&
           (sh_catalog_get_parts(kind->measure) > 1) == is_of_fingers;
}

void sh_comparison_plot_draw(struct sh_text *text,
                             const struct sh_comparison_sheet *sheet,
                             bool is_of_fingers)
{
    size_t n = 0;
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        n += is_drawn(sheet, k, is_of_fingers) ? 1u : 0u;
    }
    if (n == 0) {
        return;
    }
    sh_svg_open(text, TOP_PX + ROW_PX * (double)n + BOTTOM_PX,
                "Changes with their 95 % limits, each on its own scale");
    draw_ends(text);
    double top_px = TOP_PX;
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        if (is_drawn(sheet, k, is_of_fingers)) {
            draw_words(text, sh_comparison_get_kind(k), &sheet->comparison->figure[k], top_px);
            draw_change(text, &sheet->comparison->figure[k], top_px);
            top_px += ROW_PX;
        }
    }
    sh_svg_close(text);
}
