/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FINGER_CHECK_H
#define SH_APP_FINGER_CHECK_H

#include "finding/analysis.h"
#include "series/finger_sum.h"

/*
 * Marks the shots whose fingers do not add up to the string's force as this session's usually
 * do, or as earlier sessions' did (series/finger_sum.h): quality finger-sum, and one sentence
 * for people that names the usual ratio and the draws: of earlier sessions where any draw is
 * apart from those. Nothing where too few shots and sessions say what is usual. SH_ERR_MEMORY.
 * Test: tests/app/test_finger_check.c.
 */
enum sh_status sh_finger_check_mark(struct sh_analysis *analysis,
                                    const struct sh_finger_sum_past *past);

/* What is usual in the shots of a recording; usual->n 0 where too few say it. SH_ERR_MEMORY. */
enum sh_status sh_finger_check_find(const struct sh_analysis *analysis,
                                    struct sh_finger_sum_usual *usual);

#endif
