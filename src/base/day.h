/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_DAY_H
#define SH_BASE_DAY_H

#include <stdbool.h>

/*
 * Days of the Gregorian calendar as whole numbers, 0 being 1970-01-01, so that they can be
 * counted. Years 1 to 9999. Any thread. Test of all: tests/base/test_day.c.
 */

#define SH_DAY_BYTES 11u /* "2026-05-14" */
#define SH_DAY_WEEK  7

/* The day of "2026-05-14"; false, *day untouched, where it is no day of the calendar. */
bool sh_day_parse(const char *text, int *day);

/*
 * The day on which an instant "2026-05-14T23:30:00.000Z" falls where clocks are offset_min
 * ahead of UTC (0 to 23:59 and a day are understood). False where it begins with no instant.
 */
bool sh_day_parse_instant(const char *text, int offset_min, int *day);

/* Writes a day as "2026-05-14"; "" where it lies outside the years 1 to 9999. */
void sh_day_format(int day, char text[SH_DAY_BYTES]);

/* The Monday on or before a day. */
int sh_day_get_monday(int day);

#endif
