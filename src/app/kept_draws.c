/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/kept_draws.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/home.h"
#include "app/passes.h"
#include "recording/file_text.h"
#include "recording/json_cursor.h"
#include "recording/session_json.h"

#define ANALYSIS_FILE      "analysis.json"
#define ANALYSIS_BYTES_MAX 268435456u
#define NAME_BYTES         64u
#define PATH_BYTES         (SH_HOME_PATH_BYTES + 32u)

/* Which fingers a recording has a channel of. */
struct fingers {
    bool has[SH_DAY_LOAD_FINGERS];
};

static struct fingers find_fingers(const struct sh_session *session)
{
    struct fingers fingers = {0};
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_stream *stream = &session->streams[i].stream;
        for (size_t k = 0; k < stream->n_channels; k++) {
            const struct sh_channel *channel = &stream->channel[k];
            if (channel->role == SH_ROLE_FINGER_FORCE && channel->finger != SH_FINGER_NONE) {
                fingers.has[channel->finger - SH_FINGER_INDEX] = true;
            }
        }
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
        out->draws = calloc(analysis.n_shots + 1, sizeof *out->draws);
        status = out->draws != NULL
                     ? SH_OK
                     : sh_error_set(&refused, SH_ERR_MEMORY, folder, NULL, "out of memory");
    }
    for (size_t i = 0; status == SH_OK && i < analysis.n_shots; i++) {
        take_record(&analysis.shots[i], fingers, &out->draws[out->n_draws++]);
    }
    sh_analysis_close(&analysis);
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = refused;
    }
    return status;
}

/* A list of the fingers' figures and of their uncertainties, where both are there. */
static void parse_fingers(struct sh_json_cursor *cursor,
                          const json_t *measures,
                          const char *key,
                          const char *u_key,
                          struct sh_quantity out[SH_DAY_LOAD_FINGERS])
{
    const json_t *values = NULL;
    const json_t *us = NULL;
    bool has_both = sh_json_cursor_array(cursor, measures, key, &values) &&
                    sh_json_cursor_array(cursor, measures, u_key, &us);
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        out[i] = sh_quantity_unknown(SH_WHY_UNRESOLVED);
        const json_t *value = has_both ? json_array_get(values, i) : NULL;
        const json_t *u = has_both ? json_array_get(us, i) : NULL;
        if (json_is_number(value) && json_is_number(u)) {
            out[i] = sh_quantity_known(json_number_value(value), json_number_value(u));
        }
    }
}

static bool has_word(const json_t *list, const char *word)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *entry = json_string_value(json_array_get(list, i));
        if (entry != NULL && strcmp(entry, word) == 0) {
            return true;
        }
    }
    return false;
}

static void parse_shot(struct sh_json_cursor *cursor,
                       const json_t *shot,
                       const struct fingers *fingers,
                       struct sh_day_load_draw *draw)
{
    char kind[NAME_BYTES] = "";
    const json_t *measures = NULL;
    const json_t *quality = NULL;
    *draw = (struct sh_day_load_draw){0};
    bool is_whole = sh_json_cursor_text(cursor, shot, "kind", kind, sizeof kind) &&
                    sh_json_cursor_object(cursor, shot, "measures", &measures) &&
                    sh_json_cursor_array(cursor, shot, "quality", &quality);
    sh_json_cursor_need(cursor, is_whole, "measures");
    if (cursor->status != SH_OK) {
        return;
    }
    draw->is_let_down = strcmp(kind, sh_shot_kind_name(SH_SHOT_LET_DOWN)) == 0;
    parse_fingers(cursor, measures, "finger_impulse_n_s", "finger_impulse_u_n_s",
                  draw->impulse_n_s);
    parse_fingers(cursor, measures, "finger_peak_n", "finger_peak_u_n", draw->peak_n);
    settle(draw, fingers, has_word(quality, sh_code_quality_name(SH_CODE_QUALITY_CLIPPED)),
           has_word(quality, sh_code_quality_name(SH_CODE_QUALITY_GAP)));
}

static void parse_analysis(struct sh_json_cursor *cursor,
                           const json_t *root,
                           const struct fingers *fingers,
                           struct sh_kept_draws *out)
{
    char program[NAME_BYTES] = "";
    const json_t *shots = NULL;
    (void)sh_json_cursor_text(cursor, root, "program", program, sizeof program);
    bool has_shots = sh_json_cursor_array(cursor, root, "shots", &shots);
    sh_json_cursor_need(cursor, has_shots, "shots");
    if (strcmp(program, "stringhand " SH_VERSION) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_UNSUPPORTED, "program", "is another version", NULL);
    }
    size_t n = cursor->status == SH_OK ? json_array_size(shots) : 0;
    out->draws = calloc(n + 1, sizeof *out->draws);
    if (out->draws == NULL) {
        sh_json_cursor_fail(cursor, SH_ERR_MEMORY, NULL, "needs more memory", NULL);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        parse_shot(cursor, json_array_get(shots, i), fingers, &out->draws[i]);
    }
    out->n_draws = n;
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
    struct sh_text text;
    struct sh_json_cursor cursor;
    (void)snprintf(session_path, sizeof session_path, "%s/%s", folder, SH_SESSION_JSON_FILE);
    (void)snprintf(path, sizeof path, "%s/%s", folder, ANALYSIS_FILE);
    if (!is_newer(session_path, path)) {
        return SH_ERR_NOT_FOUND;
    }
    sh_text_init(&text, ANALYSIS_BYTES_MAX);
    json_t *root = NULL;
    if (sh_file_text_read(path, NULL, &text, NULL) == SH_OK && text.data != NULL) {
        root = json_loadb(text.data, text.n_bytes, JSON_REJECT_DUPLICATES, NULL);
    }
    sh_text_close(&text);
    sh_json_cursor_init(&cursor, path, NULL);
    parse_analysis(&cursor, root, fingers, out);
    json_decref(root);
    if (cursor.status != SH_OK) {
        sh_kept_draws_close(out);
    }
    return cursor.status == SH_OK ? SH_OK : SH_ERR_NOT_FOUND;
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
