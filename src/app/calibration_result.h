/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CALIBRATION_RESULT_H
#define SH_APP_CALIBRATION_RESULT_H

#include "app/reading_table.h"
#include "metrology/calibration_channel.h"
#include "metrology/calibration_check.h"
#include "metrology/hung_mass.h"
#include "metrology/load_drift.h"

/*
 * What comes of a table of readings: forces, the sensor's law, the channel's new keys, and what
 * the readings say of the sensor. About 70 kB, plain memory.
 * Test: tests/app/test_calibration_words.c.
 */
struct sh_calibration_result {
    struct sh_reading_table table;
    struct sh_hung_mass_place place;
    bool is_gravity_given;             /* else the standard one, for all the Earth */
    struct sh_hung_mass_force largest; /* of the largest mass, with its shares */
    struct sh_calibration calibration;
    struct sh_calibration_check check;
    struct sh_channel channel; /* the sensor's, newly calibrated */
    bool has_steady;           /* a record under a steady load was taken */
    struct sh_load_drift drift;
};

/*
 * Standard acceleration and its uncertainty where the place is not known: 9.780 to 9.832 m/s2
 * from the equator to the poles, a rectangle.
 */
#define SH_CALIBRATION_RESULT_G_U_M_S2 0.015

/*
 * Fills result from its table, place and channel (as it was before). date: "2026-05-01". A
 * record under a steady load settles load_drift_* of the channel, to nothing where it shows
 * none. Statuses and lines of sh_calibration_solve, sh_hung_mass_get_force and
 * sh_load_drift_solve; SH_ERR_SINGULAR where no reading is left over for an uncertainty.
 */
enum sh_status sh_calibration_result_solve(struct sh_calibration_result *result,
                                           const char *date,
                                           struct sh_error *err);

/* Standard uncertainty of the channel's force at the largest mass, from no load, N. */
double sh_calibration_result_get_u_n(const struct sh_calibration_result *result);

#endif
