/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_H
#define SH_FINDING_LIMIT_H

#include <stdbool.h>

#include "finding/finding.h"
#include "recording/mark.h"

/*
 * Limits that a person has set for what a finger carries in one shot. The program has none of
 * its own.
 */

/*
 * True where mark is a limit a shot (per "shot") on a measure ("finger_peak_n"), in force on
 * date
 * ("" : always), and the measure of its finger has reached it: value + 2 u >= most, or
 * value - 2 u <= least. Then *finding is filled, sentence and all. An unknown value reaches
 * nothing: that it is unknown is shown elsewhere. Test: tests/finding/test_limit.c.
 */
bool sh_limit_find(const struct sh_mark *mark,
                   const char *date,
                   const struct sh_measures *measures,
                   struct sh_finding *finding);

#endif
