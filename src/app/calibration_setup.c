/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_setup.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/averager.h"
#include "app/calibration_result.h"
#include "base/day.h"
#include "base/units.h"
#include "metrology/gravity.h"

#define SECONDS_DEFAULT  3.0
#define MASS_RATIO       0.001  /* of a household scale */
#define FORCE_RATIO      0.01   /* of a bow scale */
#define DRAW_U_M         0.0015 /* reading a draw length against a ruler or an arrow */
#define GRAVITY_GIVEN_U  0.0005
#define LENGTH_MAX_M     2.0
#define GRAVITY_MIN_M_S2 9.7
#define GRAVITY_MAX_M_S2 9.9
#define MILLIMETRE_M     0.001
#define DRAW_U_MAX_M     0.05
#define LATITUDE_MAX_DEG 90.0

const struct sh_command_option sh_calibration_setup_options[] = {
    {"sensor", "FILE", "the profile to calibrate, see docs/sensor-profile.md", 0},
    {"port", "ADDRESS", "where the sensor is, if the profile does not say or it has moved", 0},
    {"stream", "NAME", "of the profile, where it has several", 0},
    {"column", "N", "number of the column, where there are several forces", 0},
    {"from", "FILE", "readings taken before, see docs/calibration.md", 0},
    {"crosstalk", NULL, "fingers loaded in turn: how much the neighbours show", 0},
    {"latitude", "DEGREES", "of the place, for its gravity; south is negative", 0},
    {"height", "METRES", "of the place above the sea (0)", 0},
    {"gravity", "M/S2", "in place of latitude and height", 0},
    {"mass-u", "SHARE", "standard uncertainty of the masses (0.001), common to all", 0},
    {"seconds", "S", "how long a reading is averaged (3)", 0},
    {"date", "DAY", "of the calibration, 2026-05-01 (today)", 0},
    {"write", NULL, "write the result without asking", 0},
    {"plain", NULL, "plots in plain ASCII", 0},
    {"format", "FORMAT", "table (default) or json", 0},
    {"bow", "TABLE", "a bow in place of a sensor: draw lengths and forces", 0},
    {"draw-length", "LENGTH", "the archer's, 28in or 711mm: pivot point to string + 1 3/4 in",
     0},
    {"draw-u", "LENGTH", "standard uncertainty of a draw length (1.5mm)", 0},
    {"force-u", "SHARE", "standard uncertainty of the bow scale (0.01)", 0},
    {"name", "NAME", "the bow's name", 0},
    {"out", "FILE", "the bow's file for capture --bow-file", 'o'},
};

const size_t sh_calibration_setup_n_options =
    sizeof sh_calibration_setup_options / sizeof sh_calibration_setup_options[0];

/* The command line being read, and what has to be settled after all of it was. */
struct reading {
    struct sh_calibration_setup *setup;
    const char *port;
    const char *stream;
    int column; /* 0: not given */
    bool has_latitude;
    bool has_height;
    bool has_gravity;
    double latitude_deg;
    double height_m;
    double gravity_m_s2;
    struct sh_error *err;
};

static enum sh_status
refuse(struct sh_error *err, const char *option, const char *text, const char *todo)
{
    char where[64];
    (void)snprintf(where, sizeof where, "calibrate --%s", option);
    return sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'%s' cannot be used", text);
}

bool sh_calibration_setup_parse_length(const char *text, double *length_m)
{
    static const struct {
        const char *unit;
        double factor;
    } units[] = {{"in", SH_UNITS_INCH_M}, {"mm", MILLIMETRE_M}, {"m", 1.0}};
    char *end = NULL;
    const double number = strtod(text, &end);
    if (end == text || !(number >= 0.0)) {
        return false;
    }
    end += strspn(end, " \t");
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(units[i].unit, end) == 0 && number * units[i].factor <= LENGTH_MAX_M) {
            *length_m = number * units[i].factor;
            return true;
        }
    }
    return false;
}

static bool parse_number(const char *text, double low, double high, double *out)
{
    char *end = NULL;
    const double value = strtod(text, &end);
    if (end == text || *end != '\0' || !(value >= low && value <= high)) {
        return false;
    }
    *out = value;
    return true;
}

/* An option that is one number within limits. */
struct number {
    const char *option;
    double *to;
    bool *given; /* or NULL */
    double low;
    double high;
    const char *todo;
};

static enum sh_status
take_number(struct reading *reading, const struct number *number, const char *text)
{
    if (!parse_number(text, number->low, number->high, number->to)) {
        return refuse(reading->err, number->option, text, number->todo);
    }
    if (number->given != NULL) {
        *number->given = true;
    }
    return SH_OK;
}

static enum sh_status read_number(struct reading *reading, const char *option, const char *text)
{
    struct sh_calibration_setup *setup = reading->setup;
    const struct number numbers[] = {
        {"latitude", &reading->latitude_deg, &reading->has_latitude, -LATITUDE_MAX_DEG,
         LATITUDE_MAX_DEG, "give degrees, -90 to 90"},
        {"height", &reading->height_m, &reading->has_height, SH_GRAVITY_HEIGHT_MIN_M,
         SH_GRAVITY_HEIGHT_MAX_M, "give metres, -500 to 9000"},
        {"gravity", &reading->gravity_m_s2, &reading->has_gravity, GRAVITY_MIN_M_S2,
         GRAVITY_MAX_M_S2, "give m/s2, 9.7 to 9.9"},
        {"mass-u", &setup->place.mass_u_ratio, NULL, 0.0, 0.5, "give a share, as 0.001"},
        {"force-u", &setup->force_ratio, NULL, 0.0, 0.5, "give a share, as 0.01"},
        {"seconds", &setup->seconds, NULL, SH_AVERAGER_SECONDS_MIN, SH_AVERAGER_SECONDS_MAX,
         "give 0.5 to 60 s"},
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        if (strcmp(option, numbers[i].option) == 0) {
            return take_number(reading, &numbers[i], text);
        }
    }
    return SH_OK;
}

static enum sh_status read_flag(struct reading *reading, const char *option, const char *text)
{
    struct sh_calibration_setup *setup = reading->setup;
    if (strcmp(option, "crosstalk") == 0) {
        setup->job = SH_CALIBRATION_JOB_CROSSTALK;
    } else if (strcmp(option, "write") == 0) {
        setup->is_told_to_write = true;
    } else if (strcmp(option, "plain") == 0) {
        setup->is_plain = true;
    } else if (strcmp(option, "format") == 0) {
        setup->is_json = strcmp(text, "json") == 0;
        if (!setup->is_json && strcmp(text, "table") != 0) {
            return refuse(reading->err, option, text, "take table or json");
        }
    }
    return SH_OK;
}

/* Options that are a text as it is, or one that has a form. */
static enum sh_status read_text(struct reading *reading, const char *option, const char *text)
{
    struct sh_calibration_setup *setup = reading->setup;
    const struct {
        const char *option;
        const char **to;
    } texts[] = {{"sensor", &setup->path},     {"port", &reading->port},
                 {"stream", &reading->stream}, {"from", &setup->from},
                 {"bow", &setup->bow},         {"name", &setup->name},
                 {"out", &setup->out}};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (strcmp(option, texts[i].option) == 0) {
            *texts[i].to = text;
            return text[0] != '\0' ? SH_OK : refuse(reading->err, option, text, "name one");
        }
    }
    if (strcmp(option, "date") == 0) {
        int day = 0;
        if (!sh_day_parse(text, &day)) {
            return refuse(reading->err, option, text, "give the day as 2026-05-01");
        }
        (void)snprintf(setup->date, sizeof setup->date, "%s", text);
    }
    if (strcmp(option, "column") == 0) {
        double column = 0.0;
        if (!parse_number(text, 1.0, SH_STREAM_CHANNELS_MAX, &column) ||
            fabs(column - floor(column)) > 0.0) {
            return refuse(reading->err, option, text, "give its number, from 1");
        }
        reading->column = (int)column;
    }
    return SH_OK;
}

static enum sh_status read_length(struct reading *reading, const char *option, const char *text)
{
    struct sh_calibration_setup *setup = reading->setup;
    if (strcmp(option, "draw-length") == 0 &&
        (!sh_calibration_setup_parse_length(text, &setup->draw_length_m) ||
         !(setup->draw_length_m > 0.0))) {
        return refuse(reading->err, option, text, "write 28in or 711mm");
    }
    if (strcmp(option, "draw-u") == 0 &&
        (!sh_calibration_setup_parse_length(text, &setup->draw_u_m) ||
         setup->draw_u_m > DRAW_U_MAX_M)) {
        return refuse(reading->err, option, text, "write 1.5mm, 50mm at most");
    }
    return SH_OK;
}

static enum sh_status read_option(struct reading *reading, const char *option, const char *text)
{
    enum sh_status status = read_number(reading, option, text);
    status = status == SH_OK ? read_flag(reading, option, text) : status;
    status = status == SH_OK ? read_text(reading, option, text) : status;
    return status == SH_OK ? read_length(reading, option, text) : status;
}

static enum sh_status find_place(struct reading *reading)
{
    struct sh_calibration_setup *setup = reading->setup;
    struct sh_quantity *gravity = &setup->place.gravity_m_s2;
    if (reading->has_gravity && (reading->has_latitude || reading->has_height)) {
        return sh_error_set(reading->err, SH_ERR_ARGUMENT, "calibrate --gravity",
                            "give gravity, or latitude and height",
                            "gravity and a place are given");
    }
    if (reading->has_height && !reading->has_latitude) {
        return sh_error_set(reading->err, SH_ERR_ARGUMENT, "calibrate --height",
                            "give --latitude too", "a height alone says nothing of gravity");
    }
    setup->is_gravity_given = reading->has_gravity || reading->has_latitude;
    *gravity = sh_quantity_known(SH_UNITS_G0_M_S2, SH_CALIBRATION_RESULT_G_U_M_S2);
    if (reading->has_gravity) {
        *gravity = sh_quantity_known(reading->gravity_m_s2, GRAVITY_GIVEN_U);
    }
    return reading->has_latitude
               ? sh_gravity_local(reading->latitude_deg, reading->height_m, gravity)
               : SH_OK;
}

static bool is_force(const struct sh_channel *channel)
{
    return channel->role == SH_ROLE_STRING_FORCE || channel->role == SH_ROLE_FINGER_FORCE;
}

static enum sh_status find_stream(struct reading *reading)
{
    struct sh_calibration_setup *setup = reading->setup;
    const struct sh_profile *profile = setup->profile;
    size_t found = 0;
    if (reading->stream == NULL) {
        /* the first with a force */
        while (found < profile->n_streams &&
               !is_force(&profile->streams[found].stream.channel[0])) {
            found++;
        }
        found = found < profile->n_streams ? found : 0;
    } else {
        while (found < profile->n_streams &&
               strcmp(profile->streams[found].stream.name, reading->stream) != 0) {
            found++;
        }
    }
    setup->stream = found;
    return found < profile->n_streams
               ? SH_OK
               : sh_error_set(reading->err, SH_ERR_FORMAT, setup->path,
                              "give --stream as the profile names it",
                              "there is no stream '%s'", reading->stream);
}

static enum sh_status find_channel(struct reading *reading)
{
    struct sh_calibration_setup *setup = reading->setup;
    const struct sh_profile_stream *stream = &setup->profile->streams[setup->stream];
    size_t n_found = 0;
    for (size_t i = 0; i < stream->stream.n_channels; i++) {
        const bool is_asked =
            reading->column == 0 || stream->column[i] + 1 == (size_t)reading->column;
        if (is_asked && is_force(&stream->stream.channel[i])) {
            setup->channel = i;
            n_found++;
        }
    }
    if (n_found == 0) {
        return sh_error_set(reading->err, SH_ERR_FORMAT, setup->path,
                            "give --column of a string_force or finger_force",
                            "no force stands there");
    }
    if (n_found > 1 && setup->job == SH_CALIBRATION_JOB_FORCE) {
        return sh_error_set(reading->err, SH_ERR_ARGUMENT, "calibrate",
                            "say which with --column", "the stream has %zu forces", n_found);
    }
    if (n_found < 2 && setup->job == SH_CALIBRATION_JOB_CROSSTALK) {
        return sh_error_set(reading->err, SH_ERR_FORMAT, setup->path,
                            "crosstalk is between fingers of one stream",
                            "the stream has one force only");
    }
    return SH_OK;
}

static enum sh_status read_profile(struct reading *reading)
{
    struct sh_calibration_setup *setup = reading->setup;
    if (setup->path == NULL) {
        return sh_error_set(reading->err, SH_ERR_ARGUMENT, "calibrate",
                            "give --sensor FILE, or --bow TABLE", "no sensor profile given");
    }
    setup->profile = calloc(1, sizeof *setup->profile);
    if (setup->profile == NULL) {
        return sh_error_set(reading->err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    enum sh_status status = sh_profile_read(setup->path, setup->profile, reading->err);
    status = status == SH_OK ? find_stream(reading) : status;
    status = status == SH_OK ? find_channel(reading) : status;
    if (status != SH_OK) {
        return status;
    }
    setup->address = reading->port != NULL ? reading->port : setup->profile->port;
    if (setup->from == NULL && setup->address[0] == '\0') {
        return sh_error_set(reading->err, SH_ERR_ARGUMENT, "calibrate",
                            "give --port, or port = in the profile", "no port for this sensor");
    }
    if (setup->from == NULL && strcmp(setup->address, "-") == 0) {
        return sh_error_set(reading->err, SH_ERR_ARGUMENT, "calibrate --port",
                            "give another port, or --from FILE",
                            "standard input is where you answer");
    }
    return SH_OK;
}

static void set_today(char date[SH_CHANNEL_DATE_BYTES])
{
    const time_t now = time(NULL);
    struct tm local = {0};
    (void)localtime_r(&now, &local);
    (void)strftime(date, SH_CHANNEL_DATE_BYTES, "%Y-%m-%d", &local);
}

enum sh_status sh_calibration_setup_read(const struct sh_command *command,
                                         const struct sh_command_line *line,
                                         struct sh_calibration_setup *setup,
                                         struct sh_error *err)
{
    struct reading reading = {.setup = setup, .err = err};
    *setup = (struct sh_calibration_setup){.address = "",
                                           .place = {.mass_u_ratio = MASS_RATIO},
                                           .seconds = SECONDS_DEFAULT,
                                           .force_ratio = FORCE_RATIO,
                                           .draw_u_m = DRAW_U_M,
                                           .name = ""};
    set_today(setup->date);
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        status = read_option(&reading, command->options[line->values[i].option].name,
                             line->values[i].text);
    }
    if (status == SH_OK) {
        status = find_place(&reading);
    }
    if (status == SH_OK && setup->bow != NULL) {
        if (setup->path != NULL || setup->job == SH_CALIBRATION_JOB_CROSSTALK) {
            return sh_error_set(err, SH_ERR_ARGUMENT, "calibrate --bow",
                                "do one after the other", "a bow and a sensor are given");
        }
        setup->job = SH_CALIBRATION_JOB_BOW;
        return SH_OK;
    }
    return status == SH_OK ? read_profile(&reading) : status;
}

void sh_calibration_setup_close(struct sh_calibration_setup *setup)
{
    free(setup->profile);
    *setup = (struct sh_calibration_setup){0};
}
