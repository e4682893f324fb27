/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_ANALYSIS_STORE_H
#define SH_APP_ANALYSIS_STORE_H

#include <stdbool.h>

#include "finding/analysis.h"
#include "finding/thresholds.h"

/*
 * analysis.json beside a recording's samples: the last analysis, which may be deleted at any
 * time and saves working it out again. Test of all: tests/app/test_analysis_store.c.
 */

#define SH_ANALYSIS_STORE_FILE "analysis.json"

/* Replaces folder's analysis.json. SH_ERR_MEMORY; statuses of sh_atomic_file_write. */
enum sh_status sh_analysis_store_write(const char *folder,
                                       const struct sh_analysis *analysis,
                                       struct sh_error *err);

/*
 * Whether folder holds an analysis.json that no other file of it is younger than: a recording
 * that went on, or a mark that was added, makes it stale. False where there is no such folder.
 */
bool sh_analysis_store_is_fresh(const char *folder);

/*
 * The shots and measures of a recording: from its analysis.json where that is fresh and was
 * made by this version of the program, else by both passes over its samples with thresholds and
 * no history. The measures are the same to the bit; the findings of a file may rest on a
 * history and on other thresholds. *out is set only on success (sh_analysis_close). Nothing is
 * written. Statuses of sh_passes_run.
 */
enum sh_status sh_analysis_store_get(const char *folder,
                                     const struct sh_thresholds *thresholds,
                                     struct sh_analysis *out,
                                     struct sh_error *err);

#endif
