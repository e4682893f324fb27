/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CALIBRATION_WORDS_H
#define SH_APP_CALIBRATION_WORDS_H

#include "app/calibration_result.h"
#include "base/text.h"
#include "report/terminal_grid.h"

/*
 * A calibration in words: what the sensor does, how sure that is, then figures. Failures stay
 * in text->status. Test: tests/app/test_calibration_words.c.
 */

/* The cautions for hanging masses, with a line end behind each. Static. */
const char *sh_calibration_words_get_cautions(void);

/* The sentences, one a line and none over 79 columns. */
void sh_calibration_words_format_verdict(const struct sh_calibration_result *result,
                                         struct sh_text *text);

/* Residuals against force, 'o' on the way up, 'v' on the way down; 80 columns. */
void sh_calibration_words_draw_residuals(const struct sh_calibration_result *result,
                                         enum sh_terminal_charset charset,
                                         struct sh_text *text);

/* A row a reading. */
void sh_calibration_words_format_table(const struct sh_calibration_result *result,
                                       struct sh_text *text);

/* What is to stand in the profile, as its lines. */
void sh_calibration_words_format_keys(const struct sh_calibration_result *result,
                                      struct sh_text *text);

#endif
