/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_TRUTH_FIELD_H
#define SH_SIM_TRUTH_FIELD_H

#include <stdbool.h>
#include <stddef.h>

#include "sim/truth.h"

/*
 * The figures of struct sh_truth as truth.json names them: one table for writing and reading.
 * Test: tests/sim/test_truth_field.c.
 */

#define SH_TRUTH_FIELD_FIGURES_MAX 3u

/* The objects of a draw that hold figures, in the order in which they are written and read. */
enum sh_truth_group {
    SH_TRUTH_GROUP_PUT_IN,
    SH_TRUTH_GROUP_EVENTS,
    SH_TRUTH_GROUP_MEASURES,
    SH_TRUTH_GROUPS /* how many there are */
};

/* Of which draws a figure is told; of others it is null. */
enum sh_truth_when {
    SH_TRUTH_WHEN_ALWAYS,
    SH_TRUTH_WHEN_SHOT,
    SH_TRUTH_WHEN_LET_DOWN,
    SH_TRUTH_WHEN_CLICKER,
    SH_TRUTH_WHEN_SETUP,
    SH_TRUTH_WHEN_CLOCK,
    SH_TRUTH_WHEN_SHOT_CLOCK, /* a shot under a clock */
    SH_TRUTH_WHEN_FLINCH,
    SH_TRUTH_WHEN_SLIDE
};

struct sh_truth_field {
    const char *key;
    enum sh_truth_group group;
    enum sh_truth_when when;
    size_t n_figures; /* 1, or 3 for a list of index, middle, ring */
    size_t offset;    /* of the doubles in struct sh_truth */
};

/* The field with that index, 0 on; NULL beyond the last. Static. */
const struct sh_truth_field *sh_truth_field_get(size_t index);

/* Key of a group's object ("events"). Static. */
const char *sh_truth_field_group_name(enum sh_truth_group group);

/* Whether a field is told of this draw, by its kind and its has_... */
bool sh_truth_field_applies(const struct sh_truth_field *field, const struct sh_truth *truth);

/* Copies a field's n_figures out of, or into, a truth. */
void sh_truth_field_copy_out(const struct sh_truth_field *field,
                             const struct sh_truth *truth,
                             double figure[SH_TRUTH_FIELD_FIGURES_MAX]);
void sh_truth_field_copy_in(const struct sh_truth_field *field,
                            const double figure[SH_TRUTH_FIELD_FIGURES_MAX],
                            struct sh_truth *truth);

#endif
