/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_GRAVITY_H
#define SH_METROLOGY_GRAVITY_H

#include "base/quantity.h"
#include "base/status.h"

/*
 * Local acceleration of free fall, for masses hung in a calibration.
 */

#define SH_GRAVITY_HEIGHT_MIN_M (-500.0)
#define SH_GRAVITY_HEIGHT_MAX_M 9000.0

/*
 * Normal gravity of the GRS80 ellipsoid at a geodetic latitude (-90 to 90 degrees) and a height
 * above the ellipsoid (SH_GRAVITY_HEIGHT_MIN_M to SH_GRAVITY_HEIGHT_MAX_M), in m/s2:
 * Somigliana's closed formula, with the second-order free-air reduction (H. Moritz, Geodetic
 * Reference System 1980, J. Geodesy 74, 2000; constants from memory).
 *
 * The standard uncertainty, 0.0005 m/s2, allows for what the ellipsoid leaves out: anomalies of
 * some 0.0003 m/s2 in flat country, and the rock between sea level and the place (common
 * practice, no source). It is 5 parts in 100,000, far below that of a scale in a field.
 *
 * SH_ERR_ARGUMENT where latitude or height is out of range or not a number; *out untouched.
 * Test: tests/metrology/test_gravity.c.
 */
enum sh_status sh_gravity_local(double latitude_deg, double height_m, struct sh_quantity *out);

#endif
