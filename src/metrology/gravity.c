/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/gravity.h"

#include <math.h>

#include "base/units.h"

/* GRS80: normal gravity at the equator, the formula's constant, first eccentricity squared,
   flattening, centrifugal over gravitational acceleration at the equator, semi-major axis. */
#define EQUATOR_M_S2       9.7803267715
#define SOMIGLIANA_K       0.001931851353
#define ECCENTRICITY_2     0.00669438002290
#define FLATTENING         0.00335281068118
#define CENTRIFUGAL_RATIO  0.00344978600308
#define SEMI_MAJOR_AXIS_M  6378137.0
#define GRAVITY_U_M_S2     0.0005
#define RADIANS_PER_DEGREE (SH_PI / 180.0)

enum sh_status sh_gravity_local(double latitude_deg, double height_m, struct sh_quantity *out)
{
    if (!(fabs(latitude_deg) <= 90.0) || !(height_m >= SH_GRAVITY_HEIGHT_MIN_M) ||
        !(height_m <= SH_GRAVITY_HEIGHT_MAX_M)) {
        return SH_ERR_ARGUMENT;
    }
    double sine = sin(latitude_deg * RADIANS_PER_DEGREE);
    double sine_2 = sine * sine;
    double at_ellipsoid_m_s2 =
        EQUATOR_M_S2 * (1.0 + SOMIGLIANA_K * sine_2) / sqrt(1.0 - ECCENTRICITY_2 * sine_2);
    double height = height_m / SEMI_MAJOR_AXIS_M;
    double first = 1.0 + FLATTENING + CENTRIFUGAL_RATIO - 2.0 * FLATTENING * sine_2;
    double free_air = 1.0 - 2.0 * first * height + 3.0 * height * height;
    *out = sh_quantity_known(at_ellipsoid_m_s2 * free_air, GRAVITY_U_M_S2);
    return SH_OK;
}
