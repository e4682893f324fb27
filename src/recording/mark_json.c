/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/mark_json.h"

#include <string.h>

#include "metrology/channel.h"
#include "recording/json_field.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

#define MEMBER(name) offsetof(struct sh_mark, name), sizeof(((struct sh_mark *)0)->name)
#define GIVEN(name, rule)                                                                      \
    {                                                                                          \
#name, MEMBER(name), SH_JSON_FIELD_GIVEN, (rule), false, NULL                          \
    }
#define TEXT(name)                                                                             \
    {                                                                                          \
#name, MEMBER(name), SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, false, NULL                \
    }
#define DATE(name)                                                                             \
    {                                                                                          \
#name, MEMBER(name), SH_JSON_FIELD_DATE, SH_JSON_FIELD_ANY, false, NULL                \
    }

static const struct sh_json_field fields[] = {
    GIVEN(seconds, SH_JSON_FIELD_ABOVE_0),
    GIVEN(elapsed_s, SH_JSON_FIELD_FROM_0),
    GIVEN(arrows, SH_JSON_FIELD_FROM_0),
    GIVEN(shot, SH_JSON_FIELD_FROM_0),
    GIVEN(score, SH_JSON_FIELD_FROM_0),
    TEXT(event),
    GIVEN(value_s, SH_JSON_FIELD_ANY),
    GIVEN(value_u_s, SH_JSON_FIELD_FROM_0),
    TEXT(when),
    GIVEN(rating, SH_JSON_FIELD_FROM_0),
    TEXT(what),
    TEXT(finger),
    TEXT(per),
    GIVEN(most, SH_JSON_FIELD_ANY),
    GIVEN(least, SH_JSON_FIELD_ANY),
    GIVEN(before, SH_JSON_FIELD_FROM_0),
    GIVEN(before_u, SH_JSON_FIELD_FROM_0),
    GIVEN(before_all, SH_JSON_FIELD_FROM_0),
    GIVEN(before_unknown, SH_JSON_FIELD_FROM_0),
    TEXT(set_by),
    DATE(from),
    DATE(until),
    TEXT(text),
};

static const struct sh_json_field time_field = {
    "t_s", MEMBER(t_s), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ANY, true, NULL};

static void
parse_scores(struct sh_json_cursor *cursor, const json_t *object, struct sh_mark *mark)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, object, "scores", &list)) {
        return;
    }
    if (json_array_size(list) > SH_MARK_SCORES_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "scores", "has more than 72 scores",
                            "begin a new end");
        return;
    }
    size_t before = sh_json_cursor_enter(cursor, "scores");
    if (sh_json_cursor_tuple(cursor, list, mark->scores, json_array_size(list))) {
        mark->n_scores = json_array_size(list);
    }
    sh_json_cursor_leave(cursor, before);
}

static bool is_span(const char *per)
{
    return strcmp(per, "shot") == 0 || strcmp(per, "session") == 0 || strcmp(per, "day") == 0;
}

static void check_limit(struct sh_json_cursor *cursor, const struct sh_mark *mark)
{
    enum sh_finger finger = SH_FINGER_NONE;
    sh_json_cursor_need(cursor, mark->what[0] != '\0', "what");
    sh_json_cursor_need(cursor, mark->per[0] != '\0', "per");
    sh_json_cursor_need(cursor, mark->most.is_given || mark->least.is_given, "most");
    if (!is_span(mark->per)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "per", "is no span of a limit",
                            "write shot, session or day");
    }
    if (mark->finger[0] != '\0' && !sh_channel_finger_find(mark->finger, &finger)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "finger", "is no finger",
                            "write index, middle or ring");
    }
}

/* Fails where a key is missing without which a mark of its kind says nothing. */
static void check_kind(struct sh_json_cursor *cursor, const struct sh_mark *mark)
{
    switch (mark->kind) {
    case SH_MARK_CLOCK:
        sh_json_cursor_need(cursor, mark->seconds.is_given, "seconds");
        break;
    case SH_MARK_CORRECTION:
        sh_json_cursor_need(cursor, mark->event[0] != '\0', "event");
        break;
    case SH_MARK_PAIN:
        sh_json_cursor_need(cursor, mark->rating.is_given, "rating");
        break;
    case SH_MARK_LIMIT:
        check_limit(cursor, mark);
        break;
    case SH_MARK_CLOCK_STOP:
    case SH_MARK_OVERRUN:
    case SH_MARK_ARROW:
    case SH_MARK_END:
    case SH_MARK_NOTE:
    case SH_MARK_LIMIT_REACHED:
    case SH_MARK_WARNING:
    case SH_MARK_OTHER:
    default:
        break;
    }
}

void sh_mark_json_parse(struct sh_json_cursor *cursor,
                        const json_t *object,
                        struct sh_mark *mark)
{
    char kind[SH_MARK_TEXT_BYTES] = "";
    *mark = (struct sh_mark){.kind = SH_MARK_OTHER};
    if (!json_is_object(object)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "is not an object", NULL);
        return;
    }
    sh_json_field_parse(cursor, object, &time_field, 1, mark);
    bool has_kind = sh_json_cursor_text(cursor, object, "kind", kind, sizeof kind);
    sh_json_cursor_need(cursor, has_kind && kind[0] != '\0', "kind");
    mark->kind = sh_mark_kind_find(kind);
    if (mark->kind == SH_MARK_OTHER) {
        return;
    }
    sh_json_field_parse(cursor, object, fields, COUNT(fields), mark);
    parse_scores(cursor, object, mark);
    check_kind(cursor, mark);
}

void sh_mark_json_format(struct sh_json_put *put, json_t *object, const struct sh_mark *mark)
{
    const bool is_new = json_object_size(object) == 0;
    sh_json_field_format(put, object, &time_field, 1, mark);
    if (mark->kind == SH_MARK_OTHER) {
        if (!json_is_string(json_object_get(object, "kind"))) {
            sh_json_put_fail(put, SH_ERR_ARGUMENT, "kind");
        }
        return;
    }
    sh_json_put_text(put, object, "kind", sh_mark_kind_name(mark->kind));
    sh_json_field_format(put, object, fields, COUNT(fields), mark);
    if (is_new && mark->kind == SH_MARK_CORRECTION && !mark->value_s.is_given) {
        sh_json_put_value(put, object, "value_s", json_null());
    }
    if (mark->n_scores > 0 || json_object_get(object, "scores") != NULL) {
        sh_json_put_numbers(put, object, "scores", mark->scores, mark->n_scores);
    }
}
