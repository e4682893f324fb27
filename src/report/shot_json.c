/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_json.h"

#include <math.h>

#include "report/shot_field.h"
#include "report/utf8.h"

/* json_..._set_new and _append_new take the value even where they fail, and refuse NULL. */
static bool put(json_t *object, const char *key, json_t *value)
{
    return json_object_set_new(object, key, value) == 0;
}

static json_t *make_number(bool is_known, double number)
{
    return is_known && isfinite(number) ? json_real(number) : json_null();
}

json_t *sh_shot_json_make_string(const char *string)
{
    struct sh_text clean;
    sh_text_init(&clean, 0);
    sh_utf8_put(&clean, string, SH_UTF8_KEEP_CONTROL);
    json_t *made = NULL;
    if (clean.status == SH_OK) {
        made = json_string(clean.data != NULL ? clean.data : "");
    }
    sh_text_close(&clean);
    return made;
}

static json_t *make_list(const struct sh_shot_field *field)
{
    json_t *list = json_array();
    for (size_t part = 0; part < field->n_parts; part++) {
        json_t *number = make_number(field->is_known[part], field->number[part]);
        if (json_array_append_new(list, number) != 0) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static json_t *make_value(const struct sh_shot_field *field)
{
    if (!sh_shot_field_is_known(field)) {
        return json_null();
    }
    switch (field->type) {
    case SH_SHOT_FIELD_NUMBER:
        return field->n_parts > 1 ? make_list(field) : json_real(field->number[0]);
    case SH_SHOT_FIELD_TEXT:
        return json_string(field->text);
    case SH_SHOT_FIELD_ANSWER:
        return json_boolean(field->answer);
    }
    return json_null();
}

/* The two objects that the fields go to, by group. */
struct groups {
    json_t *object[2];
};

static enum sh_status take_field(void *context, const struct sh_shot_field *field)
{
    struct groups *groups = context;
    bool is_put = put(groups->object[field->group], field->key, make_value(field));
    return is_put ? SH_OK : SH_ERR_MEMORY;
}

static bool put_fields(json_t *shot, const struct sh_shot_record *record)
{
    struct groups groups = {{json_object(), json_object()}};
    struct sh_shot_field_sink sink = {take_field, &groups};
    bool is_full = sh_shot_field_each(record, &sink) == SH_OK;
    is_full = put(shot, "events", groups.object[SH_SHOT_FIELD_EVENTS]) && is_full;
    return put(shot, "measures", groups.object[SH_SHOT_FIELD_MEASURES]) && is_full;
}

static bool append_string(json_t *array, const char *string)
{
    return json_array_append_new(array, sh_shot_json_make_string(string)) == 0;
}

static bool put_quality(json_t *shot, const struct sh_shot_record *record)
{
    json_t *array = json_array();
    bool is_full = true;
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        if (record->quality[i]) {
            is_full =
                append_string(array, sh_code_quality_name((enum sh_code_quality)i)) && is_full;
        }
    }
    return put(shot, "quality", array) && is_full;
}

static bool put_changed(json_t *shot, const struct sh_shot_record *record)
{
    json_t *array = json_array();
    bool is_full = true;
    char key[SH_CATALOG_KEY_BYTES];
    for (size_t i = 0; sh_shot_field_get_changed(record, i, key); i++) {
        is_full = append_string(array, key) && is_full;
    }
    return put(shot, "changed", array) && is_full;
}

static json_t *make_finding(const struct sh_finding *finding)
{
    json_t *object = json_object();
    bool has_value = sh_quantity_is_known(&finding->value);
    bool is_full = put(object, "code", json_string(sh_code_name(finding->code)));
    is_full = put(object, "text", sh_shot_json_make_string(finding->text)) && is_full;
    is_full = put(object, "value", make_number(has_value, finding->value.value)) && is_full;
    is_full = put(object, "value_u", make_number(has_value, finding->value.u)) && is_full;
    is_full = put(object, "threshold", make_number(true, finding->threshold)) && is_full;
    is_full = put(object, "basis", json_string(sh_code_basis_name(finding->basis))) && is_full;
    is_full =
        put(object, "unusual", make_number(finding->has_unusual, finding->unusual)) && is_full;
    if (!is_full) {
        json_decref(object);
        return NULL;
    }
    return object;
}

static bool put_findings(json_t *shot, const struct sh_shot_record *record)
{
    json_t *array = json_array();
    bool is_full = true;
    for (size_t i = 0; i < record->n_findings; i++) {
        is_full =
            json_array_append_new(array, make_finding(&record->findings[i])) == 0 && is_full;
    }
    return put(shot, "findings", array) && is_full;
}

json_t *sh_shot_json_make(const struct sh_shot_record *record)
{
    json_t *shot = json_object();
    bool is_full = put(shot, "n", json_integer((json_int_t)record->shot.n));
    is_full = put(shot, "kind", json_string(sh_shot_kind_name(record->shot.kind))) && is_full;
    is_full = put(shot, "score", make_number(record->has_score, record->score)) && is_full;
    is_full = put_fields(shot, record) && is_full;
    is_full = put_quality(shot, record) && is_full;
    is_full = put_changed(shot, record) && is_full;
    is_full = put_findings(shot, record) && is_full;
    if (!is_full) {
        json_decref(shot);
        return NULL;
    }
    return shot;
}
