/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_CALIBRATION_CHANNEL_H
#define SH_METROLOGY_CALIBRATION_CHANNEL_H

#include "metrology/calibration.h"
#include "metrology/channel.h"

/*
 * A calibration as the keys of a channel: scale, zero and quadratic with their uncertainties,
 * or the curve. Test: tests/metrology/test_calibration.c.
 */

/* What goes into the channel's uncertainties beside the fit. */
struct sh_calibration_channel_doubt {
    double force_u_ratio;     /* common to all forces (metrology/hung_mass.h) */
    double zero_drift_counts; /* zero after less zero before, 0 where not seen */
};

/*
 * Writes scale, quadratic, zero or curve, their _u, and noise (where readings told theirs) into
 * channel; all else in it stays. Line: scale and zero by turning the response round. Square:
 * scale and quadratic from the forces fitted against the counts, whose noise is too small
 * beside their range to bend that fit. Curves: 2 to 64 points of the inverse, denser where it
 * bends; a first point beyond the dead zone keeps readings below zero near 0 N; beyond the
 * largest force the last slope goes on.
 *
 * Uncertainties (JCGM 100:2008, 5.1 and G.3): of the fit, times t(0.975) of its degrees of
 * freedom over 1.96, so that 1.96 u is the 95 % interval however few the readings; scale_u also
 * holds the forces' common share and what the readings scatter about the law beyond their own
 * noise (bends, hysteresis), taken at the largest force; zero_u also half the zero drift as a
 * rectangle. A point's u holds all of these, and in the dead zone start / sqrt(12), for what
 * force it is there nobody sees. SH_ERR_SINGULAR: no freedom is left. Any thread.
 */
enum sh_status sh_calibration_channel_fill(const struct sh_calibration *calibration,
                                           const struct sh_calibration_channel_doubt *doubt,
                                           struct sh_channel *channel);

#endif
