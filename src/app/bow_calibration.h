/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_BOW_CALIBRATION_H
#define SH_APP_BOW_CALIBRATION_H

#include "app/calibration_setup.h"

/*
 * A bow's figures from its force-draw table:
 *
 *     # draw length (with 1 3/4 in), force; a line "pivot" before: without them
 *     10 in, 0 lb
 *     11 in, 3.1 lb
 *     ...
 *
 * Draw lengths in in, mm or m, forces in N, lb or lbf. Test: tests/loop/test_calibrate_bow.c.
 */

/*
 * Reads the table (setup->bow), works out weight, stiffness and energy at the archer's draw
 * length (the table's last where none is given), prints them (sentences, or JSON), and writes
 * the bow's file where setup->out names one. SH_ERR_FORMAT with file and line; statuses of
 * sh_force_draw_solve and of reading and writing.
 */
enum sh_status sh_bow_calibration_run(const struct sh_calibration_setup *setup,
                                      struct sh_error *err);

#endif
