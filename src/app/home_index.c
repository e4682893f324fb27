/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/home_index.h"

#include <stdio.h>

#include "app/home.h"

static enum sh_status update(struct sh_index *index,
                             const struct sh_recording_list *list,
                             const char *home,
                             const struct sh_history_update_sink *sink,
                             struct sh_error *err)
{
    struct sh_hidden_people hidden = sh_hidden_people_open(home);
    struct sh_history_update_result result;
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_history_update_config config = {
        .list = list, .thresholds = &thresholds, .hidden = &hidden, .sink = *sink};
    const enum sh_status status = sh_history_update_run(index, &config, &result, err);
    sh_hidden_people_close(&hidden);
    return status;
}

enum sh_status sh_home_index_open(const char *home,
                                  const struct sh_history_update_sink *sink,
                                  struct sh_index **out,
                                  struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    struct sh_recording_list list = {0};
    struct sh_index *index = NULL;
    (void)snprintf(path, sizeof path, "%.*s/recordings", (int)sizeof path - 20, home);
    enum sh_status status = sh_recording_list_add(&list, path, err);
    sh_recording_list_settle(&list);
    if (status == SH_OK) {
        (void)snprintf(path, sizeof path, "%.*s/history.sqlite", (int)sizeof path - 20, home);
        status = sh_index_open(path, &index, err);
    }
    if (status == SH_OK) {
        status = update(index, &list, home, sink, err);
    }
    sh_recording_list_close(&list);
    if (status != SH_OK) {
        sh_index_close(&index);
        return status;
    }
    *out = index;
    return SH_OK;
}
