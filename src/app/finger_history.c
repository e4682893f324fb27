/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/finger_history.h"

#include <stdlib.h>

#include "app/finger_check.h"
#include "app/same_calibration.h"
#include "base/day.h"
#include "recording/session_json.h"

/* What was usual on a day. */
struct evening {
    int day;
    struct sh_finger_sum_usual usual;
};

static bool is_in_stream(const struct sh_stream *stream, enum sh_role role)
{
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (stream->channel[c].role == role) {
            return true;
        }
    }
    return false;
}

static bool has_role(const struct sh_session *session, enum sh_role role)
{
    bool is_found = false;
    for (size_t s = 0; s < session->n_streams; s++) {
        is_found = is_found || is_in_stream(&session->streams[s].stream, role);
    }
    return is_found;
}

static bool has_both(const struct sh_session *session)
{
    return has_role(session, SH_ROLE_STRING_FORCE) && has_role(session, SH_ROLE_FINGER_FORCE);
}

/* Adds a recording's ratio; of one day the one with most draws stays. */
static void keep(const struct evening *evening, struct evening *evenings, size_t *n)
{
    size_t i = 0;
    while (i < *n && evenings[i].day != evening->day) {
        i++;
    }
    if (i == *n) {
        evenings[(*n)++] = *evening;
    } else if (evening->usual.n > evenings[i].usual.n) {
        evenings[i] = *evening;
    }
}

static enum sh_status add_folder(const char *folder,
                                 const struct sh_thresholds *thresholds,
                                 const struct sh_session *session,
                                 struct evening *evening,
                                 struct sh_error *err)
{
    struct sh_session earlier = {0};
    struct sh_session_json *kept = NULL;
    struct sh_analysis analysis = {0};
    const struct sh_passes_config config = {.thresholds = thresholds};
    *evening = (struct evening){.day = 0};
    enum sh_status status = sh_session_json_read(folder, &earlier, &kept, err);
    if (status == SH_OK && has_both(&earlier) &&
        !sh_same_calibration_is_other(session, &earlier) &&
        sh_day_parse_instant(earlier.started, earlier.utc_offset_min, &evening->day)) {
        status = sh_passes_run(folder, &config, &analysis, err);
        if (status == SH_OK && sh_finger_check_find(&analysis, &evening->usual) != SH_OK) {
            status = sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "out of memory");
        }
    }
    sh_analysis_close(&analysis);
    sh_session_json_close(&kept);
    sh_session_close(&earlier);
    return status;
}

enum sh_status sh_finger_history_read(const struct sh_passes_config *config,
                                      const struct sh_session *session,
                                      struct sh_finger_sum_past *past,
                                      struct sh_error *err)
{
    size_t n = 0;
    enum sh_status status = SH_OK;
    *past = (struct sh_finger_sum_past){.n_sessions = 0};
    if (config->n_history < SH_FINGER_SUM_SESSIONS_MIN || !has_both(session)) {
        return SH_OK;
    }
    struct evening *evenings = calloc(config->n_history, sizeof *evenings);
    struct sh_finger_sum_usual *usual = calloc(config->n_history, sizeof *usual);
    if (evenings == NULL || usual == NULL) {
        (void)sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        status = SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < config->n_history && status == SH_OK; i++) {
        struct evening evening;
        status = add_folder(config->history[i], config->thresholds, session, &evening, err);
        if (status == SH_OK && evening.usual.n > 0) {
            keep(&evening, evenings, &n);
        }
    }
    for (size_t i = 0; i < n && status == SH_OK; i++) {
        usual[i] = evenings[i].usual;
    }
    if (status == SH_OK) {
        (void)sh_finger_sum_find_past(usual, n, past);
    }
    free(usual);
    free(evenings);
    return status;
}
