/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_BEFORE_AFTER_H
#define SH_SERIES_BEFORE_AFTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Have figures changed between two ways of shooting, two tabs say? Arrows of one day are alike,
 * so that a day's arrows are one observation of that day: what is compared are sessions, or
 * ends of both sides that took turns within one session. Arrows are never counted as if each
 * were a day of its own. Tests of all: tests/series/test_before_after.c, and against SciPy the
 * family "shifts" of tests/reference.
 */

/* Where an arrow belongs. Arrows come session by session and end by end, in order of time. */
struct sh_before_after_arrow {
    size_t session;
    size_t end; /* ends of all sessions counted on: the same number, the same end */
    bool is_second;
};

/* What an observation is. */
enum sh_before_after_way {
    SH_BEFORE_AFTER_SESSIONS, /* sessions of either side, two or more of one of them */
    SH_BEFORE_AFTER_ENDS,     /* ends of both sides that took turns within sessions */
    /* one session a side, its ends compared: what made the two differ cannot be told */
    SH_BEFORE_AFTER_TWO_SESSIONS
};

enum sh_before_after_why {
    SH_BEFORE_AFTER_KNOWN,
    SH_BEFORE_AFTER_NO_VALUES, /* a side has none */
    SH_BEFORE_AFTER_FEW,       /* nothing scatters yet: one observation a side */
    SH_BEFORE_AFTER_IN_ORDER,  /* within sessions one side came after the other: no turns */
    SH_BEFORE_AFTER_STILL      /* all observations are alike */
};

struct sh_before_after_config {
    const struct sh_before_after_arrow *arrows; /* [n]; borrowed */
    const double *values;                       /* [n][n_figures]; NaN: not known; borrowed */
    size_t n;
    size_t n_figures;
    /*
     * [n_figures]: standard uncertainty of a shift that no number of sessions takes away, as of
     * calibrations that are not the same on both sides; the figure's unit. NULL: none.
     */
    const double *calibration_u;
    uint64_t seed; /* of drawn arrangements */
};

/* One figure. */
struct sh_before_after {
    enum sh_before_after_why why; /* of all that is below the counts */
    enum sh_before_after_way way;
    size_t n_arrows[2]; /* that show it */
    size_t n_observations[2];
    double mean[2];       /* of the observations */
    double shift;         /* second less first */
    double u;             /* standard, calibration in it */
    double calibration_u; /* as given */
    double lo;            /* 95 % */
    double hi;
    /* what a shift must go beyond: as the limits reach; where calibrations differ, so far that
     * with all figures allowed for 1 in 20 such comparisons goes beyond by chance */
    double reach_of_all;
    double freedom;
    double sd;       /* of observations of one side */
    double p;        /* permutation of observations, this figure looked at alone */
    double p_least;  /* the smallest these observations can give */
    double p_of_all; /* the same, all figures looked at allowed for */
    /* a shift of this size is seen in 8 of 10 such comparisons; 0: none, however large */
    double visible;
    /* what two single sessions differ by in 1 of 20 cases with nothing changed; SESSIONS only
     */
    double change_least;
    /* observations a side to see the shift so; 0: more than are counted, or no number would */
    double n_needed;
    bool is_hidden; /* no number would: the calibrations hide it */
};

#define SH_BEFORE_AFTER_LEVEL 0.05

/*
 * Compares all figures; fills figures[n_figures]. Sessions that hold one side only are compared
 * as sessions, each by the mean of its arrows: limits by Student's law with the SD of sessions
 * within sides, p by handing the sides out afresh among them (sh_permutation_test_kinds). Where
 * any session holds both sides, only such sessions are looked at: their ends, each by its mean
 * and about its session's level, the sides handed out afresh within sessions; in half of the
 * sessions at least the sides must have changed twice or more.
 *
 * p_of_all is that of the largest of all figures' t when the sides of whole observations are
 * handed out afresh for all figures at once, drawn (Westfall & Young 1993, Resampling-Based
 * Multiple Testing, single-step maxT): figures that go together cost less than by Holm's rule,
 * and few sessions can still show something.
 *
 * visible is how large a shift another such comparison sees with chance 0.8, n_needed how many
 * observations a side the shift found would need for that (series/shift_plan.h), by the rule of
 * sh_before_after_is_seen: at the level that the t has which as many arrangements go beyond in
 * any figure as make up 1 in 20, the one as shot counted.
 *
 * Where calibrations differ, their errors are alike in all observations of a side, so that no
 * handing out of sides shows them: a shift must go beyond the t of all figures and the normal
 * law's part for all figures that rest on one (Bonferroni), added by squares.
 * change_least is 1.96 sqrt(2) SD of sessions (Weir 2005, J Strength Cond Res 19:231, his
 * standard error of measurement taken between sessions).
 *
 * SH_ERR_MEMORY; SH_ERR_NOT_FINITE: an infinite value. Cost: up to 100,000 arrangements a
 * figure and 4,999 of all.
 */
enum sh_status sh_before_after_get(const struct sh_before_after_config *config,
                                   struct sh_before_after *figures);

/* A change that stands: p of all at the level or under it, and beyond reach_of_all. Of
 * TWO_SESSIONS: the two differ, whatever made them. */
bool sh_before_after_is_seen(const struct sh_before_after *figure);

/* No shift, however large, could be seen by these observations: p_least is above the level. */
bool sh_before_after_is_blind(const struct sh_before_after *figure);

/*
 * Half of the 95 % interval that the scatter of its observations leaves of a side's mean
 * (Student's law with the figure's freedom; calibration aside); of a known figure. 0 where
 * there is no freedom. Test: tests/series/test_before_after.c.
 */
double sh_before_after_find_mean_half(const struct sh_before_after *figure, size_t side);

/* Moved by more than chance, but by no more than the calibrations of the sides may be apart. */
bool sh_before_after_is_masked(const struct sh_before_after *figure);

#endif
