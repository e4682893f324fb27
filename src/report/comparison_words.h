/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_WORDS_H
#define SH_REPORT_COMPARISON_WORDS_H

#include "base/text.h"
#include "report/comparison_sheet.h"

/*
 * A comparison in sentences: what has changed, how large, how sure; where nothing was found,
 * what could have been, and how many sessions would be needed. It never says what made two
 * sessions differ. Test of all: tests/report/test_comparison_words.c.
 */

/* Takes one sentence, borrowed. */
struct sh_comparison_words_sink {
    enum sh_status (*sentence)(void *context, const char *sentence);
    void *context;
};

/* Gives the sentences in order: how it was compared, then each figure's, then what the sensors
 * leave in doubt. SH_ERR_MEMORY, and the sink's statuses. */
enum sh_status sh_comparison_words_each_finding(const struct sh_comparison_sheet *sheet,
                                                const struct sh_comparison_words_sink *sink);

/* True where any finger's share stands on both sides: the cautions of loads then belong to it.
 */
bool sh_comparison_words_has_fingers(const struct sh_comparison_sheet *sheet);

/* True where any figure could be compared: there are means and limits to show. */
bool sh_comparison_words_has_figures(const struct sh_comparison_sheet *sheet);

/* The same sentences, then the cautions where they belong to it. Statuses as above. */
enum sh_status sh_comparison_words_each(const struct sh_comparison_sheet *sheet,
                                        const struct sh_comparison_words_sink *sink);

#endif
