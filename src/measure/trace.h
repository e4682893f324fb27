/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_TRACE_H
#define SH_MEASURE_TRACE_H

#include <stddef.h>

#include "base/quantity.h"
#include "measure/workspace.h"
#include "shot/shot.h"

/*
 * What is drawn of one shot, of bounded size: the whole shot, the force around click and
 * release, the spectrum of the tremor. Times are relative to `zero`: the release, else the
 * let-down, else the end, else the draw start.
 */

#define SH_TRACE_WHOLE_MAX    512u
#define SH_TRACE_CLOSE_MAX    400u
#define SH_TRACE_SPECTRUM_MAX 128u

#define SH_TRACE_BEFORE_S       0.5 /* the whole shot begins so long before the draw start */
#define SH_TRACE_AFTER_S        0.5 /* and ends so long after zero */
#define SH_TRACE_CLOSE_BEFORE_S 1.5
#define SH_TRACE_CLOSE_AFTER_S  0.3
#define SH_TRACE_SPECTRUM_HZ    25.0

struct sh_trace {
    enum sh_event zero; /* SH_EVENT_COUNT: no event is known; all is empty */
    struct sh_quantity event_s[SH_EVENT_COUNT]; /* relative to zero, unknown as in the shot */

    /* Least and largest net force of each piece of time, at its middle. */
    size_t n_whole;
    double whole_s[SH_TRACE_WHOLE_MAX];
    double whole_low_n[SH_TRACE_WHOLE_MAX];
    double whole_high_n[SH_TRACE_WHOLE_MAX];

    /* Mean net force of each piece, at the mean time of its samples; only with a release. */
    size_t n_close;
    double close_s[SH_TRACE_CLOSE_MAX];
    double close_n[SH_TRACE_CLOSE_MAX];

    /* Density of the tremor of the force over tremor_rms's window, mean of each piece. */
    size_t n_spectrum;
    double spectrum_hz[SH_TRACE_SPECTRUM_MAX];
    double spectrum_n2_per_hz[SH_TRACE_SPECTRUM_MAX];
};

/*
 * Fills *out. The time (0 to 25 Hz) is cut into the most pieces there may be; one without a
 * sample (a slow sensor, or none but lost ones) has no point, so that a gap stays one. Samples
 * that reached the range are drawn. Without force there is nothing but the events.
 * SH_ERR_ARGUMENT, *out untouched: the view's streams are not those of the workspace.
 * Touches no heap. Cost: O(samples), one spectrum. One thread a workspace.
 * Test: tests/measure/test_trace.c.
 */
enum sh_status sh_trace_make(struct sh_workspace *workspace,
                             const struct sh_shot *shot,
                             const struct sh_shot_view *view,
                             struct sh_trace *out);

#endif
