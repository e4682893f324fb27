/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_SENTENCE_H
#define SH_FINDING_SENTENCE_H

#include "finding/finding.h"

/*
 * Writes finding->text: one plain sentence of what the sensor saw, how large it was and how
 * sure that is (95 % interval), and how unusual for this athlete where that is known. It never
 * says what the person did wrong. Takes further figures from record. Not for
 * SH_CODE_FINGER_LIMIT, whose sentence finding/limit.h makes. Test:
 * tests/finding/test_sentence.c.
 */
void sh_sentence_format(const struct sh_shot_record *record, struct sh_finding *finding);

#endif
