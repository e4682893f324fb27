/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SVG_H
#define SH_REPORT_SVG_H

#include <stddef.h>

#include "base/text.h"

/*
 * Drawings inside a page that follow the page's width: x is a share of the width (0 left, 1
 * right), y is in CSS pixels from the top. Text keeps its size whatever the width, and real
 * text it is. Looks come from classes of the page's style sheet. Each function appends to a
 * text and leaves failures in its status; nothing here fails otherwise. Coordinates are finite.
 * Any thread. Test of all: tests/report/test_svg.c.
 */

enum sh_svg_anchor { SH_SVG_START, SH_SVG_MIDDLE, SH_SVG_END };

/* Shapes that can be told apart without colour. */
enum sh_svg_shape {
    SH_SVG_DISC,
    SH_SVG_SQUARE,   /* hollow */
    SH_SVG_TRIANGLE, /* filled, its point down to the place */
    SH_SVG_DIAMOND   /* hollow */
};

/* Begins a drawing; title is what a screen reader says of it. */
void sh_svg_open(struct sh_text *text, double height_px, const char *title);
void sh_svg_close(struct sh_text *text);

/* A line from one point to another. */
void sh_svg_line(struct sh_text *text,
                 const char *look,
                 const double from[2],
                 const double to[2]);

/* A box with its upper left corner and its size (share, pixels). */
void sh_svg_box(struct sh_text *text,
                const char *look,
                const double corner[2],
                const double size[2]);

/* A text whose anchor is at a point; y is its base line. */
void sh_svg_label(struct sh_text *text,
                  const char *look,
                  const double at[2],
                  enum sh_svg_anchor anchor,
                  const char *string);

/* A text at the left inside a box that cuts off what does not fit. */
void sh_svg_label_inside(struct sh_text *text,
                         const char *look,
                         const double corner[2],
                         const double size[2],
                         const char *string);

void sh_svg_marker(struct sh_text *text,
                   const char *look,
                   enum sh_svg_shape shape,
                   const double at[2]);

/*
 * A curve through n points of a box (left, top, width, height; shares and pixels): x[i] and
 * y[i] are shares of the box (0 left and top, 1 right and bottom). Points outside are cut off;
 * a pair that is not finite breaks the curve.
 */
void sh_svg_curve(struct sh_text *text,
                  const char *look,
                  const double box[4],
                  const double *x,
                  const double *y,
                  size_t n);

#endif
