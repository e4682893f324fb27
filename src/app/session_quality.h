/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SESSION_QUALITY_H
#define SH_APP_SESSION_QUALITY_H

#include "finding/analysis.h"
#include "recording/session.h"

/*
 * Says once, in a sentence for people, what is wrong with the data of a recording: samples lost
 * on the way, and in how many draws channels clipped, were noisy or dead, or the hold too
 * short; and which events a person corrected. Test: tests/app/test_session_quality.c.
 */
void sh_session_quality_add(const struct sh_session *session, struct sh_analysis *analysis);

#endif
