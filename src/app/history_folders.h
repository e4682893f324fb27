/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_HISTORY_FOLDERS_H
#define SH_APP_HISTORY_FOLDERS_H

#include "app/passes.h"

/*
 * Takes the shots of the earlier recordings of config->history (their analysis.json, or
 * analysed afresh: app/analysis_store.h) and makes of them what is usual: *baseline. Their
 * names go into analysis. A recording of another athlete is refused (SH_ERR_ARGUMENT): a person
 * is compared with herself. Statuses of sh_passes_run, SH_ERR_MEMORY.
 */
enum sh_status sh_history_folders_read(const struct sh_passes_config *config,
                                       struct sh_analysis *analysis,
                                       struct sh_baseline *baseline,
                                       struct sh_error *err);

#endif
