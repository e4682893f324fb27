/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/channel_json.h"

#include <stdio.h>
#include <string.h>

#include "recording/json_field.h"

#define COUNT(list)     (sizeof(list) / sizeof((list)[0]))
#define NAME_BYTES      32u
#define CURVE_ROW       3u
#define CURVE_POINT_MIN 2u

#define MEMBER(name) offsetof(struct sh_channel, name), sizeof(((struct sh_channel *)0)->name)
#define NUMBER(name, rule)                                                                     \
    {                                                                                          \
#name, MEMBER(name), SH_JSON_FIELD_NUMBER, (rule), false, NULL                         \
    }

static const struct sh_json_field fields[] = {
    {"unit", MEMBER(unit), SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, false, NULL},
    {"calibrated", MEMBER(calibrated), SH_JSON_FIELD_DATE, SH_JSON_FIELD_ANY, false, NULL},
    {"scale", MEMBER(scale), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_NOT_0, false,
     "give the unit's worth of one count"},
    NUMBER(scale_u, SH_JSON_FIELD_FROM_0),
    NUMBER(zero, SH_JSON_FIELD_ANY),
    NUMBER(zero_u, SH_JSON_FIELD_FROM_0),
    NUMBER(quadratic, SH_JSON_FIELD_ANY),
    NUMBER(quadratic_u, SH_JSON_FIELD_FROM_0),
    NUMBER(delay_s, SH_JSON_FIELD_FROM_0),
    NUMBER(delay_u_s, SH_JSON_FIELD_FROM_0),
    NUMBER(noise, SH_JSON_FIELD_FROM_0),
};

static const struct sh_json_field drift_fields[] = {
    {"ratio", MEMBER(load_drift_ratio), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ANY, true, NULL},
    {"time_s", MEMBER(load_drift_time_s), SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ABOVE_0, true,
     NULL},
};

/* The unit a role's values must have; "" where any will do. */
static const char *get_role_unit(enum sh_role role)
{
    switch (role) {
    case SH_ROLE_STRING_FORCE:
    case SH_ROLE_FINGER_FORCE:
        return "N";
    case SH_ROLE_BOW_ACCELERATION:
        return "m/s2";
    case SH_ROLE_CLICKER_CONTACT:
    case SH_ROLE_SOUND:
    default:
        return "";
    }
}

static void
parse_role(struct sh_json_cursor *cursor, const json_t *object, struct sh_channel *channel)
{
    char name[NAME_BYTES] = "";
    bool was_found = sh_json_cursor_text(cursor, object, "role", name, sizeof name);
    sh_json_cursor_need(cursor, was_found, "role");
    if (!sh_channel_role_find(name, &channel->role)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "role", "is no role of a channel",
                            "write string_force, finger_force, bow_acceleration, "
                            "clicker_contact or sound");
    }
    if (sh_json_cursor_text(cursor, object, "axis", name, sizeof name) &&
        !sh_channel_axis_find(name, &channel->axis)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "axis", "is no axis", "write x, y or z");
    }
    if (sh_json_cursor_text(cursor, object, "finger", name, sizeof name) &&
        !sh_channel_finger_find(name, &channel->finger)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "finger", "is no finger",
                            "write index, middle or ring");
    }
    bool is_axis_needed = channel->role == SH_ROLE_BOW_ACCELERATION;
    bool is_finger_needed = channel->role == SH_ROLE_FINGER_FORCE;
    sh_json_cursor_need(cursor, channel->axis != SH_AXIS_NONE || !is_axis_needed, "axis");
    sh_json_cursor_need(cursor, channel->finger != SH_FINGER_NONE || !is_finger_needed,
                        "finger");
}

static void check_unit(struct sh_json_cursor *cursor, struct sh_channel *channel)
{
    const char *wanted = get_role_unit(channel->role);
    if (channel->unit[0] == '\0') {
        (void)snprintf(channel->unit, sizeof channel->unit, "%s", wanted);
    }
    if (wanted[0] != '\0' && strcmp(channel->unit, wanted) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "unit", "is not the unit of this role",
                            "give N for forces, m/s2 for accelerations, and scale to match");
    }
}

static void
parse_range(struct sh_json_cursor *cursor, const json_t *object, struct sh_channel *channel)
{
    const json_t *list = NULL;
    double ends[2] = {0.0, 0.0};
    if (!sh_json_cursor_array(cursor, object, "range", &list)) {
        return;
    }
    size_t before = sh_json_cursor_enter(cursor, "range");
    channel->has_range = sh_json_cursor_tuple(cursor, list, ends, 2);
    if (channel->has_range && !(ends[0] < ends[1])) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "does not end above its start", NULL);
    }
    channel->range_low = ends[0];
    channel->range_high = ends[1];
    sh_json_cursor_leave(cursor, before);
}

/* Both counts and values go on in their direction from point i - 1 to point i. */
static bool is_monotone(const struct sh_curve_point *curve, size_t i)
{
    bool rises = curve[1].value > curve[0].value;
    double before = rises ? curve[i - 1].value : curve[i].value;
    double after = rises ? curve[i].value : curve[i - 1].value;
    return curve[i].counts > curve[i - 1].counts && after > before;
}

static void parse_point(struct sh_json_cursor *cursor,
                        const json_t *row,
                        struct sh_curve_point *curve,
                        size_t i)
{
    double point[CURVE_ROW];
    size_t before = sh_json_cursor_enter_index(cursor, i);
    if (sh_json_cursor_tuple(cursor, row, point, CURVE_ROW)) {
        curve[i] = (struct sh_curve_point){point[0], point[1], point[2]};
        if (point[2] < 0.0) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "has an uncertainty below 0",
                                NULL);
        }
        if (i > 0 && !is_monotone(curve, i)) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "breaks the curve's direction",
                                "list points by rising count, their values all rising or all "
                                "falling");
        }
    }
    sh_json_cursor_leave(cursor, before);
}

static void
parse_curve(struct sh_json_cursor *cursor, const json_t *object, struct sh_channel *channel)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, object, "curve", &list)) {
        return;
    }
    size_t n = json_array_size(list);
    if (n < CURVE_POINT_MIN || n > SH_CHANNEL_CURVE_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "curve", "has not 2 to 64 points", NULL);
        return;
    }
    size_t before = sh_json_cursor_enter(cursor, "curve");
    for (size_t i = 0; i < n; i++) {
        parse_point(cursor, json_array_get(list, i), channel->curve, i);
    }
    channel->n_curve = n;
    sh_json_cursor_leave(cursor, before);
}

void sh_channel_json_parse(struct sh_json_cursor *cursor,
                           const json_t *object,
                           struct sh_channel *channel)
{
    const json_t *drift = NULL;
    *channel = (struct sh_channel){0};
    if (!json_is_object(object)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "is not an object", NULL);
        return;
    }
    parse_role(cursor, object, channel);
    sh_json_field_parse(cursor, object, fields, COUNT(fields), channel);
    check_unit(cursor, channel);
    parse_range(cursor, object, channel);
    parse_curve(cursor, object, channel);
    if (sh_json_cursor_object(cursor, object, "load_drift", &drift)) {
        size_t before = sh_json_cursor_enter(cursor, "load_drift");
        sh_json_field_parse(cursor, drift, drift_fields, COUNT(drift_fields), channel);
        sh_json_cursor_leave(cursor, before);
    }
}

static void
format_name(struct sh_json_put *put, json_t *object, const char *key, const char *name)
{
    if (name[0] != '\0') {
        sh_json_put_text(put, object, key, name);
    } else {
        sh_json_put_nothing(put, object, key);
    }
}

static void
format_curve(struct sh_json_put *put, json_t *object, const struct sh_channel *channel)
{
    if (channel->n_curve == 0) {
        sh_json_put_nothing(put, object, "curve");
        return;
    }
    json_t *list = sh_json_put_list(put, object, "curve");
    for (size_t i = 0; i < channel->n_curve; i++) {
        const struct sh_curve_point *point = &channel->curve[i];
        const double row[CURVE_ROW] = {point->counts, point->value, point->u};
        sh_json_put_numbers_at(put, list, i, row, CURVE_ROW);
    }
    sh_json_put_trim(put, list, channel->n_curve);
}

void sh_channel_json_format(struct sh_json_put *put,
                            json_t *object,
                            const struct sh_channel *channel)
{
    const double range[2] = {channel->range_low, channel->range_high};
    sh_json_put_text(put, object, "role", sh_channel_role_name(channel->role));
    format_name(put, object, "axis", sh_channel_axis_name(channel->axis));
    format_name(put, object, "finger", sh_channel_finger_name(channel->finger));
    sh_json_field_format(put, object, fields, COUNT(fields), channel);
    if (channel->has_range) {
        sh_json_put_numbers(put, object, "range", range, 2);
    } else {
        sh_json_put_nothing(put, object, "range");
    }
    format_curve(put, object, channel);
    if (channel->load_drift_time_s > 0.0) {
        json_t *drift = sh_json_put_object(put, object, "load_drift");
        sh_json_field_format(put, drift, drift_fields, COUNT(drift_fields), channel);
    } else {
        sh_json_put_nothing(put, object, "load_drift");
    }
}
