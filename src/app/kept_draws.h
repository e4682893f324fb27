/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_KEPT_DRAWS_H
#define SH_APP_KEPT_DRAWS_H

#include "base/status.h"
#include "recording/session.h"
#include "series/day_load.h"

/*
 * What the fingers carried in each draw of a recording: from the analysis.json beside it where
 * this version of the program wrote that after the last change to recording.json, else by
 * analysing it. Both give the same. An unknown figure's reason is taken from the shot's
 * quality: no channel, clipped, lost samples, else "the data do not determine it".
 */
struct sh_kept_draws {
    struct sh_day_load_draw *draws; /* owned, in order of time */
    size_t n_draws;
};

/*
 * Reads the draws of folder, whose session is given. may_analyze false: SH_ERR_NOT_FOUND where
 * analysis.json cannot be used. Statuses of sh_passes_run; a recording without a sample has no
 * draws. *out is set only on success, to be closed. Test: tests/app/test_kept_draws.c.
 */
enum sh_status sh_kept_draws_read(const char *folder,
                                  const struct sh_session *session,
                                  bool may_analyze,
                                  struct sh_kept_draws *out,
                                  struct sh_error *err);

/* Frees the draws and zeroes. Takes a zeroed one. */
void sh_kept_draws_close(struct sh_kept_draws *draws);

#endif
