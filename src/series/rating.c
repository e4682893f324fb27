/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/rating.h"

#include <string.h>

static const char *const names[] = {"before", "during", "after"};

const char *sh_rating_when_name(enum sh_rating_when when)
{
    return names[when];
}

bool sh_rating_when_find(const char *name, enum sh_rating_when *out)
{
    for (int i = 0; i <= SH_RATING_AFTER; i++) {
        if (strcmp(names[i], name) == 0) {
            *out = (enum sh_rating_when)i;
            return true;
        }
    }
    return false;
}

static bool is_after(const struct sh_rating *a, const struct sh_rating *b)
{
    return a->day > b->day || (a->day == b->day && a->when > b->when);
}

void sh_rating_sort(struct sh_rating *ratings, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        const struct sh_rating moved = ratings[i];
        size_t at = i;
        while (at > 0 && is_after(&ratings[at - 1], &moved)) {
            ratings[at] = ratings[at - 1];
            at--;
        }
        ratings[at] = moved;
    }
}

bool sh_rating_is_rise(const struct sh_rating *ratings, size_t i)
{
    return i > 0 && ratings[i].rating > ratings[i - 1].rating;
}

const char *sh_rating_get_stop_caution(void)
{
    return "Pain while shooting: stop. This program cannot judge it; pain and the return to "
           "shooting belong to licensed practice.";
}

const char *sh_rating_get_ask_caution(void)
{
    return "The rating has risen: ask your specialist before going on, and before any planned "
           "step up.";
}
