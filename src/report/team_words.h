/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TEAM_WORDS_H
#define SH_REPORT_TEAM_WORDS_H

#include "base/text.h"
#include "report/team_sheet.h"

/* Takes a sentence for people; anything but SH_OK ends the walk and comes back. */
struct sh_team_words_sink {
    enum sh_status (*take)(void *context, const char *sentence);
    void *context;
};

/*
 * Hands over what a sheet says as sentences, the same for every way of writing it down: the
 * chance for each size of turn, the order that keeps most time and how sure that is, each
 * archer's times, what they rest on and what is not known. SH_ERR_MEMORY; statuses of the sink.
 * Any thread. Test of all: tests/report/test_team_sheet.c.
 */
enum sh_status sh_team_words_each(const struct sh_team_sheet *sheet,
                                  const struct sh_team_words_sink *sink);

/* Appends "97 of 100 ends (94 to 99)"; "over 99" and "under 1" where 100 and 0 would stand. */
void sh_team_words_put_chance(struct sh_text *text, const struct sh_team_chance_figure *chance);

/* Appends "14.2 s (11.0 to 17.1)"; of an interval that does not show, the value alone. */
void sh_team_words_put_time(struct sh_text *text, const struct sh_team_chance_figure *time_s);

/* Appends the archers of an order: "wren, rook, heron". */
void sh_team_words_put_order(struct sh_text *text,
                             const struct sh_team_sheet *sheet,
                             const struct sh_team_plan_order *order);

#endif
