/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_VIEW_H
#define SH_REPORT_TERMINAL_VIEW_H

#include "report/terminal_shot.h"

/*
 * Appends the drawings of one shot that it has curves for: force over the whole draw, over the
 * hold where a finding rests on that; force, acceleration, contact and sound around the click;
 * the fingers until the draw is over. Events are marked by their letter above (a star behind
 * it: corrected by a person); the trend of the force before the click, a dip and what was given
 * away between click and release are drawn in where they are known. Statuses of
 * sh_terminal_shot_write, by which it is used and tested.
 */
enum sh_status sh_terminal_view_draw(const struct sh_shot_record *record,
                                     struct sh_terminal_shot *shot,
                                     const struct sh_terminal_shot_config *config,
                                     struct sh_text *text);

#endif
