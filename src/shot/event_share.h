/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_EVENT_SHARE_H
#define SH_SHOT_EVENT_SHARE_H

#include "shot/shot.h"

/*
 * Sets shot->event_share of the known events but the end: draw start, full draw and let-down
 * were read from the force, the release too where there is one, else from the acceleration; the
 * clicker from the channel of shot->clicker_sensor. An event without a channel that could have
 * shown it stays unshared. Any thread. Cost: O(channels). Test: tests/shot/test_event_share.c.
 */
void sh_event_share_set(const struct sh_shot_view *view, struct sh_shot *shot);

#endif
