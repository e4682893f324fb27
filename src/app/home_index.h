/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_HOME_INDEX_H
#define SH_APP_HOME_INDEX_H

#include "app/history_update.h"

/*
 * Opens the index of a home brought up to date with its recordings, for a command that asks it
 * something. Recordings that the index does not know are analysed first. sink: as of
 * sh_history_update_run. The index is to be closed by the caller. SH_ERR_NOT_FOUND: the home
 * has no recordings; statuses of sh_recording_list_add, sh_index_open and
 * sh_history_update_run. Test: tests/loop/test_goals.c.
 */
enum sh_status sh_home_index_open(const char *home,
                                  const struct sh_history_update_sink *sink,
                                  struct sh_index **out,
                                  struct sh_error *err);

#endif
