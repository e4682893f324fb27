/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_json.h"

#include <jansson.h>

#include "report/shot_json.h"

/* jansson's way out: appends a piece to the text behind context. */
static int take_piece(const char *bytes, size_t n_bytes, void *context)
{
    struct sh_text *text = context;
    sh_text_write(text, bytes, n_bytes);
    return text->status == SH_OK ? 0 : -1;
}

static void fail(struct sh_text *text)
{
    if (text->status == SH_OK) {
        text->status = SH_ERR_MEMORY;
    }
}

/* Appends `"key": value` and what follows it. Takes value, which may be NULL. */
static void write_member(struct sh_text *text, const char *key, json_t *value, const char *end)
{
    sh_text_printf(text, "\"%s\": ", key);
    if (value == NULL || json_dump_callback(value, take_piece, text, JSON_ENCODE_ANY) != 0) {
        fail(text);
    }
    json_decref(value);
    sh_text_puts(text, end);
}

static json_t *make_history(const struct sh_analysis *analysis)
{
    json_t *array = json_array();
    for (size_t i = 0; i < analysis->n_history; i++) {
        if (json_array_append_new(array, sh_shot_json_make_string(analysis->history[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *make_quality(const struct sh_analysis *analysis)
{
    json_t *array = json_array();
    for (size_t i = 0; i < analysis->n_quality; i++) {
        const struct sh_analysis_quality *quality = &analysis->quality[i];
        json_t *entry = json_object();
        bool is_full =
            json_object_set_new(entry, "code",
                                json_string(sh_code_quality_name(quality->code))) == 0;
        is_full =
            json_object_set_new(entry, "text", sh_shot_json_make_string(quality->text)) == 0 &&
            is_full;
        /* the array takes entry in either case */
        is_full = json_array_append_new(array, entry) == 0 && is_full;
        if (!is_full) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

void sh_analysis_json_write_shot(const struct sh_shot_record *record, struct sh_text *text)
{
    json_t *shot = sh_shot_json_make(record);
    if (shot == NULL || json_dump_callback(shot, take_piece, text, 0) != 0) {
        fail(text);
    }
    json_decref(shot);
}

enum sh_status sh_analysis_json_write(const struct sh_analysis *analysis, struct sh_text *text)
{
    sh_text_puts(text, "{");
    write_member(text, "format", json_string(SH_ANALYSIS_JSON_FORMAT), ", ");
    write_member(text, "version", json_integer(SH_ANALYSIS_JSON_VERSION), ",\n ");
    write_member(text, "recording", sh_shot_json_make_string(analysis->recording), ", ");
    write_member(text, "athlete", sh_shot_json_make_string(analysis->athlete), ",\n ");
    write_member(text, "program", json_string(SH_ANALYSIS_JSON_PROGRAM), ", ");
    write_member(text, "history", make_history(analysis), ",\n ");
    write_member(text, "duration_s", json_real(analysis->duration_s), ", ");
    write_member(text, "quality", make_quality(analysis), ",\n ");
    sh_text_puts(text, "\"shots\": [");
    for (size_t i = 0; i < analysis->n_shots && text->status == SH_OK; i++) {
        sh_text_puts(text, i == 0 ? "\n  " : ",\n  ");
        sh_analysis_json_write_shot(&analysis->shots[i], text);
    }
    sh_text_puts(text, analysis->n_shots > 0 ? "\n ]}\n" : "]}\n");
    return text->status;
}
