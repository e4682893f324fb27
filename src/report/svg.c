/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/svg.h"

#include <math.h>
#include <stdbool.h>

#define CURVE_UNITS 1000.0 /* a curve's box is this wide and high in its own units */

/* Two decimals and never "-0". */
static double tidy(double number)
{
    return round(number * 100.0) / 100.0 + 0.0;
}

static double to_percent(double share)
{
    return tidy(100.0 * share);
}

void sh_svg_open(struct sh_text *text, double height_px, const char *title)
{
    sh_text_printf(text, "<svg class=\"plot\" role=\"img\" width=\"100%%\" height=\"%.10g\">",
                   tidy(height_px));
    sh_text_puts(text, "<title>");
    sh_text_put_markup(text, title);
    sh_text_puts(text, "</title>\n");
}

void sh_svg_close(struct sh_text *text)
{
    sh_text_puts(text, "</svg>\n");
}

void sh_svg_line(struct sh_text *text,
                 const char *look,
                 const double from[2],
                 const double to[2])
{
    sh_text_printf(text,
                   "<line class=\"%s\" x1=\"%.10g%%\" y1=\"%.10g\" x2=\"%.10g%%\" "
                   "y2=\"%.10g\"/>\n",
                   look, to_percent(from[0]), tidy(from[1]), to_percent(to[0]), tidy(to[1]));
}

/* The attributes that place a box. */
static void put_place(struct sh_text *text, const double corner[2], const double size[2])
{
    sh_text_printf(text, " x=\"%.10g%%\" y=\"%.10g\" width=\"%.10g%%\" height=\"%.10g\"",
                   to_percent(corner[0]), tidy(corner[1]), to_percent(size[0]), tidy(size[1]));
}

void sh_svg_box(struct sh_text *text,
                const char *look,
                const double corner[2],
                const double size[2])
{
    sh_text_printf(text, "<rect class=\"%s\"", look);
    put_place(text, corner, size);
    sh_text_puts(text, "/>\n");
}

void sh_svg_label(struct sh_text *text,
                  const char *look,
                  const double at[2],
                  enum sh_svg_anchor anchor,
                  const char *string)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    sh_text_printf(text, "<text class=\"%s\" x=\"%.10g%%\" y=\"%.10g\" text-anchor=\"%s\">",
                   look, to_percent(at[0]), tidy(at[1]), anchors[anchor]);
    sh_text_put_markup(text, string);
    sh_text_puts(text, "</text>\n");
}

void sh_svg_label_inside(struct sh_text *text,
                         const char *look,
                         const double corner[2],
                         const double size[2],
                         const char *string)
{
    sh_text_puts(text, "<svg");
    put_place(text, corner, size);
    sh_text_printf(text, "><text class=\"%s\" x=\"4\" y=\"%.10g\">", look,
                   tidy(0.72 * size[1]));
    sh_text_put_markup(text, string);
    sh_text_puts(text, "</text></svg>\n");
}

void sh_svg_marker(struct sh_text *text,
                   const char *look,
                   enum sh_svg_shape shape,
                   const double at[2])
{
    static const char *const outlines[] = {
        [SH_SVG_DISC] = "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z",
        [SH_SVG_SQUARE] = "M-3.5 -3.5h7v7h-7z",
        [SH_SVG_TRIANGLE] = "M0 0l-5 -9h10z",
        [SH_SVG_DIAMOND] = "M0 -5l5 5l-5 5l-5 -5z",
    };
    bool is_hollow = shape == SH_SVG_SQUARE || shape == SH_SVG_DIAMOND;
    sh_text_printf(text,
                   "<svg class=\"free\" x=\"%.10g%%\" y=\"%.10g\"><path class=\"%s %s\" "
                   "d=\"%s\"/></svg>\n",
                   to_percent(at[0]), tidy(at[1]), look, is_hollow ? "hollow" : "filled",
                   outlines[shape]);
}

void sh_svg_curve(struct sh_text *text,
                  const char *look,
                  const double box[4],
                  const double *x,
                  const double *y,
                  size_t n)
{
    bool is_begun = false;
    sh_text_puts(text, "<svg");
    put_place(text, &box[0], &box[2]);
    sh_text_printf(text,
                   " viewBox=\"0 0 %.10g %.10g\" preserveAspectRatio=\"none\"><path "
                   "class=\"%s\" d=\"",
                   CURVE_UNITS, CURVE_UNITS, look);
    for (size_t i = 0; i < n; i++) {
        bool is_point = isfinite(x[i]) && isfinite(y[i]);
        if (is_point) {
            sh_text_printf(text, "%s%.10g %.10g", is_begun ? "L" : "M",
                           tidy(CURVE_UNITS * x[i]), tidy(CURVE_UNITS * y[i]));
        }
        is_begun = is_point;
    }
    sh_text_puts(text, "\"/></svg>\n");
}
