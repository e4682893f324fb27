/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SCORE_WORDS_H
#define SH_REPORT_SCORE_WORDS_H

#include "base/text.h"
#include "series/consistency_study.h"

/*
 * Sentences about what goes with the score; nothing is appended where there is nothing to say.
 * Never more than the interval holds. Test of all: tests/report/test_score_words.c.
 */

/* One measure by itself: the rank correlation. */
void sh_score_words_put_link(const struct sh_consistency_study *study,
                             enum sh_consistency_measure measure,
                             struct sh_text *text);

/* One measure with the others held the same: odds of a higher score; decimals: of its SD. */
void sh_score_words_put_odds(const struct sh_consistency_study *study,
                             enum sh_consistency_measure measure,
                             int decimals,
                             struct sh_text *text);

/* What the odds rest on, or why there are none. */
void sh_score_words_put_basis(const struct sh_consistency_study *study, struct sh_text *text);

/* How weak such links are, and how many arrows it takes to see them. */
void sh_score_words_put_caution(const struct sh_consistency_study *study, struct sh_text *text);

#endif
