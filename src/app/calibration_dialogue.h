/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CALIBRATION_DIALOGUE_H
#define SH_APP_CALIBRATION_DIALOGUE_H

#include "app/averager.h"
#include "app/calibration_setup.h"
#include "app/prompt.h"
#include "app/reading_table.h"

/*
 * The guided part of a calibration: questions on standard error, answers a line each from
 * standard input, be it a terminal, a pipe or a file. Test: tests/loop/test_calibrate.c.
 */
struct sh_calibration_dialogue {
    const struct sh_calibration_setup *setup; /* kept */
    struct sh_averager *averager;             /* NULL: no sensor is open */
    struct sh_prompt prompt;
};

/* Ready to ask; nothing to close but an averager. */
void sh_calibration_dialogue_init(struct sh_calibration_dialogue *dialogue,
                                  const struct sh_calibration_setup *setup);

/*
 * Asks, and waits for a line; the sensor's bytes pass by meanwhile. SH_ERR_NOT_FOUND with a
 * line for a person where standard input ends; statuses of sh_averager_idle.
 */
enum sh_status sh_calibration_dialogue_ask(struct sh_calibration_dialogue *dialogue,
                                           const char *question,
                                           char line[SH_PROMPT_LINE_BYTES],
                                           struct sh_error *err);

/* Asks until yes or no; *is_yes. An end of the input is no. */
enum sh_status sh_calibration_dialogue_confirm(struct sh_calibration_dialogue *dialogue,
                                               const char *question,
                                               bool *is_yes,
                                               struct sh_error *err);

/*
 * The cautions, which have to be acknowledged with yes (else SH_ERR_PERMISSION), then opens the
 * sensor. Statuses of sh_averager_open.
 */
enum sh_status sh_calibration_dialogue_begin(struct sh_calibration_dialogue *dialogue,
                                             struct sh_error *err);

/* Closes the sensor. */
void sh_calibration_dialogue_end(struct sh_calibration_dialogue *dialogue);

/*
 * Zero, masses up and down as they are typed, a record under a steady load where wished, zero
 * again. SH_ERR_NOT_FOUND: given up (quit, or the input ended); statuses of sh_averager_take.
 */
enum sh_status sh_calibration_dialogue_take(struct sh_calibration_dialogue *dialogue,
                                            struct sh_reading_table *table,
                                            struct sh_error *err);

#endif
