/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_sensors.h"

#include <stdio.h>
#include <string.h>

#include "app/live_zeros.h"
#include "live/number_text.h"

#define TODO_SENSORS "name the profile and the port of each sensor"

static enum sh_status refuse(struct sh_error *err, const char *what, const char *todo)
{
    return sh_error_set(err, SH_ERR_ARGUMENT, NULL, todo, "%s", what);
}

/* A text without a NUL inside; NULL: it is none. */
static const char *get_text(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    const char *text = json_string_value(value);
    return text != NULL && strlen(text) == json_string_length(value) ? text : NULL;
}

static enum sh_status read_profile(const struct sh_live_profiles *profiles,
                                   const json_t *object,
                                   size_t sensor,
                                   struct sh_live_choice *out,
                                   struct sh_error *err)
{
    const char *id = get_text(object, "profile");
    const struct sh_live_profile *profile =
        id != NULL ? sh_live_profiles_find(profiles, id) : NULL;
    if (profile == NULL) {
        return refuse(err, "there is no such profile", "choose one of the list");
    }
    (void)snprintf(out->id[sensor], sizeof out->id[sensor], "%s", profile->id);
    (void)snprintf(out->file[sensor], sizeof out->file[sensor], "%s", profile->file);
    out->choice.file[sensor] = out->file[sensor];
    return sh_live_profile_read(profile, &out->choice.profiles[sensor], err);
}

/* No port: that of the profile, which its owner has written there. */
static enum sh_status read_port(const struct sh_live_ports *ports,
                                const json_t *object,
                                size_t sensor,
                                struct sh_capture_choice *out,
                                struct sh_error *err)
{
    const json_t *value = json_object_get(object, "port");
    const char *own = out->profiles[sensor].port;
    if (value == NULL || json_is_null(value)) {
        return strcmp(own, "-") == 0 ? sh_live_ports_check(ports, own, err)
               : own[0] == '\0'      ? refuse(err, "no port is named", "choose a port")
                                     : SH_OK;
    }
    out->address[sensor] = get_text(object, "port");
    return out->address[sensor] != NULL ? sh_live_ports_check(ports, out->address[sensor], err)
                                        : refuse(err, "this is no port", "choose a port");
}

static enum sh_status read_all(const struct sh_live_ports *ports,
                               const struct sh_live_profiles *profiles,
                               const json_t *list,
                               struct sh_live_choice *out,
                               struct sh_error *err)
{
    enum sh_status status = sh_capture_choice_open(&out->choice, json_array_size(list), err);
    for (size_t i = 0; i < json_array_size(list) && status == SH_OK; i++) {
        const json_t *object = json_array_get(list, i);
        status = read_profile(profiles, object, i, out, err);
        if (status == SH_OK) {
            status = read_port(ports, object, i, &out->choice, err);
        }
    }
    return status == SH_OK ? sh_capture_choice_check(&out->choice, err) : status;
}

enum sh_status sh_live_choice_read(const struct sh_live_ports *ports,
                                   const struct sh_capture_setup *setup,
                                   const json_t *object,
                                   struct sh_live_choice *out,
                                   struct sh_error *err)
{
    const json_t *list = json_object_get(object, "sensors");
    struct sh_live_profiles profiles;
    out->choice = (struct sh_capture_choice){0};
    out->object = object;
    if (!json_is_array(list)) {
        return refuse(err, "this is no choice of sensors", TODO_SENSORS);
    }
    enum sh_status status = sh_live_profiles_open(setup, &profiles, err);
    if (status == SH_OK) {
        status = read_all(ports, &profiles, list, out, err);
    }
    sh_live_profiles_close(&profiles);
    return status;
}

void sh_live_choice_close(struct sh_live_choice *choice)
{
    sh_capture_choice_close(&choice->choice);
}

void sh_live_sensors_init(struct sh_live_sensors *sensors)
{
    *sensors = (struct sh_live_sensors){.n = 0};
    for (size_t i = 0; i < SH_CAPTURE_SETUP_SENSORS_MAX; i++) {
        (void)snprintf(sensors->row[i].id, sizeof sensors->row[i].id, "line/%zu", i + 1);
    }
}

/* The streams of a sensor that have another zero than its profile's. */
static void find_zeroed(const struct sh_capture_setup *setup,
                        size_t sensor,
                        size_t first_stream,
                        struct sh_live_sensor_row *row)
{
    row->n_zeroed = 0;
    for (size_t k = 0; k < setup->profiles[sensor].n_streams; k++) {
        if (sh_live_zeros_is_set(setup, first_stream + k)) {
            memcpy(row->zeroed[row->n_zeroed++], setup->profiles[sensor].streams[k].stream.name,
                   sizeof row->zeroed[0]);
        }
    }
}

void sh_live_sensors_begin(struct sh_live_sensors *sensors,
                           const struct sh_capture_setup *setup,
                           double now_s)
{
    sensors->n = setup->n_sensors;
    sensors->since_s = now_s;
    sensors->trouble[0] = '\0';
    size_t first_stream = 0;
    for (size_t i = 0; i < setup->n_sensors; i++) {
        struct sh_live_sensor_row *row = &sensors->row[i];
        row->hearing = SH_LIVE_HEARING_WAITING;
        (void)snprintf(row->name, sizeof row->name, "%s", setup->profiles[i].name);
        (void)snprintf(row->address, sizeof row->address, "%.*s", (int)sizeof row->address - 1,
                       setup->address[i]);
        find_zeroed(setup, i, first_stream, row);
        first_stream += setup->profiles[i].n_streams;
    }
}

void sh_live_sensors_name(struct sh_live_sensors *sensors, const struct sh_live_choice *choice)
{
    for (size_t i = 0; i < SH_CAPTURE_SETUP_SENSORS_MAX; i++) {
        memcpy(sensors->row[i].id, choice->id[i], sizeof sensors->row[i].id);
    }
}

void sh_live_sensors_clear(struct sh_live_sensors *sensors, const struct sh_error *why)
{
    sensors->n = 0;
    sensors->trouble[0] = '\0';
    if (why != NULL) {
        sh_error_format(why, sensors->trouble);
    }
}

void sh_live_sensors_hear(struct sh_live_sensors *sensors,
                          size_t sensor,
                          const struct sh_capture_hearing *hearing,
                          double now_s)
{
    enum sh_live_hearing heard = SH_LIVE_HEARING_WAITING;
    if (!hearing->is_open) {
        heard = SH_LIVE_HEARING_AWAY;
    } else if (hearing->n_good > 0) {
        heard = SH_LIVE_HEARING_WELL;
    } else if (now_s - sensors->since_s >= SH_LIVE_SENSORS_PATIENCE_S) {
        heard = hearing->n_bytes > 0 ? SH_LIVE_HEARING_STRANGE : SH_LIVE_HEARING_SILENT;
    }
    sensors->row[sensor].hearing = heard;
}

static const char *get_word(enum sh_live_hearing hearing)
{
    static const char *const words[] = {[SH_LIVE_HEARING_WAITING] = "waiting",
                                        [SH_LIVE_HEARING_WELL] = "well",
                                        [SH_LIVE_HEARING_SILENT] = "silent",
                                        [SH_LIVE_HEARING_STRANGE] = "strange",
                                        [SH_LIVE_HEARING_AWAY] = "away"};
    return words[hearing];
}

const char *sh_live_sensors_get_hearing(const struct sh_live_sensors *sensors)
{
    static const unsigned badness[] = {[SH_LIVE_HEARING_WELL] = 0,
                                       [SH_LIVE_HEARING_WAITING] = 1,
                                       [SH_LIVE_HEARING_AWAY] = 2,
                                       [SH_LIVE_HEARING_SILENT] = 3,
                                       [SH_LIVE_HEARING_STRANGE] = 4};
    enum sh_live_hearing worst = SH_LIVE_HEARING_WELL;
    for (size_t i = 0; i < sensors->n; i++) {
        const enum sh_live_hearing hearing = sensors->row[i].hearing;
        worst = badness[hearing] > badness[worst] ? hearing : worst;
    }
    return get_word(worst);
}

void sh_live_sensors_put(const struct sh_live_sensors *sensors, struct sh_text *text)
{
    sh_text_puts(text, "\"current\":[");
    for (size_t i = 0; i < sensors->n; i++) {
        const struct sh_live_sensor_row *row = &sensors->row[i];
        sh_text_puts(text, i > 0 ? ",{\"id\":" : "{\"id\":");
        sh_number_text_put_string(text, row->id);
        sh_text_puts(text, ",\"profile\":");
        sh_number_text_put_string(text, row->name);
        sh_text_puts(text, ",\"address\":");
        sh_number_text_put_string(text, row->address);
        sh_text_printf(text, ",\"hearing\":\"%s\",\"zeroed\":[", get_word(row->hearing));
        for (size_t k = 0; k < row->n_zeroed; k++) {
            sh_text_puts(text, k > 0 ? "," : "");
            sh_number_text_put_string(text, row->zeroed[k]);
        }
        sh_text_puts(text, "]}");
    }
    sh_text_puts(text, "]");
}
