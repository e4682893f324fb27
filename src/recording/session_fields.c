/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/session_fields.h"

#include <stdio.h>
#include <string.h>

#include "recording/json_field.h"

#define COUNT(list)        (sizeof(list) / sizeof((list)[0]))
#define UTC_OFFSET_MIN_MAX 1440

/* A bow as its keys have it. */
struct flat_bow {
    char name[SH_SESSION_NAME_BYTES];
    struct sh_mark_number draw_weight_n;
    double draw_weight_u_n;
    struct sh_mark_number stiffness_n_per_m;
    double stiffness_u_n_per_m;
};

#define SESSION_TEXT(name)                                                                     \
    {                                                                                          \
#name, offsetof(struct sh_session, name), sizeof(((struct sh_session *)0)->name),      \
            SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, false, NULL                                 \
    }
#define BOW(name, type, rule)                                                                  \
    {                                                                                          \
#name, offsetof(struct flat_bow, name), sizeof(((struct flat_bow *)0)->name), (type),  \
            (rule), false, NULL                                                                \
    }

static const struct sh_json_field started_field[] = {SESSION_TEXT(started)};

static const struct sh_json_field fields[] = {
    SESSION_TEXT(session),
    SESSION_TEXT(athlete),
    {"distance_m", offsetof(struct sh_session, distance_m), sizeof(struct sh_mark_number),
     SH_JSON_FIELD_GIVEN, SH_JSON_FIELD_FROM_0, false, NULL},
};

static const struct sh_json_field bow_fields[] = {
    BOW(name, SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY),
    BOW(draw_weight_n, SH_JSON_FIELD_GIVEN, SH_JSON_FIELD_ABOVE_0),
    BOW(draw_weight_u_n, SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_FROM_0),
    BOW(stiffness_n_per_m, SH_JSON_FIELD_GIVEN, SH_JSON_FIELD_ABOVE_0),
    BOW(stiffness_u_n_per_m, SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_FROM_0),
};

/* True for two digits of at most most. */
static bool is_two_digits(const char *text, int most)
{
    if (strspn(text, "0123456789") < 2) {
        return false;
    }
    return (text[0] - '0') * 10 + (text[1] - '0') <= most;
}

/* True for "2026-05-14T09:30:00.000Z", with any number of decimals or none. */
static bool is_instant(const char *text)
{
    char date[SH_CHANNEL_DATE_BYTES] = "";
    if (strlen(text) < sizeof "2026-05-14T09:30:00Z" - 1) {
        return false;
    }
    memcpy(date, text, sizeof date - 1);
    bool is_clock = sh_json_field_is_date(date) && text[10] == 'T' &&
                    is_two_digits(text + 11, 23) && text[13] == ':' &&
                    is_two_digits(text + 14, 59) && text[16] == ':' &&
                    is_two_digits(text + 17, 60);
    if (!is_clock) {
        return false;
    }
    const char *rest = text + 19;
    if (rest[0] == '.') {
        size_t n = strspn(rest + 1, "0123456789");
        rest += n > 0 ? n + 1 : 0;
    }
    return strcmp(rest, "Z") == 0;
}

static void
parse_tags(struct sh_json_cursor *cursor, const json_t *root, struct sh_session *session)
{
    const json_t *tags = NULL;
    if (!sh_json_cursor_object(cursor, root, "tags", &tags)) {
        return;
    }
    if (json_object_size(tags) > SH_SESSION_TAGS_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "tags", "has more than 32 tags", NULL);
        return;
    }
    size_t before = sh_json_cursor_enter(cursor, "tags");
    json_t *walked = json_object_get(root, "tags");
    void *iterator = json_object_iter(walked);
    for (; iterator != NULL; iterator = json_object_iter_next(walked, iterator)) {
        struct sh_tag *tag = &session->tags[session->n_tags];
        const char *key = json_object_iter_key(iterator);
        if (strlen(key) >= sizeof tag->key) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, "is too long a key", NULL);
        }
        if (sh_json_cursor_text(cursor, tags, key, tag->value, sizeof tag->value)) {
            (void)snprintf(tag->key, sizeof tag->key, "%s", key);
            session->n_tags++;
        }
    }
    sh_json_cursor_leave(cursor, before);
}

static struct sh_quantity make_quantity(const struct sh_mark_number *value, double u)
{
    return value->is_given ? sh_quantity_known(value->value, u)
                           : sh_quantity_unknown(SH_WHY_NOT_GIVEN);
}

static void parse_bow(struct sh_json_cursor *cursor, const json_t *root, struct sh_bow *bow)
{
    struct flat_bow flat = {0};
    const json_t *object = NULL;
    bool has_clicker = false;
    if (sh_json_cursor_object(cursor, root, "bow", &object)) {
        size_t before = sh_json_cursor_enter(cursor, "bow");
        sh_json_field_parse(cursor, object, bow_fields, COUNT(bow_fields), &flat);
        if (sh_json_cursor_bool(cursor, object, "clicker", &has_clicker)) {
            bow->clicker = has_clicker ? SH_ANSWER_YES : SH_ANSWER_NO;
        }
        sh_json_cursor_leave(cursor, before);
    }
    memcpy(bow->name, flat.name, sizeof bow->name);
    bow->draw_weight_n = make_quantity(&flat.draw_weight_n, flat.draw_weight_u_n);
    bow->stiffness_n_per_m = make_quantity(&flat.stiffness_n_per_m, flat.stiffness_u_n_per_m);
}

void sh_session_fields_parse(struct sh_json_cursor *cursor,
                             const json_t *root,
                             struct sh_session *session)
{
    sh_json_field_parse(cursor, root, started_field, COUNT(started_field), session);
    if (session->started[0] != '\0' && !is_instant(session->started)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "started", "is not a time in UTC",
                            "write it as 2026-05-14T09:30:00.000Z");
    }
    (void)sh_json_cursor_integer(cursor, root, "utc_offset_min", UTC_OFFSET_MIN_MAX,
                                 &session->utc_offset_min);
    sh_json_field_parse(cursor, root, fields, COUNT(fields), session);
    parse_tags(cursor, root, session);
    parse_bow(cursor, root, &session->bow);
}

static bool has_tag(const struct sh_session *session, const char *key)
{
    for (size_t i = 0; i < session->n_tags; i++) {
        if (strcmp(session->tags[i].key, key) == 0) {
            return true;
        }
    }
    return false;
}

static void format_tags(struct sh_json_put *put, json_t *root, const struct sh_session *session)
{
    if (session->n_tags == 0 && json_object_get(root, "tags") == NULL) {
        return;
    }
    json_t *tags = sh_json_put_object(put, root, "tags");
    const char *key = NULL;
    json_t *value = NULL;
    void *next = NULL;
    json_object_foreach_safe(tags, next, key, value)
    {
        if (!has_tag(session, key)) {
            sh_json_put_nothing(put, tags, key);
        }
    }
    for (size_t i = 0; i < session->n_tags; i++) {
        sh_json_put_text(put, tags, session->tags[i].key, session->tags[i].value);
    }
}

static void
flatten_quantity(const struct sh_quantity *quantity, struct sh_mark_number *value, double *u)
{
    if (sh_quantity_is_known(quantity)) {
        *value = (struct sh_mark_number){true, quantity->value};
        *u = quantity->u;
    }
}

static bool is_bow_known(const struct sh_bow *bow)
{
    return bow->name[0] != '\0' || sh_quantity_is_known(&bow->draw_weight_n) ||
           sh_quantity_is_known(&bow->stiffness_n_per_m) || bow->clicker != SH_ANSWER_UNKNOWN;
}

static void format_bow(struct sh_json_put *put, json_t *root, const struct sh_bow *bow)
{
    struct flat_bow flat = {0};
    if (!is_bow_known(bow) && !json_is_object(json_object_get(root, "bow"))) {
        return;
    }
    memcpy(flat.name, bow->name, sizeof flat.name);
    flatten_quantity(&bow->draw_weight_n, &flat.draw_weight_n, &flat.draw_weight_u_n);
    flatten_quantity(&bow->stiffness_n_per_m, &flat.stiffness_n_per_m,
                     &flat.stiffness_u_n_per_m);
    json_t *object = sh_json_put_object(put, root, "bow");
    sh_json_field_format(put, object, bow_fields, COUNT(bow_fields), &flat);
    if (bow->clicker == SH_ANSWER_UNKNOWN) {
        sh_json_put_nothing(put, object, "clicker");
    } else {
        sh_json_put_value(put, object, "clicker", json_boolean(bow->clicker == SH_ANSWER_YES));
    }
}

void sh_session_fields_format(struct sh_json_put *put,
                              json_t *root,
                              const struct sh_session *session)
{
    sh_json_field_format(put, root, started_field, COUNT(started_field), session);
    if (session->utc_offset_min != 0 || json_object_get(root, "utc_offset_min") != NULL) {
        sh_json_put_number(put, root, "utc_offset_min", session->utc_offset_min);
    }
    sh_json_field_format(put, root, fields, COUNT(fields), session);
    format_tags(put, root, session);
    format_bow(put, root, &session->bow);
}
