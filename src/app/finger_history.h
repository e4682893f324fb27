/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FINGER_HISTORY_H
#define SH_APP_FINGER_HISTORY_H

#include "app/passes.h"
#include "series/finger_sum.h"

/*
 * Finds what the ratio of the fingers' sum to the string's force was in the recordings of
 * config->history: those that have both, calibrated as session is; recordings of one day are
 * one session, the one with most draws. past->n_sessions is 0 where session has not both or too
 * few earlier ones say what is usual. Analyses them afresh, as analysis.json does not hold the
 * ratio. Statuses of sh_session_json_read and sh_passes_run, SH_ERR_MEMORY. Test:
 * tests/app/test_finger_history.c.
 */
enum sh_status sh_finger_history_read(const struct sh_passes_config *config,
                                      const struct sh_session *session,
                                      struct sh_finger_sum_past *past,
                                      struct sh_error *err);

#endif
