/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CROSSTALK_CALIBRATION_H
#define SH_APP_CROSSTALK_CALIBRATION_H

#include "app/calibration_dialogue.h"
#include "app/calibration_setup.h"
#include "base/text.h"

/*
 * How much of a finger's force the neighbours' sensors show, from each finger loaded in turn;
 * their own calibration comes before. A file of readings has a line for each:
 *
 *     # finger, mass, counts of all recorded columns in their order
 *     none, 0, 20.1, 18.0, 25.2
 *     index, 1 kg, 171.3, 20.9, 25.2
 *
 * Test: tests/loop/test_calibrate.c.
 */

/*
 * Takes the readings (setup->from, or asked for), works the matrix out, puts it into the
 * setup's profile and appends what was found to text. Rest is the last "none" before. Values
 * are those of the present calibration. SH_ERR_FORMAT with file and line; statuses of
 * sh_crosstalk_solve, sh_calibration_dialogue_begin, sh_averager_take.
 */
enum sh_status sh_crosstalk_calibration_run(struct sh_calibration_setup *setup,
                                            struct sh_calibration_dialogue *dialogue,
                                            struct sh_text *text,
                                            struct sh_error *err);

#endif
