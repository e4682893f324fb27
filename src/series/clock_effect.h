/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_CLOCK_EFFECT_H
#define SH_SERIES_CLOCK_EFFECT_H

#include "series/consistency_set.h"

/*
 * Whether a measure differs under the clock, between the first arrow of an end and its last,
 * and over a session. What counts as one observation is an end. Test of all:
 * tests/series/test_clock_effect.c.
 */

/* A difference would be seen with this chance where it is as large as .visible. */
#define SH_CLOCK_EFFECT_POWER 0.8

/* Which arrows of the ends are compared; 1 to 0: all. */
struct sh_clock_effect_arrows {
    unsigned first;
    unsigned last;
};

enum sh_clock_effect_why {
    SH_CLOCK_EFFECT_KNOWN,
    SH_CLOCK_EFFECT_NO_PAIR,  /* no recording holds both kinds of ends with the same arrows */
    SH_CLOCK_EFFECT_FEW,      /* too few ends */
    SH_CLOCK_EFFECT_CONFUSED, /* the ends' order tells the kinds apart: nothing can be said */
    SH_CLOCK_EFFECT_STILL     /* nothing scatters */
};

struct sh_clock_effect {
    enum sh_clock_effect_why why; /* all below is only there where it is KNOWN */
    size_t n_free;                /* ends without a clock, or ends compared within themselves */
    size_t n_clocked;             /* ends under one */
    size_t n_recordings;
    unsigned first_number; /* the least and the greatest number of an arrow compared */
    unsigned last_number;
    double mean;       /* of all values compared, in the measure's unit */
    double difference; /* clocked less free; last less first */
    double u;
    double lo; /* 95 % */
    double hi;
    size_t freedom;
    double p;         /* of a difference as large by chance, this one looked at alone */
    double p_of_all;  /* the same adjusted for all measures looked at: p until it is set */
    double inflation; /* how much the order of the ends widens u^2 */
    double visible; /* the smallest seen with SH_CLOCK_EFFECT_POWER, all measures allowed for */
    double n_needed; /* ends in all, mixed alike, to see a tenth of the mean so */
};

/*
 * Clocked less free ends of one measure. Only arrows whose number in the end comes in both
 * kinds count, each about the mean of its number's two means, so that fatigue within an end is
 * not taken for the clock. The ends' means are then regressed on the clock and on the order of
 * the end in its recording, each recording about its own mean: drift over a session, and
 * differences between days, are not taken for the clock either. The order's effect is taken as
 * a straight line. Limits by Student's law. SH_ERR_MEMORY. Cost: O(rows x numbers).
 */
enum sh_status sh_clock_effect_get(const struct sh_consistency_set *set,
                                   enum sh_consistency_measure measure,
                                   const struct sh_clock_effect_arrows *arrows,
                                   struct sh_clock_effect *effect);

/*
 * The last arrow of an end less its first (number 1), of ends with two arrows or more that show
 * the measure: mean of the ends' differences, limits by Student's law. SH_ERR_MEMORY.
 */
enum sh_status sh_clock_effect_get_last_less_first(const struct sh_consistency_set *set,
                                                   enum sh_consistency_measure measure,
                                                   struct sh_clock_effect *effect);

/*
 * Change from arrow to arrow over a session: the ends' means regressed on the mean place of
 * their arrows in the recording, each recording about its own means; difference in the
 * measure's unit an arrow, limits by Student's law. n_needed is not set. SH_ERR_MEMORY.
 */
enum sh_status sh_clock_effect_get_per_arrow(const struct sh_consistency_set *set,
                                             enum sh_consistency_measure measure,
                                             struct sh_clock_effect *effect);

/* Sets p_of_all of n effects by Holm 1979; those that are not known do not count. */
enum sh_status sh_clock_effect_adjust(struct sh_clock_effect *effects, size_t n);

/* Whether there is a difference: beyond its interval, and for all measures together. */
bool sh_clock_effect_is_seen(const struct sh_clock_effect *effect);

#endif
