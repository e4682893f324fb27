/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_TRACE_EVIDENCE_H
#define SH_LIVE_TRACE_EVIDENCE_H

#include <stdbool.h>

#include "finding/finding.h"
#include "shot/shot.h"

/*
 * Where in a shot's curves a finding's figure comes from, so that it can be pointed at: the
 * windows are those of the measures (docs/definitions.md). Test:
 * tests/live/test_trace_document.c.
 */

/* Two points of a curve, on the recording's clock. */
struct sh_trace_evidence {
    double from_s;
    double until_s;
    double from_value;
    double until_value;
    bool is_share; /* of the ring finger, 1; else the net force, N */
};

/*
 * Finds the evidence of a creep, flinch, collapse or finger slide; false where the code has
 * none, or the view does not hold it. SH_ERR_MEMORY counts as none. Cost: O(samples).
 */
bool sh_trace_evidence_find(enum sh_code code,
                            const struct sh_shot_record *record,
                            const struct sh_shot_view *view,
                            struct sh_trace_evidence *out);

/*
 * The straight line of the net force over the second before the click (or the release, where no
 * clicker was seen): the slope is creep_rate_n_per_s, the height the median of what it leaves.
 * False where the slope is unknown or the view does not hold that second.
 */
bool sh_trace_evidence_find_trend(const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_trace_evidence *out);

#endif
