/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SHOT_SENTENCE_H
#define SH_APP_SHOT_SENTENCE_H

#include "base/text.h"
#include "finding/finding.h"

/*
 * Appends one shot in one sentence for people, then what stands out, one line each:
 *
 *     Shot 3: held 3.61 s at 178.2 N, released 138 ms after the click.
 *       Draw length got shorter by 1.5 mm (1.1 to 1.9) during the hold: ...
 *
 * What is not known is left out. Test: tests/app/test_shot_sentence.c.
 */
void sh_shot_sentence_format(const struct sh_shot_record *record, struct sh_text *text);

#endif
