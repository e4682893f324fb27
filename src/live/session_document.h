/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SESSION_DOCUMENT_H
#define SH_LIVE_SESSION_DOCUMENT_H

#include "base/text.h"
#include "finding/analysis.h"
#include "live/shot_spectrum.h"

/*
 * A recording's arrows as a series (docs/live.md, SESSION). Any thread.
 * Test: tests/live/test_session_document.c.
 */

#define SH_SESSION_DOCUMENT_SPECTRUM_STRIDE 2u /* every so many points of a hold's spectrum */

/* What is told. Borrowed. */
struct sh_session_document {
    const struct sh_analysis *analysis;
    const struct sh_mark *marks; /* [n_marks] */
    size_t n_marks;
    const struct sh_shot_spectra *spectra; /* [analysis->n_shots], or NULL: none */
    bool has_band;                         /* the hold's goal */
    double band_lo_s;
    double band_hi_s;
};

/*
 * Appends the document. hold and setup: the arrows in which it is known (a set-up at the start
 * of an end only under a clock), their individuals chart on the logarithm
 * (signal/control_chart.h) with mean and limits turned back into seconds, and the arrows
 * outside; mean and limits null under 2 arrows. in_band: the band and the share of holds within
 * it, with its 95 % limits (Wilson 1927, J Am Stat Assoc 22:209). SH_ERR_MEMORY, SH_ERR_FULL,
 * as in text->status. Cost: O(arrows x marks).
 */
enum sh_status sh_session_document_write(const struct sh_session_document *document,
                                         struct sh_text *text);

#endif
