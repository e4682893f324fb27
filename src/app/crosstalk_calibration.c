/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/crosstalk_calibration.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/table_line.h"
#include "metrology/crosstalk.h"
#include "metrology/scale.h"

#define BLANKS     " \t\r"
#define TODO_LINE  "write a finger or none, a mass, and the counts of all recorded columns"
#define TODO_ENTRY "write a finger and a mass, as in: index, 1 kg; none, done or quit"
#define PER_CENT   100.0
#define LIMIT_95   1.96

struct work {
    struct sh_calibration_setup *setup;
    struct sh_stream *stream;              /* of its profile */
    size_t finger[SH_STREAM_CHANNELS_MAX]; /* channel of each force */
    size_t n_fingers;
    double rest_n[SH_STREAM_CHANNELS_MAX]; /* of the last reading without load */
    bool has_rest;
    struct sh_crosstalk_reading reading[SH_CROSSTALK_READINGS_MAX];
    size_t n;
};

/* Who is loaded with what. */
struct load {
    bool is_none;
    size_t loaded; /* which of the forces */
    double force_n;
};

static const char *get_name(const struct sh_channel *channel)
{
    return channel->role == SH_ROLE_FINGER_FORCE ? sh_channel_finger_name(channel->finger)
                                                 : "string";
}

static void find_fingers(struct work *work)
{
    for (size_t i = 0; i < work->stream->n_channels; i++) {
        const enum sh_role role = work->stream->channel[i].role;
        if (role == SH_ROLE_FINGER_FORCE || role == SH_ROLE_STRING_FORCE) {
            work->finger[work->n_fingers++] = i;
        }
    }
}

/* "index, 1 kg" from the front of a line; *rest_of_line is what follows, or NULL. */
static bool parse_load(const struct work *work, char *line, struct load *load, char **rest)
{
    char *mass = sh_table_line_cut(line);
    *rest = mass != NULL ? sh_table_line_cut(mass) : NULL;
    const char *name = sh_table_line_trim(line);
    struct sh_hung_mass_force force = {0};
    double mass_kg = 0.0;
    *load = (struct load){.is_none = strcmp(name, "none") == 0};
    for (size_t i = 0; i < work->n_fingers; i++) {
        if (strcmp(name, get_name(&work->stream->channel[work->finger[i]])) == 0) {
            load->loaded = i;
            const bool is_mass =
                mass != NULL && sh_hung_mass_parse(sh_table_line_trim(mass), &mass_kg) &&
                mass_kg > 0.0 &&
                sh_hung_mass_get_force(&work->setup->place, mass_kg, &force) == SH_OK;
            load->force_n = force.force_n;
            return is_mass;
        }
    }
    return load->is_none;
}

/* Keeps the rest level, or a reading less it. False: rest is missing, or no room. */
static bool add_counts(struct work *work, const struct load *load, const double *counts)
{
    double value_n[SH_STREAM_CHANNELS_MAX];
    for (size_t i = 0; i < work->n_fingers; i++) {
        const size_t channel = work->finger[i];
        value_n[i] = sh_scale_value(&work->stream->channel[channel], counts[channel]);
    }
    if (load->is_none) {
        memcpy(work->rest_n, value_n, sizeof value_n);
        work->has_rest = true;
        return true;
    }
    if (!work->has_rest || work->n == SH_CROSSTALK_READINGS_MAX) {
        return false;
    }
    struct sh_crosstalk_reading *reading = &work->reading[work->n++];
    *reading = (struct sh_crosstalk_reading){.loaded = load->loaded, .force_n = load->force_n};
    for (size_t i = 0; i < work->n_fingers; i++) {
        reading->value_n[i] = value_n[i] - work->rest_n[i];
    }
    return true;
}

static bool parse_counts(const struct work *work, char *text, double *counts)
{
    for (size_t i = 0; i < work->stream->n_channels; i++) {
        if (text == NULL) {
            return false;
        }
        char *end = NULL;
        counts[i] = strtod(text, &end);
        if (end == text || !isfinite(counts[i])) {
            return false;
        }
        end += strspn(end, BLANKS);
        if (*end != '\0' && *end != ',' && *end != ';') {
            return false;
        }
        text = *end != '\0' ? end + 1 : NULL;
    }
    return text == NULL;
}

static enum sh_status
take_line(void *context, char *line, const char *where, struct sh_error *err)
{
    struct work *work = context;
    double counts[SH_STREAM_CHANNELS_MAX] = {0};
    struct load load;
    char *rest = NULL;
    if (!parse_load(work, line, &load, &rest) || !parse_counts(work, rest, counts)) {
        return sh_error_set(err, SH_ERR_FORMAT, where, TODO_LINE, "this line cannot be read");
    }
    if (!add_counts(work, &load, counts)) {
        return sh_error_set(err, SH_ERR_FORMAT, where,
                            "begin with a line none, 0, ...; take 256 readings at most",
                            "this reading has no rest level before it, or no room");
    }
    return SH_OK;
}

/* One answer of the dialogue: reads the sensor under the load named. */
static enum sh_status obey(struct work *work,
                           struct sh_calibration_dialogue *dialogue,
                           char *line,
                           struct sh_error *err)
{
    struct load load;
    struct sh_averager_reading reading;
    char *rest = NULL;
    if (!parse_load(work, line, &load, &rest) || rest != NULL) {
        (void)fputs("  " TODO_ENTRY "\n", stderr);
        return SH_OK;
    }
    (void)fprintf(stderr, "  reading for %g s ...\n", work->setup->seconds);
    const size_t channel = work->finger[load.is_none ? 0 : load.loaded];
    enum sh_status status =
        sh_averager_take(dialogue->averager, channel, work->setup->seconds, &reading, err);
    if (status != SH_OK) {
        return status;
    }
    if (!add_counts(work, &load, reading.counts)) {
        (void)fputs("  read none first: nothing hangs\n", stderr);
        return SH_OK;
    }
    for (size_t i = 0; i < work->n_fingers; i++) {
        (void)fprintf(stderr, "  %s %.2f", get_name(&work->stream->channel[work->finger[i]]),
                      reading.counts[work->finger[i]]);
    }
    (void)fputs(reading.is_settled ? " counts; settled\n" : " counts; STILL MOVING\n", stderr);
    return SH_OK;
}

static enum sh_status
ask(struct work *work, struct sh_calibration_dialogue *dialogue, struct sh_error *err)
{
    char line[SH_PROMPT_LINE_BYTES];
    enum sh_status status = sh_calibration_dialogue_begin(dialogue, err);
    (void)fputs(status == SH_OK ? "First none; then each finger with two masses or more.\n"
                                : "",
                stderr);
    while (status == SH_OK) {
        status = sh_calibration_dialogue_ask(
            dialogue, "Finger and mass (index, 1 kg; none; done; quit): ", line, err);
        if (status == SH_OK && strcmp(line, "done") == 0) {
            break;
        }
        if (status == SH_OK && strcmp(line, "quit") == 0) {
            status = sh_error_set(err, SH_ERR_NOT_FOUND, "calibrate",
                                  "begin anew; nothing was written", "given up");
        }
        status = status == SH_OK ? obey(work, dialogue, line, err) : status;
    }
    sh_calibration_dialogue_end(dialogue);
    return status;
}

static void
tell(const struct work *work, const struct sh_crosstalk *found, struct sh_text *text)
{
    for (size_t i = 0; i < work->n_fingers; i++) {
        const char *name = get_name(&work->stream->channel[work->finger[i]]);
        sh_text_printf(text, "Of 100 N on %s the sensors show:", name);
        for (size_t k = 0; k < work->n_fingers; k++) {
            sh_text_printf(text, "%s %s %.1f +-%.1f N", k > 0 ? "," : "",
                           get_name(&work->stream->channel[work->finger[k]]),
                           PER_CENT * found->share[k][i],
                           PER_CENT * LIMIT_95 * found->share_u[k][i]);
        }
        sh_text_puts(text, ".\n");
    }
    sh_text_puts(text, "The matrix that undoes it:\n");
    for (size_t i = 0; i < work->n_fingers; i++) {
        for (size_t k = 0; k < work->n_fingers; k++) {
            sh_text_printf(text, " %9.5f", found->matrix[i][k]);
        }
        sh_text_puts(text, "\n");
    }
}

/* Numbers that are no forces stay as they are. */
static void put_matrix(struct work *work, const struct sh_crosstalk *found)
{
    struct sh_stream *stream = work->stream;
    stream->has_crosstalk = true;
    for (size_t i = 0; i < stream->n_channels; i++) {
        for (size_t k = 0; k < stream->n_channels; k++) {
            stream->crosstalk[i][k] = i == k ? 1.0 : 0.0;
        }
    }
    for (size_t i = 0; i < work->n_fingers; i++) {
        for (size_t k = 0; k < work->n_fingers; k++) {
            stream->crosstalk[work->finger[i]][work->finger[k]] = found->matrix[i][k];
        }
    }
}

enum sh_status sh_crosstalk_calibration_run(struct sh_calibration_setup *setup,
                                            struct sh_calibration_dialogue *dialogue,
                                            struct sh_text *text,
                                            struct sh_error *err)
{
    struct work *work = calloc(1, sizeof *work);
    struct sh_crosstalk found;
    if (work == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    work->setup = setup;
    work->stream = &setup->profile->streams[setup->stream].stream;
    find_fingers(work);
    const struct sh_table_line_sink sink = {take_line, work};
    enum sh_status status =
        setup->from != NULL
            ? sh_table_line_read(setup->from, "give --from a file of readings", &sink, err)
            : ask(work, dialogue, err);
    if (status == SH_OK) {
        status = sh_crosstalk_solve(work->reading, work->n, work->n_fingers, &found);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, setup->from != NULL ? setup->from : "calibrate",
                               "load each finger alone, with two masses or more",
                               "no crosstalk can be worked out: %s", sh_status_text(status));
        }
    }
    if (status == SH_OK) {
        tell(work, &found, text);
        put_matrix(work, &found);
    }
    free(work);
    return status;
}
