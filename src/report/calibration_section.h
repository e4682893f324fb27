/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CALIBRATION_SECTION_H
#define SH_REPORT_CALIBRATION_SECTION_H

#include "base/text.h"
#include "metrology/channel.h"

/*
 * Appends how the force channels of n streams were calibrated: for each when, how well its
 * net force is known at 100 N (or at its curve's end, where that is lower), its load drift; a
 * curve is drawn with its 95 % interval. What was not calibrated, or whose uncertainty nobody
 * gave, is said so. Nothing where there is no force channel. Failures stay in text->status.
 * Cost: O(channels). Any thread. Test: tests/report/test_calibration_section.c.
 */
void sh_calibration_section_write(struct sh_text *text,
                                  const struct sh_stream *streams,
                                  size_t n);

#endif
