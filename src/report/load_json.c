/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_json.h"

#include <jansson.h>

#include "base/day.h"
#include "recording/json_put.h"
#include "report/limit_list.h"
#include "report/load_field.h"
#include "report/shot_json.h"

#define FORMAT_NAME    "stringhand-load"
#define FORMAT_VERSION 1

/* An object being filled. */
struct filling {
    struct sh_json_put *put;
    json_t *object;
};

static void
put_string(struct sh_json_put *put, json_t *object, const char *key, const char *text)
{
    sh_json_put_value(put, object, key, sh_shot_json_make_string(text));
}

static void put_date(struct sh_json_put *put, json_t *object, const char *key, int day)
{
    char date[SH_DAY_BYTES];
    sh_day_format(day, date);
    sh_json_put_text(put, object, key, date);
}

/* A text that may be missing. */
static void
put_given_text(struct sh_json_put *put, json_t *object, const char *key, const char *text)
{
    if (text[0] != '\0') {
        put_string(put, object, key, text);
    } else {
        sh_json_put_value(put, object, key, json_null());
    }
}

static enum sh_status take_field(void *context, const struct sh_load_field *field)
{
    struct filling *filling = context;
    if (field->n_parts == 1) {
        sh_json_put_known(filling->put, filling->object, field->key, field->is_known[0],
                          field->number[0]);
        return filling->put->status;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < field->n_parts; i++) {
        json_t *number = field->is_known[i] ? json_real(field->number[i]) : json_null();
        if (json_array_append_new(list, number) != 0) {
            sh_json_put_fail(filling->put, SH_ERR_MEMORY, field->key);
        }
    }
    sh_json_put_value(filling->put, filling->object, field->key, list);
    return filling->put->status;
}

static void write_days(struct sh_json_put *put, json_t *root, const struct sh_load_sheet *sheet)
{
    json_t *list = sh_json_put_list(put, root, "days");
    size_t n = 0;
    for (int day = sheet->first_day; day <= sheet->last_day; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        if (row == NULL) {
            continue;
        }
        json_t *object = sh_json_put_object_at(put, list, n++);
        struct filling filling = {put, object};
        const struct sh_load_field_sink sink = {take_field, &filling};
        put_date(put, object, "date", day);
        sh_json_put_text(put, object, "kind",
                         sh_day_load_kind_name(sh_day_load_get_kind(row->load)));
        (void)sh_load_field_each_amount(row->load, sheet->level_n, &sink);
        (void)sh_load_field_each_average(row, &sink);
    }
}

static void
write_weeks(struct sh_json_put *put, json_t *root, const struct sh_load_sheet *sheet)
{
    json_t *list = sh_json_put_list(put, root, "weeks");
    size_t n = 0;
    for (int monday = sh_day_get_monday(sheet->first_day); monday <= sheet->last_day;
         monday += SH_DAY_WEEK) {
        const struct sh_day_load week = sh_load_sheet_get_week(sheet, monday);
        json_t *object = sh_json_put_object_at(put, list, n++);
        struct filling filling = {put, object};
        const struct sh_load_field_sink sink = {take_field, &filling};
        put_date(put, object, "monday", monday);
        for (int kind = 0; kind <= SH_DAY_LOAD_MEASURED; kind++) {
            static const char *const keys[] = {"days_unknown", "days_rest", "days_unmeasured",
                                               "days_measured"};
            sh_json_put_count(put, object, keys[kind], week.n_days_of[kind]);
        }
        (void)sh_load_field_each_amount(&week, sheet->level_n, &sink);
    }
}

/* The dates on which that is so of a limit. */
static void put_verdicts(struct sh_json_put *put,
                         json_t *object,
                         const char *key,
                         const struct sh_load_sheet *sheet,
                         size_t number,
                         enum sh_limit_day verdict)
{
    json_t *list = sh_json_put_list(put, object, key);
    for (size_t i = 0; i < sheet->n_verdicts; i++) {
        const struct sh_load_sheet_verdict *got = &sheet->verdicts[i];
        char date[SH_DAY_BYTES];
        if (got->number != number || got->verdict != verdict) {
            continue;
        }
        sh_day_format(got->day, date);
        if (json_array_append_new(list, json_string(date)) != 0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, key);
        }
    }
}

static void
write_limits(struct sh_json_put *put, json_t *root, const struct sh_load_sheet *sheet)
{
    json_t *list = sh_json_put_list(put, root, "limits");
    for (size_t i = 0; i < sheet->n_limits; i++) {
        json_t *object = sh_json_put_object_at(put, list, i);
        sh_limit_list_put(put, object, &sheet->limits[i]);
        put_verdicts(put, object, "reached_on", sheet, sheet->limits[i].number,
                     SH_LIMIT_DAY_REACHED);
        put_verdicts(put, object, "unknown_on", sheet, sheet->limits[i].number,
                     SH_LIMIT_DAY_UNKNOWN);
    }
}

static void
write_ratings(struct sh_json_put *put, json_t *root, const struct sh_load_sheet *sheet)
{
    json_t *list = sh_json_put_list(put, root, "ratings");
    for (size_t i = 0; i < sheet->n_ratings; i++) {
        json_t *object = sh_json_put_object_at(put, list, i);
        put_date(put, object, "date", sheet->ratings[i].day);
        sh_json_put_text(put, object, "when", sh_rating_when_name(sheet->ratings[i].when));
        sh_json_put_number(put, object, "rating_0_to_10", sheet->ratings[i].rating);
        sh_json_put_value(put, object, "rose",
                          json_boolean(sh_rating_is_rise(sheet->ratings, i)));
    }
}

static void
write_sensors(struct sh_json_put *put, json_t *root, const struct sh_load_sheet *sheet)
{
    static const char *const fingers[] = {"index", "middle", "ring"};
    json_t *list = sh_json_put_list(put, root, "sensors");
    for (size_t i = 0; i < sheet->n_sensors; i++) {
        const struct sh_load_sheet_sensor *sensor = &sheet->sensors[i];
        json_t *object = sh_json_put_object_at(put, list, i);
        sh_json_put_text(put, object, "finger", fingers[sensor->finger]);
        put_date(put, object, "from", sensor->first_day);
        put_date(put, object, "until", sensor->last_day);
        sh_json_put_count(put, object, "recordings", sensor->n_recordings);
        sh_json_put_value(put, object, "has_channel", json_boolean(sensor->has_channel));
        put_given_text(put, object, "calibrated", sensor->calibrated);
        sh_json_put_known(put, object, "force_u_ratio", sensor->u_ratio > 0.0, sensor->u_ratio);
        sh_json_put_number(put, object, "at_n", sensor->at_n);
    }
}

static void write_root(struct sh_json_put *put, json_t *root, const struct sh_load_sheet *sheet)
{
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_number(put, root, "version", FORMAT_VERSION);
    put_string(put, root, "athlete", sheet->athlete);
    sh_json_put_text(put, root, "program", "stringhand " SH_VERSION);
    put_date(put, root, "from", sheet->first_day);
    put_date(put, root, "until", sheet->last_day);
    sh_json_put_known(put, root, "level_n", sheet->level_n > 0.0, sheet->level_n);
    write_days(put, root, sheet);
    write_weeks(put, root, sheet);
    write_limits(put, root, sheet);
    write_ratings(put, root, sheet);
    write_sensors(put, root, sheet);
    sh_json_put_text(put, root, "ratio_objections", sh_load_average_get_objections());
    sh_limit_list_put_cautions(put, root);
}

enum sh_status sh_load_json_write(const struct sh_load_sheet *sheet, struct sh_text *text)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_object();
    if (root == NULL) {
        return SH_ERR_MEMORY;
    }
    write_root(&put, root, sheet);
    return sh_json_put_finish(&put, root, text);
}
