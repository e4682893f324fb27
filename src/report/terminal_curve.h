/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_CURVE_H
#define SH_REPORT_TERMINAL_CURVE_H

#include <stdbool.h>
#include <stddef.h>

#include "shot/shot.h"

/*
 * What a channel shows over a stretch of time, as so many points that a terminal's plot misses
 * nothing: the stretch is cut into pieces, each with its least and its largest sample in the
 * order in which they came. Times are those of the recording. Any thread. Test of all:
 * tests/report/test_terminal_curve.c.
 */
#define SH_TERMINAL_CURVE_PIECES ((size_t)400)
#define SH_TERMINAL_CURVE_POINTS (3 * SH_TERMINAL_CURVE_PIECES)

struct sh_terminal_curve {
    size_t n;
    double x[SH_TERMINAL_CURVE_POINTS]; /* s, ascending */
    double y[SH_TERMINAL_CURVE_POINTS]; /* NaN between two pieces where samples were lost */
};

/*
 * Where samples come from: one array, or up to three whose root sum of squares is drawn (the
 * axes of an acceleration), each less its offset.
 */
struct sh_terminal_source {
    const struct sh_shot_stream *stream; /* NULL: no such channel */
    double delay_s;                      /* taken off the stream's times */
    size_t n_parts;
    const double *value[3]; /* [stream->n_frames] */
    double offset[3];
};

/* The net force of a view, one finger's force less its rest, the bow's acceleration. */
struct sh_terminal_source sh_terminal_source_get_force(const struct sh_shot_view *view);
struct sh_terminal_source sh_terminal_source_get_finger(const struct sh_shot_view *view,
                                                        enum sh_finger finger);

/* The first channel of a role, as it is. */
struct sh_terminal_source sh_terminal_source_get_channel(const struct sh_shot_view *view,
                                                         enum sh_role role);

/* Less the mean of each axis from from_s to until_s: gravity, while the bow is held. */
struct sh_terminal_source sh_terminal_source_get_acceleration(const struct sh_shot_view *view,
                                                              double from_s,
                                                              double until_s);

/*
 * Mean of a source of one array from from_s up to until_s, less its offset, lost samples left
 * out; false where none is there.
 */
bool sh_terminal_source_find_mean(const struct sh_terminal_source *source,
                                  double from_s,
                                  double until_s,
                                  double *mean);

/* Fills curve with what source shows from from_s to until_s; empty without a channel. */
void sh_terminal_curve_fill(struct sh_terminal_curve *curve,
                            const struct sh_terminal_source *source,
                            double from_s,
                            double until_s);

/*
 * Range of a curve from from_s to until_s; both untouched, false, where it has no point there.
 */
bool sh_terminal_curve_find_range(const struct sh_terminal_curve *curve,
                                  double from_s,
                                  double until_s,
                                  double range[2]);

/* Ends the curve at its first point after from_s that is out of range, which is put on its
 * edge: what follows would only press the rest together. */
void sh_terminal_curve_cut(struct sh_terminal_curve *curve,
                           double from_s,
                           const double range[2]);

#endif
