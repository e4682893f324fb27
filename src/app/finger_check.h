/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FINGER_CHECK_H
#define SH_APP_FINGER_CHECK_H

#include "finding/analysis.h"

/*
 * Marks the shots whose fingers do not add up to the string's force as this session's usually
 * do (series/finger_sum.h): quality finger-sum, and one sentence for people that names the
 * usual ratio and the draws. Nothing where too few shots say what is usual. SH_ERR_MEMORY.
 * Test: tests/app/test_finger_check.c.
 */
enum sh_status sh_finger_check_mark(struct sh_analysis *analysis);

#endif
