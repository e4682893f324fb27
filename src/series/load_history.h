/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_LOAD_HISTORY_H
#define SH_SERIES_LOAD_HISTORY_H

#include "series/day_load.h"
#include "series/load_average.h"

/*
 * The days of an athlete with their running averages. Test of all:
 * tests/series/test_load_history.c.
 */

/* What is averaged: the fingers' impulses, that of all three, the draws. */
enum sh_load_history_what {
    SH_LOAD_HISTORY_INDEX,
    SH_LOAD_HISTORY_MIDDLE,
    SH_LOAD_HISTORY_RING,
    SH_LOAD_HISTORY_ALL,
    SH_LOAD_HISTORY_DRAWS,
    SH_LOAD_HISTORY_WHATS
};

/* The averages with the short and the long constant after one day. */
struct sh_load_history_average {
    struct sh_quantity value[2]; /* short, long */
    size_t n_days;               /* it rests on, since it began; both the same */
    /* Short over long; unknown before SH_LOAD_AVERAGE_LONG_DAYS days, when the first day would
     * weigh in it as much as all others. */
    struct sh_quantity ratio;
};

struct sh_load_history_row {
    int day;
    const struct sh_day_load *load; /* of the list */
    struct sh_quantity amount[SH_LOAD_HISTORY_WHATS];
    struct sh_load_history_average average[SH_LOAD_HISTORY_WHATS];
};

struct sh_load_history {
    struct sh_load_history_row *rows; /* owned, one a day of the list */
    size_t n_rows;
};

/* Works out all rows of a settled list, which is kept. SH_ERR_MEMORY. To be closed. */
enum sh_status sh_load_history_open(const struct sh_day_load_list *list,
                                    struct sh_load_history *out);

/* Frees the rows and zeroes the history. Takes a zeroed one. */
void sh_load_history_close(struct sh_load_history *history);

#endif
