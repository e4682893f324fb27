/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SAME_CALIBRATION_H
#define SH_APP_SAME_CALIBRATION_H

#include <stdbool.h>

#include "recording/session.h"

/*
 * Is there a force channel that both recordings have, calibrated otherwise (date, scale,
 * curve)? A scale's error is then not the same on both sides. Any thread. Test:
 * tests/app/test_same_calibration.c.
 */
bool sh_same_calibration_is_other(const struct sh_session *a, const struct sh_session *b);

#endif
