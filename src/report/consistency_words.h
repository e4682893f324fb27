/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CONSISTENCY_WORDS_H
#define SH_REPORT_CONSISTENCY_WORDS_H

#include "report/consistency_sheet.h"

/* Takes a sentence for people; anything but SH_OK ends the walk and comes back. */
struct sh_consistency_words_sink {
    enum sh_status (*take)(void *context, const char *sentence);
    void *context;
};

/*
 * Hands over what a study says as sentences, the same for every way of writing it down. A
 * difference is only claimed where sh_clock_effect_is_seen; else it is said what would have
 * been seen. SH_ERR_MEMORY; statuses of the sink. Any thread. Test:
 * tests/report/test_consistency_sheet.c.
 */
enum sh_status sh_consistency_words_each(const struct sh_consistency_sheet *sheet,
                                         const struct sh_consistency_words_sink *sink);

/* Decimals that people are shown of a measure. */
int sh_consistency_words_get_decimals(enum sh_consistency_measure measure);

#endif
