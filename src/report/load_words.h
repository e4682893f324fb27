/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_WORDS_H
#define SH_REPORT_LOAD_WORDS_H

#include "base/text.h"
#include "report/load_sheet.h"

/*
 * A sheet's entries in words for people, the same in the terminal and on the page. Every number
 * has its unit, every measured one its uncertainty (half of a 95 % interval). Each function
 * appends to text and leaves failures in its status; words of people are masked (report/utf8.h)
 * but not escaped for markup. Any thread. Test of all: tests/report/test_load_words.c.
 */

/* "1234 ±12 N s", "unknown", or "none" where it does not apply. factor: from SI to unit. */
void sh_load_words_put_quantity(struct sh_text *text,
                                const struct sh_quantity *quantity,
                                double factor,
                                const char *unit);

/* The same of a sum in N s; where it is unknown, what is known of it: "unknown (at least
 * 500 N s; why)". */
void sh_load_words_put_sum(struct sh_text *text,
                           const struct sh_quantity *quantity,
                           const struct sh_load_sum *sum);

/* "measured 2 d, rest 1 d, ": how many days of each kind a span has. */
void sh_load_words_put_kinds(struct sh_text *text, const struct sh_day_load *span);

/* "12 draws (2 let-downs)", "60 draws, 60 of them added by hand without a force" ... */
void sh_load_words_put_draws(struct sh_text *text, const struct sh_day_load *load);

/* "7-day average 500 ±5 N s, 28-day average 480 ±5 N s (over 5 days)"; "no average: ..." */
void sh_load_words_put_average(struct sh_text *text,
                               const struct sh_load_history_row *row,
                               enum sh_load_history_what what);

/* The average's ratio with its parts: "1.04 ±0.02 times the 28-day average"; "" where unknown.
 */
void sh_load_words_put_ratio(struct sh_text *text,
                             const struct sh_load_history_average *average);

/* "finger peak force of the ring finger, at most 45 N in each shot; set by ... on ..." */
void sh_load_words_put_limit(struct sh_text *text, const struct sh_load_sheet_limit *entry);

/*
 * What stands beside a day's loads: "pain during shooting: 2 of 10 points; limit reached:
 * no. 1; unknown whether reached: no. 2"; "" where nothing does.
 */
void sh_load_words_put_notes(struct sh_text *text, const struct sh_load_sheet *sheet, int day);

/* "reached on 2 of the days shown: 2026-05-04, 2026-05-08; unknown on 1 day"; that it was on
 * none. */
void sh_load_words_put_verdicts(struct sh_text *text,
                                const struct sh_load_sheet *sheet,
                                size_t number);

/* "2026-05-14 before shooting: 2 of 10 points", and that it rose. */
void sh_load_words_put_rating(struct sh_text *text, const struct sh_rating *ratings, size_t i);

/* "ring finger: calibrated 2026-05-01, standard uncertainty 1.2 % at 50 N; 3 recordings, ..."
 */
void sh_load_words_put_sensor(struct sh_text *text, const struct sh_load_sheet_sensor *sensor);

/* "index", "middle", "ring", "together". Static. */
const char *sh_load_words_get_finger(size_t finger);

/* Caution i, from 0 on; NULL behind the last. Static. */
const char *sh_load_words_get_caution(size_t i);

#endif
