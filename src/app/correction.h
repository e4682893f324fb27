/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CORRECTION_H
#define SH_APP_CORRECTION_H

#include <stdbool.h>
#include <stddef.h>

#include "finding/analysis.h"
#include "recording/session.h"
#include "shot/shot.h"

/*
 * A person's word against the program's: marks of kind `correction` that overrule an event of a
 * draw (docs/recording-format.md). They are put in between the events and the measures, in
 * every pass, so that all that follows from an event follows from the corrected one.
 *
 * A correction belongs to the draw around its value (of a null: around its mark's time); to the
 * draw around its mark's time where there is none; else to the draw with its number. A draw
 * reaches SH_CORRECTION_BEFORE_S before its first event to SH_CORRECTION_AFTER_S after its
 * last. Of several corrections of one event the last counts. One that would put the draw's
 * events out of order, or outside that reach, is refused.
 *
 * Its standard uncertainty is the mark's value_u_s; without it that of a reading to
 * SH_CORRECTION_HALF_S either way, evenly likely (JCGM 100:2008, 4.3.7): a dot and a little of
 * the plot that `inspect` draws around the click.
 *
 * One thread at a time per object. Test of all: tests/app/test_correction.c.
 */

#define SH_CORRECTION_BEFORE_S SH_SHOT_LEAD_S
#define SH_CORRECTION_AFTER_S  SH_SHOT_TAIL_S
#define SH_CORRECTION_HALF_S   0.01

enum sh_correction_state {
    SH_CORRECTION_LOST,      /* no draw has been found for it so far */
    SH_CORRECTION_REFUSED,   /* its draw's events would be out of order */
    SH_CORRECTION_OVERRULED, /* a later one counts */
    SH_CORRECTION_USED
};

struct sh_correction {
    size_t mark;                /* its index among the marks */
    enum sh_event event;        /* SH_EVENT_COUNT: there is no event of that name */
    struct sh_quantity value_s; /* unknown (SH_WHY_CORRECTED): it was not there */
    double mark_s;              /* the mark's own time */
    double time_s;              /* its draw is the one around here */
    unsigned number;            /* of the draw as the mark says; 0: not said */
    enum sh_correction_state state;
    unsigned n; /* of the draw it was found to belong to, or 0 */
};

/* All zero: none. */
struct sh_corrections {
    struct sh_correction *list; /* owned, in the marks' order */
    size_t n;
};

/* Takes the corrections out of marks[n_marks]; *out is to be closed. SH_ERR_MEMORY. */
enum sh_status
sh_corrections_open(const struct sh_mark *marks, size_t n_marks, struct sh_corrections *out);

/* Frees what it owns and zeroes it. */
void sh_corrections_close(struct sh_corrections *corrections);

/* Makes a correction of a mark; the mark's kind is SH_MARK_CORRECTION. */
struct sh_correction sh_correction_make(const struct sh_mark *mark, size_t index);

/*
 * Index of the last of marks[n_marks] that corrects an event of a shot: near it, or with its
 * number; n_marks where none does. Cost: O(marks).
 */
size_t sh_correction_find_last(const struct sh_mark *marks,
                               size_t n_marks,
                               const struct sh_shot *shot,
                               enum sh_event event);

/* The event of a key ("clicker_s") or stem ("clicker", "full-draw"); SH_EVENT_COUNT: none. */
enum sh_event sh_correction_find_event(const char *name);

/* A pass begins: no correction has found its draw yet. */
void sh_corrections_begin(struct sh_corrections *corrections);

/*
 * Puts the corrections that belong to a shot, as it was found, into it: events, is_corrected,
 * and what hangs on them. A release makes it a shot, a let-down a let-down, each in place of
 * the other. A clicker has no sensor then; one that was not there is no evidence of a strip
 * that fell. Cost: O(corrections).
 */
void sh_corrections_apply(struct sh_corrections *corrections, struct sh_shot *shot);

/*
 * After a pass over the whole recording: those that found no draw by their first time are given
 * one by their mark's time or their number, for the passes to come. Cost: O(corrections x
 * shots).
 */
void sh_corrections_settle(struct sh_corrections *corrections,
                           const struct sh_analysis *analysis);

/*
 * What a person should know after a pass: the first correction that was not used, as an error
 * that names recording and mark. False where all were used or overruled.
 */
bool sh_corrections_find_unused(const struct sh_corrections *corrections,
                                const char *recording,
                                struct sh_error *err);

/* Whether a time lies within the reach of a draw. */
bool sh_correction_is_near(const struct sh_shot *shot, double time_s);

#endif
