/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_RATING_H
#define SH_SERIES_RATING_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Ratings of pain on the numeric rating scale, 0 (none) to 10 (worst imaginable), before,
 * during and after shooting. The program keeps and shows them; what they mean belongs to
 * licensed practice. Any thread. Test of all: tests/series/test_rating.c.
 */

#define SH_RATING_MAX 10.0

enum sh_rating_when { SH_RATING_BEFORE, SH_RATING_DURING, SH_RATING_AFTER };

struct sh_rating {
    int day; /* base/day.h */
    enum sh_rating_when when;
    double rating;
};

/* "before", "during", "after". Static; the other way false, *out untouched, for other words. */
const char *sh_rating_when_name(enum sh_rating_when when);
bool sh_rating_when_find(const char *name, enum sh_rating_when *out);

/* Puts ratings in the order in which they were given: by day, then before, during, after;
 * equal ones stay in their order. Cost: O(n^2) at worst, O(n) where they are in order. */
void sh_rating_sort(struct sh_rating *ratings, size_t n);

/* True where rating i of a sorted list is above the one given before it. */
bool sh_rating_is_rise(const struct sh_rating *ratings, size_t i);

/* The cautions, in words for people: at any rating above 0 while shooting; at a rising one.
 * Static. */
const char *sh_rating_get_stop_caution(void);
const char *sh_rating_get_ask_caution(void);

#endif
