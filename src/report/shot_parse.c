/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_parse.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/shot_field.h"

/* The longest name of a kind, sensor, code or basis. */
#define NAME_BYTES 40u

/* The shot's two objects of fields, by group. */
struct source {
    struct sh_json_cursor *cursor;
    const json_t *object[2];
};

/* The quantities that one key holds: one, or those of a list. */
struct parts {
    struct sh_quantity *quantity[SH_SHOT_FIELD_PARTS_MAX];
    size_t n;
};

static void
set_number(struct sh_quantity *quantity, enum sh_catalog_suffix suffix, double value)
{
    if (quantity == NULL) {
        return;
    }
    switch (suffix) {
    case SH_CATALOG_VALUE:
        *quantity = sh_quantity_known(value, 0.0);
        break;
    case SH_CATALOG_U:
        quantity->u = value;
        break;
    case SH_CATALOG_LO:
        quantity->lo = value;
        quantity->has_interval = true;
        break;
    case SH_CATALOG_HI:
        quantity->hi = value;
        break;
    case SH_CATALOG_SUFFIX_COUNT:
        break;
    }
}

static void read_list(struct sh_json_cursor *cursor,
                      const json_t *object,
                      const char *key,
                      enum sh_catalog_suffix suffix,
                      const struct parts *parts)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, object, key, &list)) {
        return;
    }
    if (json_array_size(list) != parts->n) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, "has another number of parts", NULL);
        return;
    }
    for (size_t i = 0; i < parts->n; i++) {
        const json_t *number = json_array_get(list, i);
        if (json_is_number(number)) {
            set_number(parts->quantity[i], suffix, json_number_value(number));
        } else if (!json_is_null(number)) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, "is no list of numbers", NULL);
        }
    }
}

static void read_part(struct sh_json_cursor *cursor,
                      const json_t *object,
                      const char *key,
                      enum sh_catalog_suffix suffix,
                      const struct parts *parts)
{
    double value = 0.0;
    if (parts->n > 1) {
        read_list(cursor, object, key, suffix, parts);
    } else if (sh_json_cursor_number(cursor, object, key, &value)) {
        set_number(parts->quantity[0], suffix, value);
    }
}

static void read_events(const struct source *source, struct sh_shot *shot)
{
    static const char *const middles[SH_CATALOG_SUFFIX_COUNT] = {"", "_u", "_lo", "_hi"};
    const json_t *object = source->object[SH_SHOT_FIELD_EVENTS];
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        const struct parts one = {{&shot->event_s[event]}, 1};
        for (int i = 0; i < SH_CATALOG_SUFFIX_COUNT; i++) {
            char key[SH_CATALOG_KEY_BYTES];
            (void)snprintf(key, sizeof key, "%s%s_s", sh_shot_event_stem((enum sh_event)event),
                           middles[i]);
            read_part(source->cursor, object, key, (enum sh_catalog_suffix)i, &one);
        }
    }
    (void)sh_json_cursor_number(source->cursor, object, "clicker_probability",
                                &shot->clicker_probability);
}

static void read_measures(const struct source *source, struct sh_measures *measures)
{
    const json_t *object = source->object[SH_SHOT_FIELD_MEASURES];
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        const enum sh_measure measure = (enum sh_measure)i;
        struct parts parts = {.n = sh_catalog_get_parts(measure)};
        for (size_t part = 0; part < parts.n; part++) {
            parts.quantity[part] = sh_catalog_get_mutable(measures, measure, part);
        }
        for (int suffix = 0; suffix < SH_CATALOG_SUFFIX_COUNT; suffix++) {
            char key[SH_CATALOG_KEY_BYTES];
            sh_catalog_key(measure, (enum sh_catalog_suffix)suffix, key);
            read_part(source->cursor, object, key, (enum sh_catalog_suffix)suffix, &parts);
        }
    }
    bool answer = false;
    if (sh_json_cursor_bool(source->cursor, object, SH_CATALOG_CLIPPED_KEY, &answer)) {
        measures->vibration_clipped = answer ? SH_ANSWER_YES : SH_ANSWER_NO;
    }
}

/* The number of a name among n; n where it is none of them. */
static int find_name(const char *name, int n, const char *(*get_name)(int))
{
    int i = 0;
    while (i < n && strcmp(name, get_name(i)) != 0) {
        i++;
    }
    return i;
}

static const char *get_kind(int i)
{
    return sh_shot_kind_name((enum sh_shot_kind)i);
}

static const char *get_sensor(int i)
{
    return sh_shot_clicker_sensor_name((enum sh_clicker_sensor)i);
}

static const char *get_quality(int i)
{
    return sh_code_quality_name((enum sh_code_quality)i);
}

static const char *get_code(int i)
{
    return sh_code_name((enum sh_code)i);
}

static const char *get_basis(int i)
{
    return sh_code_basis_name((enum sh_code_basis)i);
}

/* A name under a key, as its number; 0 and a failure where it is none of the n. */
static int read_name(struct sh_json_cursor *cursor,
                     const json_t *object,
                     const char *key,
                     int n,
                     const char *(*get_name)(int))
{
    char name[NAME_BYTES];
    if (!sh_json_cursor_text(cursor, object, key, name, sizeof name)) {
        return 0;
    }
    const int found = find_name(name, n, get_name);
    if (found == n) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, "is a name that is not known", NULL);
        return 0;
    }
    return found;
}

static void
read_quality(struct sh_json_cursor *cursor, const json_t *shot, struct sh_shot_record *record)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, shot, "quality", &list)) {
        return;
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        const int code =
            find_name(name != NULL ? name : "", SH_CODE_QUALITY_COUNT, get_quality);
        if (code == SH_CODE_QUALITY_COUNT) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "quality", "holds an unknown code",
                                NULL);
            return;
        }
        record->quality[code] = true;
    }
}

/* Finds what a key of "changed" stands for and notes it; false: nothing. */
static bool note_changed(const char *key, struct sh_shot_record *record)
{
    if (strcmp(key, "kind") == 0) {
        record->is_kind_changed = true;
        return true;
    }
    char event_key[SH_CATALOG_KEY_BYTES];
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        (void)snprintf(event_key, sizeof event_key, "%s_s",
                       sh_shot_event_stem((enum sh_event)event));
        if (strcmp(key, event_key) == 0) {
            record->is_event_changed[event] = true;
            return true;
        }
    }
    enum sh_measure measure = SH_MEASURE_COUNT;
    if (!sh_catalog_find(key, &measure)) {
        return false;
    }
    record->is_measure_changed[measure] = true;
    return true;
}

static void
read_changed(struct sh_json_cursor *cursor, const json_t *shot, struct sh_shot_record *record)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, shot, "changed", &list)) {
        return;
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *key = json_string_value(json_array_get(list, i));
        if (!note_changed(key != NULL ? key : "", record)) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "changed", "holds an unknown key", NULL);
            return;
        }
    }
}

static void
read_finding(struct sh_json_cursor *cursor, const json_t *object, struct sh_finding *finding)
{
    double number = 0.0;
    finding->code = (enum sh_code)read_name(cursor, object, "code", SH_CODE_COUNT, get_code);
    finding->basis = (enum sh_code_basis)read_name(cursor, object, "basis",
                                                   SH_CODE_BASIS_HISTORY + 1, get_basis);
    (void)sh_json_cursor_text(cursor, object, "text", finding->text, sizeof finding->text);
    if (sh_json_cursor_number(cursor, object, "value", &number)) {
        finding->value = sh_quantity_known(number, 0.0);
        (void)sh_json_cursor_number(cursor, object, "value_u", &finding->value.u);
    }
    finding->threshold = (double)NAN;
    (void)sh_json_cursor_number(cursor, object, "threshold", &finding->threshold);
    finding->has_unusual = sh_json_cursor_number(cursor, object, "unusual", &finding->unusual);
}

static void
read_findings(struct sh_json_cursor *cursor, const json_t *shot, struct sh_shot_record *record)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, shot, "findings", &list)) {
        return;
    }
    const size_t n = json_array_size(list);
    if (n > SH_FINDING_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FULL, "findings", "are too many", NULL);
        return;
    }
    const size_t outside = sh_json_cursor_enter(cursor, "findings");
    for (size_t i = 0; i < n && cursor->status == SH_OK; i++) {
        const size_t list_path = sh_json_cursor_enter_index(cursor, i);
        read_finding(cursor, json_array_get(list, i), &record->findings[i]);
        sh_json_cursor_leave(cursor, list_path);
    }
    sh_json_cursor_leave(cursor, outside);
    record->n_findings = n;
}

/* One that is null or not there is unknown. */
static void
read_score(struct sh_json_cursor *cursor, const json_t *shot, struct sh_shot_record *record)
{
    const json_t *score = json_object_get(shot, "score");
    record->has_score = score != NULL && !json_is_null(score) &&
                        sh_json_cursor_number(cursor, shot, "score", &record->score);
}

void sh_shot_parse(struct sh_json_cursor *cursor,
                   const json_t *shot,
                   struct sh_shot_record *record)
{
    *record = (struct sh_shot_record){0};
    struct source source = {.cursor = cursor};
    uint64_t n = 0;
    sh_json_cursor_need(cursor, sh_json_cursor_count(cursor, shot, "n", &n), "n");
    record->shot.n = (unsigned)n;
    record->shot.kind =
        (enum sh_shot_kind)read_name(cursor, shot, "kind", SH_SHOT_UNRESOLVED + 1, get_kind);
    bool has_events =
        sh_json_cursor_object(cursor, shot, "events", &source.object[SH_SHOT_FIELD_EVENTS]);
    bool has_measures =
        sh_json_cursor_object(cursor, shot, "measures", &source.object[SH_SHOT_FIELD_MEASURES]);
    sh_json_cursor_need(cursor, has_events, "events");
    sh_json_cursor_need(cursor, has_measures, "measures");
    if (!has_events || !has_measures) {
        return;
    }
    record->shot.clicker_sensor =
        (enum sh_clicker_sensor)read_name(cursor, source.object[SH_SHOT_FIELD_EVENTS],
                                          "clicker_sensor", SH_CLICKER_SOUND + 1, get_sensor);
    read_events(&source, &record->shot);
    read_measures(&source, &record->measures);
    read_score(cursor, shot, record);
    read_quality(cursor, shot, record);
    read_changed(cursor, shot, record);
    read_findings(cursor, shot, record);
}
