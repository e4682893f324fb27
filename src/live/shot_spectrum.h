/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SHOT_SPECTRUM_H
#define SH_LIVE_SHOT_SPECTRUM_H

#include <stdbool.h>

#include "base/text.h"
#include "finding/finding.h"
#include "recording/recording_reader.h"

/*
 * Spectra of one shot as the page draws them: of the hold's force, and of the bow's ringing.
 * Test of all: tests/live/test_shot_spectrum.c.
 */

#define SH_SHOT_SPECTRUM_POINTS  241u
#define SH_SHOT_SPECTRUM_HOLD_HZ 30.0
#define SH_SHOT_SPECTRUM_RING_HZ 480.0

/* A density at even frequencies from 0 on; n 0: there is none. */
struct sh_shot_spectrum {
    size_t n;
    double step_hz;
    double density[SH_SHOT_SPECTRUM_POINTS];
    double lo[SH_SHOT_SPECTRUM_POINTS]; /* 95 % limits; NaN where the law behind them fails */
    double hi[SH_SHOT_SPECTRUM_POINTS];
};

struct sh_shot_spectra {
    struct sh_shot_spectrum hold; /* N2/Hz, steps of 0.125 Hz */
    struct sh_shot_spectrum ring; /* (m/s2)2/Hz, steps of 2 Hz, the axes added */
};

/*
 * Works both out. The hold: tremor's window (full draw + 0.25 s to c - 0.05 s, at least 1 s),
 * 200 Hz, straight line removed, multitaper (NW 3, K 5), limits by the chi-square law of a
 * steady process. The ring: 0.5 s from 20 ms after the release, or from where the
 * shock no longer reaches the range (within 0.15 s), mean removed; what dies away is
 * not steady, so that it has no limits. A part that was lost, or reached the range, or for
 * which the sensor is too slow (under 75 Hz; under 500 Hz), has no spectrum. Statuses of
 * sh_shot_window_open; SH_ERR_MEMORY. Cost: 4 ms or so, reading the window most of it.
 */
enum sh_status sh_shot_spectrum_find(struct sh_recording_reader *reader,
                                     const struct sh_shot_record *record,
                                     enum sh_timebase_reading reading,
                                     struct sh_shot_spectra *out,
                                     struct sh_error *err);

/* Appends {"n", "series": [...]} (docs/live.md). Failures stay in text->status. */
void sh_shot_spectrum_write(unsigned n,
                            const struct sh_shot_spectra *spectra,
                            struct sh_text *text);

#endif
