/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/kept_draws.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "app/home.h"
#include "app/passes.h"
#include "recording/session_json.h"
#include "report/analysis_parse.h"

#define ANALYSIS_FILE "analysis.json"
#define PATH_BYTES    (SH_HOME_PATH_BYTES + 32u)

/* Which fingers a recording has a channel of. */
struct fingers {
    bool has[SH_DAY_LOAD_FINGERS];
};

static void find_in_stream(const struct sh_stream *stream, struct fingers *fingers)
{
    for (size_t k = 0; k < stream->n_channels; k++) {
        const struct sh_channel *channel = &stream->channel[k];
        if (channel->role == SH_ROLE_FINGER_FORCE && channel->finger != SH_FINGER_NONE) {
            fingers->has[channel->finger - SH_FINGER_INDEX] = true;
        }
    }
}

static struct fingers find_fingers(const struct sh_session *session)
{
    struct fingers fingers = {0};
    for (size_t i = 0; i < session->n_streams; i++) {
        find_in_stream(&session->streams[i].stream, &fingers);
    }
    return fingers;
}

/* Why a figure of a finger is unknown. */
static struct sh_quantity make_unknown(bool has_channel, bool is_clipped, bool has_gap)
{
    if (!has_channel) {
        return sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    if (is_clipped) {
        return sh_quantity_unknown(SH_WHY_CLIPPED);
    }
    return sh_quantity_unknown(has_gap ? SH_WHY_GAP : SH_WHY_UNRESOLVED);
}

/* Reasons made the same whether the figures come from the samples or from analysis.json. */
static void settle(struct sh_day_load_draw *draw,
                   const struct fingers *fingers,
                   bool is_clipped,
                   bool has_gap)
{
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        const struct sh_quantity unknown = make_unknown(fingers->has[i], is_clipped, has_gap);
        if (!sh_quantity_is_known(&draw->impulse_n_s[i])) {
            draw->impulse_n_s[i] = unknown;
        }
        if (!sh_quantity_is_known(&draw->peak_n[i])) {
            draw->peak_n[i] = unknown;
        }
    }
}

static void take_record(const struct sh_shot_record *record,
                        const struct fingers *fingers,
                        struct sh_day_load_draw *draw)
{
    *draw = (struct sh_day_load_draw){.is_let_down = record->shot.kind == SH_SHOT_LET_DOWN};
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        draw->impulse_n_s[i] = *sh_catalog_get(&record->measures, SH_MEASURE_FINGER_IMPULSE, i);
        draw->peak_n[i] = *sh_catalog_get(&record->measures, SH_MEASURE_FINGER_PEAK, i);
    }
    settle(draw, fingers, record->quality[SH_CODE_QUALITY_CLIPPED],
           record->quality[SH_CODE_QUALITY_GAP]);
}

/* The draws of an analysis. */
static enum sh_status take_analysis(const struct sh_analysis *analysis,
                                    const struct fingers *fingers,
                                    struct sh_kept_draws *out,
                                    struct sh_error *err)
{
    out->draws = calloc(analysis->n_shots + 1, sizeof *out->draws);
    if (out->draws == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, analysis->recording, NULL, "out of memory");
    }
    for (size_t i = 0; i < analysis->n_shots; i++) {
        take_record(&analysis->shots[i], fingers, &out->draws[out->n_draws++]);
    }
    return SH_OK;
}

static enum sh_status analyze(const char *folder,
                              const struct fingers *fingers,
                              struct sh_kept_draws *out,
                              struct sh_error *err)
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config config = {.thresholds = &thresholds};
    struct sh_analysis analysis = {0};
    struct sh_error refused = {0};
    enum sh_status status = sh_passes_run(folder, &config, &analysis, &refused);
    if (status == SH_ERR_SHORT) {
        return SH_OK; /* not a sample came */
    }
    if (status == SH_OK) {
        status = take_analysis(&analysis, fingers, out, &refused);
    }
    sh_analysis_close(&analysis);
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = refused;
    }
    return status;
}

/* True where the second file was last changed at the same time as the first, or later. */
static bool is_newer(const char *first, const char *second)
{
    struct stat a;
    struct stat b;
    if (stat(first, &a) != 0 || stat(second, &b) != 0) {
        return false;
    }
    return b.st_mtim.tv_sec > a.st_mtim.tv_sec ||
           (b.st_mtim.tv_sec == a.st_mtim.tv_sec && b.st_mtim.tv_nsec >= a.st_mtim.tv_nsec);
}

/* What analysis.json says; SH_ERR_NOT_FOUND where it is of no use. */
static enum sh_status
read_kept(const char *folder, const struct fingers *fingers, struct sh_kept_draws *out)
{
    char session_path[PATH_BYTES];
    char path[PATH_BYTES];
    struct sh_analysis analysis = {0};
    struct sh_error unused = {0};
    (void)snprintf(session_path, sizeof session_path, "%s/%s", folder, SH_SESSION_JSON_FILE);
    (void)snprintf(path, sizeof path, "%s/%s", folder, ANALYSIS_FILE);
    if (!is_newer(session_path, path) ||
        sh_analysis_parse_file(path, &analysis, &unused) != SH_OK) {
        return SH_ERR_NOT_FOUND;
    }
    enum sh_status status = take_analysis(&analysis, fingers, out, &unused);
    sh_analysis_close(&analysis);
    return status == SH_OK ? SH_OK : SH_ERR_NOT_FOUND;
}

enum sh_status sh_kept_draws_read(const char *folder,
                                  const struct sh_session *session,
                                  bool may_analyze,
                                  struct sh_kept_draws *out,
                                  struct sh_error *err)
{
    const struct fingers fingers = find_fingers(session);
    struct sh_kept_draws draws = {0};
    enum sh_status status = read_kept(folder, &fingers, &draws);
    if (status != SH_OK) {
        status = may_analyze
                     ? analyze(folder, &fingers, &draws, err)
                     : sh_error_set(err, SH_ERR_NOT_FOUND, folder, "run load for its athlete",
                                    "this recording has not been analysed yet");
    }
    if (status == SH_OK) {
        *out = draws;
    } else {
        sh_kept_draws_close(&draws);
    }
    return status;
}

void sh_kept_draws_close(struct sh_kept_draws *draws)
{
    free(draws->draws);
    *draws = (struct sh_kept_draws){0};
}
