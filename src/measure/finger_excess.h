/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_EXCESS_H
#define SH_MEASURE_FINGER_EXCESS_H

#include "measure/catalog.h"

/*
 * Where the sum of the fingers stands in for the string, it is 4 to 7 % too large
 * (shot/force_scale.h). The figures are not corrected, and their standard uncertainties hold
 * the whole excess (JCGM 100:2008, F.2.4.5); but an error whose sign is known is far from
 * normal: their 95 % intervals are put where the string's force is.
 *
 * To be called once, last, on the measures of a shot whose force is the fingers' sum. Changes
 * the intervals of what grows with the force: the forces, creep, its rate, collapse, flinch,
 * expansion, tremor of the force. An end at 0 stays there. Any thread. Cost: some measures.
 * Test: tests/measure/test_finger_excess.c.
 */
void sh_finger_excess_place(struct sh_measures *measures);

#endif
