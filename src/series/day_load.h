/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_DAY_LOAD_H
#define SH_SERIES_DAY_LOAD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "series/load_sum.h"

/*
 * What the fingers carried on each day: draws, impulse, largest force, draws above a level.
 * Let-downs count. Test of all: tests/series/test_day_load.c.
 */

#define SH_DAY_LOAD_FINGERS  3u     /* index, middle, ring */
#define SH_DAY_LOAD_DAYS_MAX 40000u /* a list of over a hundred years is refused */

enum sh_day_load_kind {
    SH_DAY_LOAD_UNKNOWN,    /* nobody has said anything of it */
    SH_DAY_LOAD_REST,       /* a person has said that nothing was shot */
    SH_DAY_LOAD_UNMEASURED, /* draws of which some have no force: added by hand, say */
    SH_DAY_LOAD_MEASURED    /* recorded, with the fingers' forces */
};

/* One draw as a day takes it. */
struct sh_day_load_draw {
    bool is_let_down;
    struct sh_quantity impulse_n_s[SH_DAY_LOAD_FINGERS];
    struct sh_quantity peak_n[SH_DAY_LOAD_FINGERS];
};

/* One day, or several taken together (a week). */
struct sh_day_load {
    size_t n_days_of[SH_DAY_LOAD_MEASURED + 1]; /* by kind; of one day one of them is 1 */
    size_t n_recordings;
    size_t n_unread; /* recordings that could not be read: the day's sums are unknown */
    size_t n_draws;  /* all; let-downs and those added by hand too */
    size_t n_let_downs;
    size_t n_added;         /* by hand */
    double added_weight_n;  /* largest draw weight said of those, 0: none said */
    size_t n_without_force; /* recorded without any finger's force */
    struct sh_load_sum impulse_n_s[SH_DAY_LOAD_FINGERS];
    struct sh_load_sum
        sum_n_s; /* of the three fingers, each draw's where all three are known */
    struct sh_quantity
        peak_n[SH_DAY_LOAD_FINGERS];     /* largest that is known; unknown: none is */
    size_t n_peaks[SH_DAY_LOAD_FINGERS]; /* draws whose peak is known */
    size_t n_above[SH_DAY_LOAD_FINGERS]; /* of those, at or above the level */
};

/* Days from first_day on, one after the other. */
struct sh_day_load_list {
    int first_day;            /* base/day.h */
    struct sh_day_load *days; /* owned, [n_days] */
    size_t n_days;
    bool *is_rest; /* owned, [n_days]: said to be rest */
};

/* Names of the kinds: "unknown", "rest", "unmeasured", "measured". Static. */
const char *sh_day_load_kind_name(enum sh_day_load_kind kind);

/*
 * The days first_day to last_day, all unknown; to be closed. SH_ERR_ARGUMENT: last before
 * first; SH_ERR_FULL: over SH_DAY_LOAD_DAYS_MAX; SH_ERR_MEMORY.
 */
enum sh_status sh_day_load_list_open(int first_day, int last_day, struct sh_day_load_list *out);

/* Frees the days and zeroes the list. Takes a zeroed one. */
void sh_day_load_list_close(struct sh_day_load_list *list);

/* The day in the list; NULL where it lies outside. */
struct sh_day_load *sh_day_load_list_find(const struct sh_day_load_list *list, int day);

/* Says that a day was rest; nothing where it lies outside. What was drawn on it goes before. */
void sh_day_load_list_set_rest(struct sh_day_load_list *list, int day);

/* Adds a draw of a recording. level_n: what draws are counted above; 0 or below: nothing is. */
void sh_day_load_add_draw(struct sh_day_load *day,
                          const struct sh_day_load_draw *draw,
                          double level_n);

/* Adds draws that a person says were made. weight_n: the bow's, 0 where not said. */
void sh_day_load_add_by_hand(struct sh_day_load *day, size_t n_draws, double weight_n);

/* Notes a recording that was read, whose draws are added by themselves, or one that could not
 * be read. */
void sh_day_load_add_recording(struct sh_day_load *day, bool was_read);

/*
 * Settles the kind of each day, once all has been added:
 * - nothing drawn, nothing recorded: REST where it was said to be, else UNKNOWN;
 * - a draw without force (by hand, or no finger's channel), or a recording that could not be
 *   read: UNMEASURED;
 * - else MEASURED.
 */
void sh_day_load_list_settle(struct sh_day_load_list *list);

/* The kind of a single settled day. */
enum sh_day_load_kind sh_day_load_get_kind(const struct sh_day_load *day);

/*
 * What a day counts as in an average: measured days their figure, rest days 0 exactly, all
 * others unknown. impulse: of one finger, or (SH_DAY_LOAD_FINGERS) of all three. The number of
 * draws is known of unmeasured days too, unless a recording could not be read.
 */
struct sh_quantity sh_day_load_get_impulse_n_s(const struct sh_day_load *day, size_t finger);
struct sh_quantity sh_day_load_get_draws(const struct sh_day_load *day);

/*
 * A finger's share of the impulse of all three; unknown where a part of it is, and where
 * nothing was drawn. Uncertainty: the fingers' own sensors are taken as independent.
 */
struct sh_quantity sh_day_load_get_share(const struct sh_day_load *day, size_t finger);

/* Adds a settled day to a span of several (a week), all zero at first. */
void sh_day_load_add_day(struct sh_day_load *span, const struct sh_day_load *day);

#endif
