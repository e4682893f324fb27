/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_setup.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/capture_sensors.h"
#include "app/clock_setup.h"
#include "base/units.h"
#include "recording/bow_file.h"
#include "report/utf8.h"

#define DRAW_WEIGHT_MAX_N     400.0
#define STIFFNESS_MAX_N_PER_M 2000.0
#define DISTANCE_MAX_M        200.0
#define SECONDS_MAX_S         2.0e6

const struct sh_command_option sh_capture_setup_options[SH_CAPTURE_SETUP_N_OPTIONS] = {
    SH_CAPTURE_SETUP_OPTIONS_LIST(SH_CAPTURE_SETUP_OPTION)};

/* One option being read. */
struct reading {
    const char *command; /* its name, for what is said */
    struct sh_capture_setup *setup;
    const char *home;
    const char *thresholds;
    const char *clock;
    const char *rounds;
    size_t n_settings; /* of the clock's format */
    struct sh_error *err;
};

static enum sh_status
refuse(const struct reading *reading, const char *option, const char *text, const char *todo)
{
    char where[64];
    (void)snprintf(where, sizeof where, "%s --%s", reading->command, option);
    return sh_error_set(reading->err, SH_ERR_ARGUMENT, where, todo, "'%s' cannot be used",
                        text);
}

static bool parse_number(const char *text, double low, double high, double *value)
{
    char *end = NULL;
    double number = strtod(text, &end);
    if (end == text || *end != '\0' || !(number > low && number <= high)) {
        return false;
    }
    *value = number;
    return true;
}

bool sh_capture_setup_parse_force(const char *text, bool per_length, double *value)
{
    static const struct {
        const char *unit;
        bool per_length;
        double factor;
    } units[] = {{"", false, 1.0},
                 {"N", false, 1.0},
                 {"lb", false, SH_UNITS_LBF_N},
                 {"lbf", false, SH_UNITS_LBF_N},
                 {"", true, 1.0},
                 {"N/m", true, 1.0},
                 {"lb/in", true, SH_UNITS_LBF_N / SH_UNITS_INCH_M},
                 {"lbf/in", true, SH_UNITS_LBF_N / SH_UNITS_INCH_M}};
    char *end = NULL;
    double number = strtod(text, &end);
    if (end == text || !(number > 0.0) || !isfinite(number)) {
        return false;
    }
    while (*end == ' ') {
        end++;
    }
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (units[i].per_length == per_length && strcmp(units[i].unit, end) == 0) {
            *value = number * units[i].factor;
            return true;
        }
    }
    return false;
}

static enum sh_status copy_name(struct reading *reading,
                                const char *option,
                                const char *text,
                                char to[SH_SESSION_NAME_BYTES])
{
    size_t n_bytes = strlen(text);
    if (n_bytes >= SH_SESSION_NAME_BYTES) {
        return refuse(reading, option, text, "take up to 127 bytes");
    }
    if (!sh_utf8_is_valid(text)) {
        return refuse(reading, option, text, "write it in UTF-8");
    }
    memcpy(to, text, n_bytes + 1);
    return SH_OK;
}

static enum sh_status read_tag(struct reading *reading, const char *text)
{
    struct sh_session *session = reading->setup->session;
    const char *sign = strchr(text, '=');
    struct sh_tag tag = {0};
    if (sign == NULL || sign == text || session->n_tags == SH_SESSION_TAGS_MAX ||
        (size_t)(sign - text) >= sizeof tag.key || strlen(sign + 1) >= sizeof tag.value) {
        return refuse(reading, "tag", text, "write KEY=TEXT, up to 32 of them");
    }
    if (!sh_utf8_is_valid(text)) {
        return refuse(reading, "tag", text, "write it in UTF-8");
    }
    memcpy(tag.key, text, (size_t)(sign - text));
    memcpy(tag.value, sign + 1, strlen(sign + 1) + 1);
    session->tags[session->n_tags++] = tag;
    return SH_OK;
}

static enum sh_status read_bow(struct reading *reading, const char *option, const char *text)
{
    struct sh_bow *bow = &reading->setup->session->bow;
    double value = 0.0;
    if (strcmp(option, "bow") == 0) {
        return copy_name(reading, option, text, bow->name);
    }
    if (strcmp(option, "clicker") == 0) {
        bool is_yes = strcmp(text, "yes") == 0;
        bow->clicker = is_yes ? SH_ANSWER_YES : SH_ANSWER_NO;
        return is_yes || strcmp(text, "no") == 0
                   ? SH_OK
                   : refuse(reading, option, text, "say yes or no");
    }
    bool is_stiffness = strcmp(option, "stiffness") == 0;
    double most = is_stiffness ? STIFFNESS_MAX_N_PER_M : DRAW_WEIGHT_MAX_N;
    if (!sh_capture_setup_parse_force(text, is_stiffness, &value) || value > most) {
        return refuse(reading, option, text,
                      is_stiffness ? "take N/m, or lb/in" : "take N, or lb");
    }
    *(is_stiffness ? &bow->stiffness_n_per_m : &bow->draw_weight_n) =
        sh_quantity_known(value, 0.0);
    return SH_OK;
}

/* The figures of a file; options behind it go before them. */
static enum sh_status read_bow_file(struct reading *reading, const char *path)
{
    struct sh_bow_file file;
    enum sh_status status = sh_bow_file_read(path, &file, reading->err);
    if (status == SH_OK) {
        reading->setup->session->bow = file.bow;
    }
    return status;
}

static enum sh_status take_sensor(struct reading *reading, const char *option, const char *text)
{
    struct sh_capture_setup_given *given = &reading->setup->given;
    bool is_port = strcmp(option, "port") == 0;
    size_t *n = is_port ? &given->n_ports : &given->n_profiles;
    if (*n == SH_CAPTURE_SETUP_SENSORS_MAX) {
        return refuse(reading, option, text, "take up to 8 sensors");
    }
    (is_port ? given->port : given->profile)[(*n)++] = text;
    return SH_OK;
}

/* An option of the shooting clock; true where it was one. The louder of two counts. */
static bool take_clock_option(struct reading *reading, const char *option, const char *text)
{
    struct sh_capture_setup *setup = reading->setup;
    if (strcmp(option, "clock") == 0) {
        reading->clock = text;
    } else if (strcmp(option, "rounds") == 0) {
        reading->rounds = text;
    } else if (strcmp(option, "set") == 0) {
        reading->n_settings++;
    } else if (strcmp(option, "clock-signals") == 0) {
        setup->clock_voice = SH_CLOCK_VOICE_SIGNALS;
    } else if (strcmp(option, "clock-sound") != 0) {
        return false;
    } else if (setup->clock_voice == SH_CLOCK_VOICE_SILENT) {
        setup->clock_voice = SH_CLOCK_VOICE_ONCE;
    }
    return true;
}

static enum sh_status read_other(struct reading *reading, const char *option, const char *text)
{
    struct sh_capture_setup *setup = reading->setup;
    if (take_clock_option(reading, option, text)) {
        return SH_OK;
    }
    if (strcmp(option, "out") == 0) {
        setup->out = text;
        return text[0] != '\0' ? SH_OK : refuse(reading, option, text, "give a folder");
    }
    if (strcmp(option, "format") == 0) {
        setup->format = sh_format_find(text);
        return setup->format != NULL ? SH_OK
                                     : refuse(reading, option, text, "take table, json or csv");
    }
    if (strcmp(option, "home") == 0) {
        reading->home = text;
    } else if (strcmp(option, "thresholds") == 0) {
        reading->thresholds = text;
    } else if (strcmp(option, "flac") == 0) {
        setup->to_flac = true;
    } else if (strcmp(option, "sound") == 0) {
        setup->has_sound = true;
    } else if (strcmp(option, "goal-sound") == 0) {
        setup->has_goal_sound = true;
    } else if (strcmp(option, "replay") == 0) {
        setup->is_replay = true;
    } else if (strcmp(option, "seconds") == 0) {
        return parse_number(text, 0.0, SECONDS_MAX_S, &setup->seconds)
                   ? SH_OK
                   : refuse(reading, option, text, "give seconds above 0");
    } else if (strcmp(option, "distance") == 0) {
        struct sh_mark_number *distance_m = &setup->session->distance_m;
        distance_m->is_given = parse_number(text, 0.0, DISTANCE_MAX_M, &distance_m->value);
        return distance_m->is_given ? SH_OK
                                    : refuse(reading, option, text, "give metres to 200");
    }
    return SH_OK;
}

static enum sh_status read_option(struct reading *reading, const char *option, const char *text)
{
    struct sh_session *session = reading->setup->session;
    static const char *const bow_options[] = {"bow", "draw-weight", "stiffness", "clicker"};
    for (size_t i = 0; i < sizeof bow_options / sizeof bow_options[0]; i++) {
        if (strcmp(option, bow_options[i]) == 0) {
            return read_bow(reading, option, text);
        }
    }
    if (strcmp(option, "bow-file") == 0) {
        return read_bow_file(reading, text);
    }
    if (strcmp(option, "port") == 0 || strcmp(option, "sensor") == 0) {
        return take_sensor(reading, option, text);
    }
    if (strcmp(option, "athlete") == 0) {
        return copy_name(reading, option, text, session->athlete);
    }
    if (strcmp(option, "session") == 0) {
        return copy_name(reading, option, text, session->session);
    }
    return strcmp(option, "tag") == 0 ? read_tag(reading, text)
                                      : read_other(reading, option, text);
}

/* The clock's format, with what is changed of it. */
static enum sh_status read_clock(const struct reading *reading,
                                 const struct sh_command *command,
                                 const struct sh_command_line *line,
                                 struct sh_error *err)
{
    struct sh_round_format *format = &reading->setup->clock;
    char where[64];
    if (reading->clock == NULL) {
        (void)snprintf(where, sizeof where, "%s --set", command->name);
        return reading->n_settings == 0
                   ? SH_OK
                   : sh_error_set(err, SH_ERR_ARGUMENT, where, "give --clock NAME too",
                                  "there is no format to be changed");
    }
    (void)snprintf(where, sizeof where, "%s --clock", command->name);
    enum sh_status status =
        sh_clock_setup_find(reading->clock, reading->rounds, where, format, err);
    (void)snprintf(where, sizeof where, "%s --set", command->name);
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        if (strcmp(command->options[line->values[i].option].name, "set") == 0) {
            status = sh_clock_setup_set(format, line->values[i].text, where, err);
        }
    }
    status = status == SH_OK ? sh_round_format_check(format, where, err) : status;
    reading->setup->has_clock = status == SH_OK;
    return status;
}

enum sh_status sh_capture_setup_read(const struct sh_command *command,
                                     const struct sh_command_line *line,
                                     bool may_wait,
                                     struct sh_capture_setup *setup,
                                     struct sh_error *err)
{
    struct reading reading = {.command = command->name, .setup = setup, .err = err};
    *setup =
        (struct sh_capture_setup){.thresholds = sh_thresholds_default(), .may_wait = may_wait};
    setup->session = calloc(1, sizeof *setup->session);
    if (setup->session == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        status = read_option(&reading, command->options[line->values[i].option].name,
                             line->values[i].text);
    }
    if (status == SH_OK) {
        status = sh_capture_sensors_read(setup, command->name, err);
    }
    if (status == SH_OK && reading.thresholds != NULL) {
        status = sh_thresholds_read(reading.thresholds, &setup->thresholds, err);
        status = status == SH_ERR_ARGUMENT ? SH_ERR_FORMAT : status; /* of the file */
    }
    if (status == SH_OK) {
        status = read_clock(&reading, command, line, err);
    }
    return status == SH_OK ? sh_home_find(reading.home, setup->home, err) : status;
}

void sh_capture_setup_close(struct sh_capture_setup *setup)
{
    if (setup->session != NULL) {
        sh_capture_sensors_clear(setup);
        sh_session_close(setup->session);
    }
    free(setup->session);
    *setup = (struct sh_capture_setup){0};
}
