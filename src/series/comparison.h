/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_COMPARISON_H
#define SH_SERIES_COMPARISON_H

#include "finding/analysis.h"
#include "recording/session.h"
#include "series/before_after.h"

/*
 * What is compared between two sides: all shots of their recordings, measure by measure.
 * Test of all: tests/loop/test_compare.c.
 */

/* One measure, or one finger's part of one. */
struct sh_comparison_kind {
    const char *title;  /* "ring share" */
    const char *symbol; /* unit that people see */
    double factor;      /* SI to that */
    int n_decimals;     /* in that */
    enum sh_measure measure;
    size_t part;
    bool is_calibrated; /* rests on a force calibration, as a level does */
};

#define SH_COMPARISON_KINDS 15u

/* Kind i, in the order in which people are shown them; static. */
const struct sh_comparison_kind *sh_comparison_get_kind(size_t i);

/* A figure or shift in the unit that people see, rounded to the decimals they see, never -0. */
double sh_comparison_round(const struct sh_comparison_kind *kind, double value);

/* One shot. */
struct sh_comparison_arrow {
    size_t session;
    size_t end; /* of all recordings counted on */
    bool is_second;
    bool is_known[SH_COMPARISON_KINDS];
    double value[SH_COMPARISON_KINDS];
    double u[SH_COMPARISON_KINDS]; /* standard, as stated */
};

/* All shots, in order of time. All zero: none. */
struct sh_comparison_set {
    struct sh_comparison_arrow *arrows; /* owned, [n] */
    size_t n;
    size_t capacity;
    size_t n_ends;
    size_t n_sessions[2]; /* that hold the side */
    size_t last_session[2];
    size_t n_recordings[2];
};

/*
 * Appends the shots of a recording, which belongs to a session (numbered by the caller, in
 * order of time) and a side. SH_ERR_MEMORY: the set is as it was.
 */
enum sh_status sh_comparison_set_add(struct sh_comparison_set *set,
                                     const struct sh_analysis *analysis,
                                     const struct sh_session *recording,
                                     size_t session,
                                     bool is_second);

/* Frees what it owns and zeroes it. Takes a zeroed set. */
void sh_comparison_set_close(struct sh_comparison_set *set);

/* "sessions", "ends" or "two-sessions", as data name them. Static. */
const char *sh_comparison_get_way_name(enum sh_before_after_way way);

struct sh_comparison {
    struct sh_before_after figure[SH_COMPARISON_KINDS];
    bool has_other_calibration; /* taken into the figures that rest on one */
};

/*
 * Compares all of them. Where the force channels of the two sides are not
 * calibrated alike, what the calibrations are uncertain by counts once for either side: the
 * root mean square of the stated uncertainties, which calibration makes up all but alone.
 * SH_ERR_MEMORY, SH_ERR_NOT_FINITE.
 */
enum sh_status sh_comparison_get(const struct sh_comparison_set *set,
                                 bool has_other_calibration,
                                 uint64_t seed,
                                 struct sh_comparison *out);

#endif
