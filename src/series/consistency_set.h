/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_CONSISTENCY_SET_H
#define SH_SERIES_CONSISTENCY_SET_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "finding/analysis.h"
#include "recording/mark.h"
#include "series/arrow.h"

/*
 * The draws of one athlete, recording after recording, with what consistency is judged by.
 * Test of all: tests/series/test_consistency_set.c.
 */

/* What is looked at, in the order in which people are shown it. */
enum sh_consistency_measure {
    SH_CONSISTENCY_HOLD,
    SH_CONSISTENCY_SETUP,
    SH_CONSISTENCY_REACTION,
    SH_CONSISTENCY_CREEP,
    SH_CONSISTENCY_TREMOR,
    SH_CONSISTENCY_MEASURES
};

/* One of them; static. */
struct sh_consistency_kind {
    const char *title;  /* "hold" */
    const char *symbol; /* "s" */
    enum sh_measure measure;
    bool is_log; /* charted as its logarithm: above 0 and skewed */
};

/* A draw of a recording, as an analysis or the index of all recordings has it. */
struct sh_consistency_draw {
    unsigned n;
    enum sh_shot_kind kind;
    struct sh_arrow arrow;
    struct sh_quantity full_draw_s;
    struct sh_quantity let_down_s;
    struct sh_quantity time_left_draw_s;
    struct sh_quantity time_left_release_s;
    struct sh_quantity value[SH_CONSISTENCY_MEASURES];
};

struct sh_consistency_row {
    size_t recording; /* from 0 */
    size_t end;       /* from 0, through all recordings */
    size_t end_order; /* from 1, of the recording's ends */
    unsigned n;       /* the draw's number in its recording */
    unsigned number;  /* the arrow's number in its end, from 1; 0 of a let-down */
    unsigned place;   /* the arrow's number in its recording, from 1; 0 of a let-down */
    bool is_let_down; /* value[SH_CONSISTENCY_HOLD] reaches to the let-down */
    bool is_clocked;  /* a clock ran at the draw start */
    bool is_overrun;  /* released after the clock had run out */
    bool has_score;
    double score;
    struct sh_quantity time_left_s; /* on the clock at the draw start */
    struct sh_quantity value[SH_CONSISTENCY_MEASURES];
};

struct sh_consistency_set {
    struct sh_consistency_row *rows; /* owned, in order of time */
    size_t n_rows;
    size_t n_recordings;
    size_t n_ends;
    size_t n_shots;
    size_t n_let_downs;
    size_t n_unresolved; /* draws of neither kind: left out */
    size_t n_overruns;
};

/* What a measure is; NULL where there is no such one. */
const struct sh_consistency_kind *
sh_consistency_set_get_kind(enum sh_consistency_measure measure);

/*
 * Appends a recording's draws; recordings come in order of time. The set-up of an end's first
 * arrow is left unknown without a clock: the pause between ends is no set-up. SH_ERR_MEMORY:
 * the set is as it was. Cost: O(draws x marks).
 */
enum sh_status sh_consistency_set_add(struct sh_consistency_set *set,
                                      const struct sh_analysis *analysis,
                                      const struct sh_mark *marks,
                                      size_t n_marks);

/* The same of a recording's draws in their order. */
enum sh_status sh_consistency_set_add_draws(struct sh_consistency_set *set,
                                            const struct sh_consistency_draw *draws,
                                            size_t n);

/* Frees what it owns and zeroes it. Takes a zeroed set. */
void sh_consistency_set_close(struct sh_consistency_set *set);

/* The shots of a set that show one measure, end by end. */
struct sh_consistency_column {
    double *x;     /* owned, [n] in the measure's unit */
    size_t *row;   /* owned, [n] into the set's rows */
    size_t *first; /* owned, [n_ends + 1]: end i is x[first[i]] .. x[first[i + 1] - 1] */
    size_t n;
    size_t n_ends; /* that hold one such shot at least */
};

/* Selects them; *column is to be closed on SH_OK. SH_ERR_MEMORY. Cost: O(rows). */
enum sh_status sh_consistency_set_select(const struct sh_consistency_set *set,
                                         enum sh_consistency_measure measure,
                                         struct sh_consistency_column *column);

/* Frees what it owns and zeroes it. Takes a zeroed column. */
void sh_consistency_set_close_column(struct sh_consistency_column *column);

#endif
