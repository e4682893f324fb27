/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_EXPOSURE_NOTE_H
#define SH_REPORT_EXPOSURE_NOTE_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends to text what the shots of a recording mean for the bow hand's day, as plain sentences
 * without a line break; nothing where no shot's hand vibration is known. Daily exposure A(8) of
 * the shots as ISO 5349-1:2001, 5.2, has it, with its 95 % limits (errors of one calibration go
 * the same way in all shots), and beside it the values of directive 2002/44/EC. It says that it
 * is indicative, and how many shots have no figure. Failures stay in text->status. Any thread.
 * Test: tests/report/test_exposure_note.c.
 */
void sh_exposure_note_write(const struct sh_analysis *analysis, struct sh_text *text);

#endif
