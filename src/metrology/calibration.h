/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_CALIBRATION_H
#define SH_METROLOGY_CALIBRATION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "metrology/response_curve.h"
#include "signal/line_fit.h"

/*
 * A sensor's calibration from readings under known forces: which law it follows, how well, and
 * what it then says of a count. The law is fitted as counts against force, for the forces are
 * the ones known well (the model case is a load cell of NIST, data set Pontius); used the other
 * way round afterwards ("inverse use", NIST/SEMATECH e-Handbook 4.6.1).
 * metrology/calibration_channel.h makes the keys of a channel from it.
 * Tests: tests/metrology/test_calibration.c, tests/reference/test_reference_calibration.c.
 */

#define SH_CALIBRATION_READINGS_MAX SH_RESPONSE_CURVE_POINTS_MAX

/*
 * Fewest different forces besides none. A straight line is settled by two numbers, a bent one
 * by three: with the reading at no load three forces make four levels, the fewest at which a
 * bent sensor can be told from a straight one with a reading to spare.
 */
#define SH_CALIBRATION_LEVELS_MIN 3u

/* Forces nearer together than this share of the largest count as one level. */
#define SH_CALIBRATION_LEVEL_RATIO 0.02

/* The smallest force (none is not counted) is this share of the largest at most. */
#define SH_CALIBRATION_SPAN_RATIO 0.7

/* A longer law has to be this improbable by chance. */
#define SH_CALIBRATION_LEVEL_P 0.01

/* Akaike's criterion has to fall by this much before a curve takes the place of a polynomial:
   above 10 the other has essentially no support (Burnham & Anderson 2002, 2.6). */
#define SH_CALIBRATION_AIC_MARGIN 10.0

/* The mean of some samples under one steady force. */
struct sh_calibration_reading {
    double force_n; /* 0: no load */
    double counts;
    double noise_counts; /* SD of a sample, 0 where not known */
    double n_samples;    /* independent ones, 1 or more */
    bool is_down;        /* taken on the way back, after larger forces */
};

enum sh_calibration_law {
    SH_CALIBRATION_LINE,
    SH_CALIBRATION_SQUARE, /* straight line and a square */
    SH_CALIBRATION_POWER,
    SH_CALIBRATION_SATURATING,
    SH_CALIBRATION_STEPS, /* straight from level to level */
    SH_CALIBRATION_LAWS
};

/* How one law fits. */
struct sh_calibration_fit {
    bool is_fitted; /* false: it cannot be, or is not monotone */
    size_t freedom;
    double residual_squares; /* counts^2 */
    double aic;              /* corrected for few points (Hurvich & Tsai 1989) */
    bool has_test;
    struct sh_line_fit_test test; /* against the straight line */
    bool has_lack;
    struct sh_line_fit_test lack; /* lack of fit against the scatter at equal forces */
};

/* One point of the law by steps. */
struct sh_calibration_level {
    double force_n;
    double counts;
    size_t n;
};

struct sh_calibration {
    struct sh_calibration_reading reading[SH_CALIBRATION_READINGS_MAX]; /* copied */
    size_t n;
    size_t n_levels; /* different forces besides none */
    double force_max_n;
    struct sh_line_fit line; /* counts against N */
    struct sh_line_fit square;
    struct sh_response_curve power;
    struct sh_response_curve saturating;
    struct sh_calibration_level level[SH_CALIBRATION_READINGS_MAX]; /* monotone, by force */
    size_t n_steps;
    struct sh_calibration_fit fit[SH_CALIBRATION_LAWS];
    enum sh_calibration_law law; /* the one chosen */
    double noise_counts;         /* rms of the readings' own standard uncertainties */
    double scatter_counts;       /* residual SD of the law, noise_counts at least */
};

/*
 * Checks n readings, fits all laws and chooses: the straight line, unless an F test finds a
 * longer law better (SH_CALIBRATION_LEVEL_P); of those that pass the one with the smallest
 * Akaike criterion, a curve in place of a polynomial only by SH_CALIBRATION_AIC_MARGIN; steps
 * only where the readings were repeated and still show what the chosen law misses (lack of fit,
 * p below 0.001), with the levels made monotone by pooling (Barlow et al. 1972). A law that is
 * not monotone from 10 % of the largest force below none to 50 % above it is not considered.
 *
 * Refused, with a line in err for a person: SH_ERR_ARGUMENT (no or too many readings, a
 * negative force, noise or n_samples out of range), SH_ERR_NOT_FINITE, SH_ERR_SHORT (fewer than
 * SH_CALIBRATION_LEVELS_MIN forces), SH_ERR_SINGULAR (forces too much alike; counts that do not
 * follow them: slope within three of its standard uncertainties). *out is about 30 kB.
 * About 5 ms for 50 readings. Any thread, no heap.
 */
enum sh_status sh_calibration_solve(const struct sh_calibration_reading *readings,
                                    size_t n,
                                    struct sh_calibration *out,
                                    struct sh_error *err);

/* Counts that the chosen law gives at a force. */
double sh_calibration_get_counts(const struct sh_calibration *calibration, double force_n);

/* Name of a law for people ("straight line"). Static. */
const char *sh_calibration_law_name(enum sh_calibration_law law);

/*
 * The force behind a single new reading and its limits at a level (0.95), with Fieller's limits
 * for line and square; from the law's slope for the others. Statuses of sh_line_fit_find_x.
 */
enum sh_status sh_calibration_find_force(const struct sh_calibration *calibration,
                                         double counts,
                                         double level,
                                         struct sh_line_fit_inverse *out);

#endif
