/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SIDE_SAMPLE_H
#define SH_SERIES_SIDE_SAMPLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "series/side_list.h"

#define SH_SIDE_SAMPLE_SIDES 2u

/* The observations of one figure of two sides that are known, as a permutation wants them. Test
 * of all: tests/series/test_before_after.c. */
struct sh_side_sample {
    size_t n;
    size_t n_strata;
    double *x;       /* [n]; about the stratum's level */
    double *raw;     /* [n] */
    size_t *place;   /* [n]: among all observations */
    bool *is_second; /* [n] */
    size_t *first;   /* [n_strata + 1] */
    size_t *order;   /* [n]: work, as are the next three */
    size_t *count;
    double *sum;
    bool *kind;
    double t; /* |t| of the sides as they are */
    double u; /* of their shift, without the calibration's */
};

/* What a sample shows with its sides as they are, or as they were handed out. */
struct sh_side_sample_finding {
    double shift;
    double u;
    double sd;
    double freedom;
    double mean[SH_SIDE_SAMPLE_SIDES];
    size_t n[SH_SIDE_SAMPLE_SIDES];
    bool has_scatter;
};

/* Makes room for n observations. To be closed whatever comes back. SH_ERR_MEMORY. */
enum sh_status sh_side_sample_open(struct sh_side_sample *sample, size_t n);

/* Frees what it owns. Takes a zeroed one. */
void sh_side_sample_close(struct sh_side_sample *sample);

/* Takes a figure's observations that are known, of strata that hold both sides. */
void sh_side_sample_take(const struct sh_side_list *all,
                         size_t figure,
                         struct sh_side_sample *sample);

/*
 * Shift and its standard uncertainty: each stratum's difference of means, weighted by
 * n1 n2 / (n1 + n2); scatter pooled over sides and strata (of one stratum: Student's two-sample
 * t). is_second: [n] of the sample.
 */
struct sh_side_sample_finding sh_side_sample_look(const struct sh_side_sample *sample,
                                                  const bool *is_second);

/* |t| with the sides of all observations (not of the sample's) as they were handed out; 0 where
 * a stratum is left with one. Uses the sample's work. */
double sh_side_sample_get_t(const struct sh_side_sample *sample, const bool *side);

#endif
