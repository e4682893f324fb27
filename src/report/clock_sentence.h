/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CLOCK_SENTENCE_H
#define SH_REPORT_CLOCK_SENTENCE_H

#include <stdbool.h>

#include "series/clock_draw.h"

#define SH_CLOCK_SENTENCE_BYTES 160u

/*
 * What there is to be said of a draw under a clock: what a let-down cost, and a release that
 * came after the time beyond its own 95 % uncertainty. False, sentence untouched: nothing. Any
 * thread. Test: tests/report/test_clock_table.c.
 */
bool sh_clock_sentence_format(const struct sh_shot_record *record,
                              const struct sh_clock_draw *draw,
                              char sentence[SH_CLOCK_SENTENCE_BYTES]);

#endif
