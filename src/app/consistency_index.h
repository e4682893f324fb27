/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CONSISTENCY_INDEX_H
#define SH_APP_CONSISTENCY_INDEX_H

#include "app/consistency_source.h"
#include "history/index_query.h"

/*
 * Fills a zeroed source with all of an athlete's draws from the index: the same draws, bit for
 * bit, as from the folders, copies counted once. source is to be closed whatever comes back; n
 * is 0 where the index has nothing of the athlete. Statuses of sh_index_query_shots;
 * SH_ERR_MEMORY. Test: tests/loop/test_consistency.c.
 */
enum sh_status sh_consistency_index_read(struct sh_index *index,
                                         const char *athlete,
                                         struct sh_consistency_source *source,
                                         struct sh_error *err);

#endif
