/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_STAMP_H
#define SH_APP_STAMP_H

#include "recording/session.h"

/*
 * Sets session->started to the present (UTC, to the millisecond) and utc_offset_min to what the
 * machine's clock on the wall adds. Test: tests/app/test_stamp.c.
 */
void sh_stamp_session(struct sh_session *session);

#endif
