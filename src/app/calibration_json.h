/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CALIBRATION_JSON_H
#define SH_APP_CALIBRATION_JSON_H

#include "app/calibration_result.h"
#include "base/text.h"

/* Which number of which sensor was calibrated. Borrows all. */
struct sh_calibration_json_subject {
    const char *sensor; /* the profile's file */
    const char *stream;
    size_t column; /* from 1 */
};

/*
 * Appends the calibration as one JSON object and a line end ("stringhand-calibration",
 * docs/calibration.md has the keys). SH_ERR_MEMORY. Test: tests/loop/test_calibrate.c.
 */
enum sh_status sh_calibration_json_write(const struct sh_calibration_result *result,
                                         const struct sh_calibration_json_subject *subject,
                                         struct sh_text *text);

#endif
