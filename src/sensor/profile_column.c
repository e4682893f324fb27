/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_column.h"

#include <stddef.h>
#include <string.h>

#define LARGE            1e12
#define COUNTS_MAX       4294967296.0
#define DELAY_MAX_S      10.0
#define DRIFT_TIME_MAX_S 86400.0
#define NO_ROLE          "none"
#define NUMBERS_A_POINT  3u

enum kind {
    KIND_ROLE,
    KIND_AXIS,
    KIND_FINGER,
    KIND_UNIT,
    KIND_DATE,
    KIND_RANGE,
    KIND_POINT,
    KIND_NUMBER
};

struct key {
    const char *name;
    enum kind kind;
    size_t offset; /* of a number, in struct sh_channel */
    double low;
    double high;
};

enum key_index {
    KEY_ROLE,
    KEY_AXIS,
    KEY_FINGER,
    KEY_UNIT,
    KEY_CALIBRATED,
    KEY_RANGE,
    KEY_POINT,
    KEY_SCALE,
    KEY_SCALE_U,
    KEY_ZERO,
    KEY_ZERO_U,
    KEY_QUADRATIC,
    KEY_QUADRATIC_U,
    KEY_DELAY_S,
    KEY_DELAY_U_S,
    KEY_NOISE,
    KEY_LOAD_DRIFT_RATIO,
    KEY_LOAD_DRIFT_TIME_S,
    N_KEYS
};

#define AT(member) offsetof(struct sh_channel, member)

static const struct key keys[N_KEYS] = {
    [KEY_ROLE] = {"role", KIND_ROLE, 0, 0.0, 0.0},
    [KEY_AXIS] = {"axis", KIND_AXIS, 0, 0.0, 0.0},
    [KEY_FINGER] = {"finger", KIND_FINGER, 0, 0.0, 0.0},
    [KEY_UNIT] = {"unit", KIND_UNIT, 0, 0.0, 0.0},
    [KEY_CALIBRATED] = {"calibrated", KIND_DATE, 0, 0.0, 0.0},
    [KEY_RANGE] = {"range", KIND_RANGE, 0, 0.0, 0.0},
    [KEY_POINT] = {"point", KIND_POINT, 0, 0.0, 0.0},
    [KEY_SCALE] = {"scale", KIND_NUMBER, AT(scale), -LARGE, LARGE},
    [KEY_SCALE_U] = {"scale_u", KIND_NUMBER, AT(scale_u), 0.0, LARGE},
    [KEY_ZERO] = {"zero", KIND_NUMBER, AT(zero), -COUNTS_MAX, COUNTS_MAX},
    [KEY_ZERO_U] = {"zero_u", KIND_NUMBER, AT(zero_u), 0.0, COUNTS_MAX},
    [KEY_QUADRATIC] = {"quadratic", KIND_NUMBER, AT(quadratic), -LARGE, LARGE},
    [KEY_QUADRATIC_U] = {"quadratic_u", KIND_NUMBER, AT(quadratic_u), 0.0, LARGE},
    [KEY_DELAY_S] = {"delay_s", KIND_NUMBER, AT(delay_s), 0.0, DELAY_MAX_S},
    [KEY_DELAY_U_S] = {"delay_u_s", KIND_NUMBER, AT(delay_u_s), 0.0, DELAY_MAX_S},
    [KEY_NOISE] = {"noise", KIND_NUMBER, AT(noise), 0.0, LARGE},
    [KEY_LOAD_DRIFT_RATIO] = {"load_drift_ratio", KIND_NUMBER, AT(load_drift_ratio), -1.0, 1.0},
    [KEY_LOAD_DRIFT_TIME_S] = {"load_drift_time_s", KIND_NUMBER, AT(load_drift_time_s), 0.0,
                               DRIFT_TIME_MAX_S},
};

static bool has_key(const struct sh_profile_column *column, enum key_index index)
{
    return (column->keys_seen & (1u << index)) != 0;
}

void sh_profile_column_init(struct sh_profile_column *column)
{
    *column = (struct sh_profile_column){.channel = {.scale = 1.0}, .is_recorded = true};
}

static enum sh_status refuse_name(const struct sh_profile_line *line, const char *todo)
{
    return sh_error_set(line->err, SH_ERR_FORMAT, line->where, todo, "%s = %s: no such %s",
                        line->key, line->value, line->key);
}

static enum sh_status set_role(struct sh_profile_column *column,
                               const struct sh_profile_line *line)
{
    column->is_recorded = strcmp(line->value, NO_ROLE) != 0;
    if (column->is_recorded && !sh_channel_role_find(line->value, &column->channel.role)) {
        return refuse_name(line, "give string_force, finger_force, bow_acceleration, "
                                 "clicker_contact, sound or none");
    }
    return SH_OK;
}

static enum sh_status set_range(struct sh_channel *channel, const struct sh_profile_line *line)
{
    double range[2] = {0.0, 0.0};
    enum sh_status status = sh_profile_value_numbers(line, 2, range);
    if (status != SH_OK) {
        return status;
    }
    if (range[0] >= range[1]) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "give the lower one first",
                            "%s = %s: this range is empty", line->key, line->value);
    }
    channel->has_range = true;
    channel->range_low = range[0];
    channel->range_high = range[1];
    return SH_OK;
}

/* True where counts rise from point to point and values go one way only. */
static bool is_monotone(const struct sh_curve_point *curve, size_t n_curve)
{
    for (size_t i = 1; i < n_curve; i++) {
        bool is_rising = curve[1].value > curve[0].value;
        if (curve[i].counts <= curve[i - 1].counts ||
            (is_rising ? curve[i].value <= curve[i - 1].value
                       : curve[i].value >= curve[i - 1].value)) {
            return false;
        }
    }
    return true;
}

static enum sh_status add_point(struct sh_channel *channel, const struct sh_profile_line *line)
{
    double numbers[NUMBERS_A_POINT] = {0.0, 0.0, 0.0};
    if (channel->n_curve == SH_CHANNEL_CURVE_MAX) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "leave some out",
                            "over %u points", SH_CHANNEL_CURVE_MAX);
    }
    enum sh_status status = sh_profile_value_numbers(line, NUMBERS_A_POINT, numbers);
    if (status != SH_OK) {
        return status;
    }
    channel->curve[channel->n_curve++] =
        (struct sh_curve_point){numbers[0], numbers[1], numbers[2]};
    if (numbers[2] < 0.0 || !is_monotone(channel->curve, channel->n_curve)) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where,
                            "give counts, value, uncertainty; counts rise, values go one way",
                            "%s = %s: this point does not go with the others", line->key,
                            line->value);
    }
    return SH_OK;
}

static enum sh_status set_number(struct sh_channel *channel,
                                 const struct key *key,
                                 const struct sh_profile_line *line)
{
    double value = 0.0;
    enum sh_status status = sh_profile_value_number(line, key->low, key->high, &value);
    if (status == SH_OK) {
        memcpy((char *)channel + key->offset, &value, sizeof value);
    }
    return status;
}

static enum sh_status set_value(struct sh_profile_column *column,
                                const struct key *key,
                                const struct sh_profile_line *line)
{
    struct sh_channel *channel = &column->channel;
    switch (key->kind) {
    case KIND_ROLE:
        return set_role(column, line);
    case KIND_AXIS:
        return sh_channel_axis_find(line->value, &channel->axis)
                   ? SH_OK
                   : refuse_name(line, "give x, y or z");
    case KIND_FINGER:
        return sh_channel_finger_find(line->value, &channel->finger)
                   ? SH_OK
                   : refuse_name(line, "give index, middle or ring");
    case KIND_UNIT:
        return sh_profile_value_text(line, channel->unit, sizeof channel->unit);
    case KIND_DATE:
        return sh_profile_value_date(line, channel->calibrated);
    case KIND_RANGE:
        return set_range(channel, line);
    case KIND_POINT:
        return add_point(channel, line);
    case KIND_NUMBER:
        break;
    }
    return set_number(channel, key, line);
}

enum sh_status sh_profile_column_set(struct sh_profile_column *column,
                                     const struct sh_profile_line *line)
{
    size_t index = 0;
    while (index < N_KEYS && strcmp(keys[index].name, line->key) != 0) {
        index++;
    }
    if (index == N_KEYS) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where,
                            "see the keys of a column in docs/sensor-profile.md",
                            "%s: no such key of a column", line->key);
    }
    if (has_key(column, (enum key_index)index) && index != KEY_POINT) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "keep one of them",
                            "%s is given twice", line->key);
    }
    column->keys_seen |= 1u << index;
    return set_value(column, &keys[index], line);
}

/* The unit that a role has to be in; NULL: any. */
static const char *unit_of(enum sh_role role)
{
    switch (role) {
    case SH_ROLE_STRING_FORCE:
    case SH_ROLE_FINGER_FORCE:
        return "N";
    case SH_ROLE_BOW_ACCELERATION:
        return "m/s2";
    case SH_ROLE_CLICKER_CONTACT:
        return "1";
    case SH_ROLE_SOUND:
        break;
    }
    return NULL;
}

static enum sh_status
finish_unit(struct sh_channel *channel, const char *where, struct sh_error *err)
{
    const char *unit = unit_of(channel->role);
    if (channel->unit[0] != '\0' && unit != NULL && strcmp(channel->unit, unit) != 0) {
        return sh_error_set(err, SH_ERR_FORMAT, where,
                            "give scale, noise and points in it (1 lbf is 4.4482216 N)",
                            "unit = %s: %s is wanted here", channel->unit, unit);
    }
    unit = unit != NULL ? unit : "1";
    if (channel->unit[0] == '\0') {
        memcpy(channel->unit, unit, strlen(unit) + 1);
    }
    return SH_OK;
}

/* Either a scale or a curve; a switch and a microphone do without. */
static enum sh_status check_calibration(const struct sh_profile_column *column,
                                        const char *where,
                                        struct sh_error *err)
{
    const struct sh_channel *channel = &column->channel;
    bool has_curve = has_key(column, KEY_POINT);
    bool has_line = has_key(column, KEY_SCALE) || has_key(column, KEY_SCALE_U) ||
                    has_key(column, KEY_QUADRATIC) || has_key(column, KEY_QUADRATIC_U);
    if (has_curve && has_line) {
        return sh_error_set(err, SH_ERR_FORMAT, where, "keep one of them",
                            "both a scale and points are given");
    }
    if (has_curve && channel->n_curve < 2) {
        return sh_error_set(err, SH_ERR_FORMAT, where, "give two points or more",
                            "one point makes no curve");
    }
    bool is_free = channel->role == SH_ROLE_CLICKER_CONTACT || channel->role == SH_ROLE_SOUND;
    if (!has_curve && !is_free && !has_key(column, KEY_SCALE)) {
        return sh_error_set(err, SH_ERR_FORMAT, where, "add scale = (unit per count)",
                            "scale is missing");
    }
    if (!has_curve && channel->scale >= 0.0 && channel->scale <= 0.0) {
        return sh_error_set(err, SH_ERR_FORMAT, where, "give what one count is worth",
                            "scale is 0");
    }
    return SH_OK;
}

/* A key that must be there with one role and nowhere else. */
static enum sh_status check_belongs(
    bool is_there, bool is_wanted, const char *key, const char *where, struct sh_error *err)
{
    if (is_there == is_wanted) {
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_FORMAT, where, is_wanted ? "add it" : "take it away",
                        is_wanted ? "%s is missing" : "%s does not go with this role", key);
}

enum sh_status sh_profile_column_finish(struct sh_profile_column *column,
                                        const char *where,
                                        struct sh_error *err)
{
    enum sh_role role = column->channel.role;
    if (!has_key(column, KEY_ROLE)) {
        return sh_error_set(err, SH_ERR_FORMAT, where, "add role = string_force, say",
                            "role is missing");
    }
    if (!column->is_recorded) {
        return SH_OK;
    }
    enum sh_status status = check_belongs(has_key(column, KEY_AXIS),
                                          role == SH_ROLE_BOW_ACCELERATION, "axis", where, err);
    if (status == SH_OK) {
        status = check_belongs(has_key(column, KEY_FINGER), role == SH_ROLE_FINGER_FORCE,
                               "finger", where, err);
    }
    if (status == SH_OK) {
        status = check_calibration(column, where, err);
    }
    if (status == SH_OK &&
        has_key(column, KEY_LOAD_DRIFT_RATIO) != has_key(column, KEY_LOAD_DRIFT_TIME_S)) {
        status = sh_error_set(err, SH_ERR_FORMAT, where, "give both or neither",
                              "of load_drift_ratio and load_drift_time_s one is missing");
    }
    return status == SH_OK ? finish_unit(&column->channel, where, err) : status;
}
