/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_ARROW_H
#define SH_SERIES_ARROW_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "finding/analysis.h"
#include "recording/mark.h"

/*
 * Which arrow of which end each draw of a recording was, whether the clock ran, and what it
 * scored: from the marks, by the definition of an end in docs/definitions.md.
 */

/* Draws further apart than this, with neither clock nor end marks, are of two ends. */
#define SH_ARROW_END_GAP_S 90.0

struct sh_arrow {
    unsigned end;    /* from 1, in order of time */
    unsigned number; /* of the arrow in its end, from 1; 0: the draw let no arrow go */
    bool is_clocked; /* a clock ran at its draw start, or its release where that is unknown */
    bool has_score;
    double score;
};

/*
 * Fills arrows [analysis->n_shots]. Two draws in a row are of two ends where a clock was
 * started between them (clocks for one arrow each, of alternating shooting, do not count), or
 * where one is under a clock and the other is not; where no clock runs, where an "end" mark
 * lies between them; and in a recording without end marks, where the second began
 * SH_ARROW_END_GAP_S or more after the first was over. A score belongs to the last arrow
 * released before its mark, else to the shot it names; the later mark of two counts. An end's
 * list of scores, whose order may not be known, gives no arrow a score. Unresolved draws have
 * no number. Cost: O(shots x marks). Any thread. Test: tests/series/test_arrow.c.
 */
void sh_arrow_find_all(const struct sh_analysis *analysis,
                       const struct sh_mark *marks,
                       size_t n_marks,
                       struct sh_arrow *arrows);

/* Puts the scores, as above, into the records of analysis; those that were there go. */
void sh_arrow_put_scores(struct sh_analysis *analysis,
                         const struct sh_mark *marks,
                         size_t n_marks);

#endif
