/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/edit_json.h"

#include <stdio.h>
#include <string.h>

#include "app/correction.h"

#define TIME_MAX_S 1e7

static enum sh_status refuse(struct sh_error *err, const char *what, const char *todo)
{
    return sh_error_set(err, SH_ERR_ARGUMENT, NULL, todo, "%s", what);
}

/* A text that fits with its NUL; empty where missing. */
static bool copy_text(const json_t *object, const char *key, char *to, size_t n_bytes)
{
    const json_t *value = json_object_get(object, key);
    const size_t n = json_string_length(value);
    to[0] = '\0';
    if (!json_is_string(value)) {
        return value == NULL;
    }
    if (n >= n_bytes || strlen(json_string_value(value)) != n) {
        return false;
    }
    memcpy(to, json_string_value(value), n + 1);
    return true;
}

enum sh_status
sh_edit_json_read_tag(const json_t *object, struct sh_tag *tag, struct sh_error *err)
{
    const bool fits = copy_text(object, "key", tag->key, sizeof tag->key) &&
                      copy_text(object, "value", tag->value, sizeof tag->value);
    return fits && tag->key[0] != '\0'
               ? SH_OK
               : refuse(err, "no tag", "give a key, and a value, of up to 127 bytes");
}

enum sh_status
sh_edit_json_read_event(const json_t *object, enum sh_event *event, struct sh_error *err)
{
    const char *name = json_string_value(json_object_get(object, "event"));
    *event = name != NULL ? sh_correction_find_event(name) : SH_EVENT_COUNT;
    return *event != SH_EVENT_COUNT
               ? SH_OK
               : refuse(err, "no event of a draw", "give shot and event (clicker_s, say)");
}

enum sh_status sh_edit_json_read_correction(
    const json_t *object, unsigned n, double time_s, struct sh_mark *mark, struct sh_error *err)
{
    const json_t *value = json_object_get(object, "value_s");
    enum sh_event event = SH_EVENT_COUNT;
    enum sh_status status = sh_edit_json_read_event(object, &event, err);
    if (status != SH_OK) {
        return status;
    }
    const double value_s = json_number_value(value);
    const bool is_time = json_is_number(value) && value_s >= 0.0 && value_s <= TIME_MAX_S;
    if (!is_time && !json_is_null(value)) {
        return refuse(err, "no time of an event", "give value_s in seconds, or null");
    }
    *mark = (struct sh_mark){.t_s = time_s,
                             .kind = SH_MARK_CORRECTION,
                             .shot = {true, (double)n},
                             .value_s = {is_time, is_time ? value_s : 0.0}};
    (void)snprintf(mark->event, sizeof mark->event, "%s_s", sh_shot_event_stem(event));
    return SH_OK;
}
