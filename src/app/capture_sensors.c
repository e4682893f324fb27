/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_sensors.h"

#include <stdlib.h>
#include <string.h>

enum sh_status
sh_capture_choice_open(struct sh_capture_choice *choice, size_t n_sensors, struct sh_error *err)
{
    *choice = (struct sh_capture_choice){0};
    if (n_sensors > SH_CAPTURE_SETUP_SENSORS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, "take up to 8 sensors", "%zu sensors",
                            n_sensors);
    }
    if (n_sensors > 0) {
        choice->profiles = calloc(n_sensors, sizeof *choice->profiles);
        if (choice->profiles == NULL) {
            return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        }
    }
    choice->n_sensors = n_sensors;
    return SH_OK;
}

void sh_capture_choice_close(struct sh_capture_choice *choice)
{
    for (size_t i = 0; i < choice->n_sensors; i++) {
        sh_port_close(&choice->port[i]);
    }
    free(choice->profiles);
    *choice = (struct sh_capture_choice){0};
}

const char *sh_capture_choice_get_address(const struct sh_capture_choice *choice, size_t sensor)
{
    return choice->address[sensor] != NULL ? choice->address[sensor]
                                           : choice->profiles[sensor].port;
}

/* How many streams of this name the first n_sensors have. */
static size_t
count_named(const struct sh_capture_choice *choice, size_t n_sensors, const char *name)
{
    size_t n = 0;
    for (size_t i = 0; i < n_sensors; i++) {
        const struct sh_profile *profile = &choice->profiles[i];
        for (size_t k = 0; k < profile->n_streams; k++) {
            n += strcmp(profile->streams[k].stream.name, name) == 0 ? 1 : 0;
        }
    }
    return n;
}

/* Names stay apart: each becomes that of a file. */
static enum sh_status check_streams(const struct sh_capture_choice *choice,
                                    size_t sensor,
                                    size_t n_before,
                                    struct sh_error *err)
{
    const struct sh_profile *profile = &choice->profiles[sensor];
    if (n_before + profile->n_streams > SH_STREAMS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, choice->file[sensor], "take fewer sensors",
                            "over 8 streams in all");
    }
    for (size_t k = 0; k < profile->n_streams; k++) {
        const char *name = profile->streams[k].stream.name;
        if (count_named(choice, sensor + 1, name) > 1) {
            return sh_error_set(err, SH_ERR_ARGUMENT, choice->file[sensor],
                                "rename one of them", "two streams are called '%s'", name);
        }
    }
    return SH_OK;
}

/* Two readers would each get some of the bytes. */
static bool is_taken(const struct sh_capture_choice *choice, size_t sensor)
{
    for (size_t i = 0; i < sensor; i++) {
        if (strcmp(sh_capture_choice_get_address(choice, i),
                   sh_capture_choice_get_address(choice, sensor)) == 0) {
            return true;
        }
    }
    return false;
}

static enum sh_status
check_port(const struct sh_capture_choice *choice, size_t sensor, struct sh_error *err)
{
    const char *address = sh_capture_choice_get_address(choice, sensor);
    if (address[0] == '\0') {
        return sh_error_set(err, SH_ERR_ARGUMENT, choice->file[sensor],
                            "give --port, or port = in the profile", "no port for this sensor");
    }
    return is_taken(choice, sensor) ? sh_error_set(err, SH_ERR_ARGUMENT, choice->file[sensor],
                                                   "give each sensor a port of its own",
                                                   "two sensors at '%s'", address)
                                    : SH_OK;
}

enum sh_status sh_capture_choice_check(const struct sh_capture_choice *choice,
                                       struct sh_error *err)
{
    enum sh_status status = SH_OK;
    size_t n_streams = 0;
    for (size_t i = 0; i < choice->n_sensors && status == SH_OK; i++) {
        status = check_streams(choice, i, n_streams, err);
        n_streams += choice->profiles[i].n_streams;
    }
    for (size_t i = 0; i < choice->n_sensors && status == SH_OK; i++) {
        status = check_port(choice, i, err);
    }
    return status;
}

/* A stream of a profile, at the zeros of its channels where there are other ones. */
static void
put_stream(struct sh_session *session, const struct sh_stream *stream, const double *zero)
{
    struct sh_stream *to = &session->streams[session->n_streams++].stream;
    *to = *stream;
    for (size_t c = 0; zero != NULL && c < stream->n_channels; c++) {
        to->channel[c].zero = zero[c];
    }
}

static void put_streams(const struct sh_capture_choice *choice, struct sh_session *session)
{
    for (size_t i = 0; i < choice->n_sensors; i++) {
        const struct sh_profile *profile = &choice->profiles[i];
        for (size_t k = 0; k < profile->n_streams; k++) {
            put_stream(session, &profile->streams[k].stream,
                       choice->zero[i] != NULL ? choice->zero[i][k] : NULL);
        }
    }
}

enum sh_status sh_capture_sensors_put(struct sh_capture_setup *setup,
                                      struct sh_capture_choice *choice,
                                      struct sh_error *err)
{
    const char *address[SH_CAPTURE_SETUP_SENSORS_MAX];
    size_t n_bytes = 1;
    enum sh_status status = sh_capture_choice_check(choice, err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < choice->n_sensors; i++) {
        address[i] = sh_capture_choice_get_address(choice, i);
        n_bytes += strlen(address[i]) + 1;
    }
    char *text = malloc(n_bytes);
    if (text == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    sh_capture_sensors_clear(setup);
    char *to = text;
    for (size_t i = 0; i < choice->n_sensors; i++) {
        const size_t n = strlen(address[i]) + 1;
        memcpy(to, address[i], n);
        setup->address[i] = to;
        setup->port[i] = choice->port[i];
        to += n;
    }
    setup->addresses = text;
    setup->n_sensors = choice->n_sensors;
    setup->profiles = choice->profiles;
    put_streams(choice, setup->session);
    *choice = (struct sh_capture_choice){0};
    return SH_OK;
}

void sh_capture_sensors_clear(struct sh_capture_setup *setup)
{
    free(setup->profiles);
    free(setup->addresses);
    setup->profiles = NULL;
    setup->addresses = NULL;
    setup->n_sensors = 0;
    for (size_t i = 0; i < SH_CAPTURE_SETUP_SENSORS_MAX; i++) {
        sh_port_close(&setup->port[i]);
        setup->address[i] = NULL;
        setup->session->streams[i] = (struct sh_session_stream){.n_gaps = 0};
    }
    setup->session->n_streams = 0;
}

/* Ports are given in the order of the sensors. */
static enum sh_status read_profiles(const struct sh_capture_setup_given *given,
                                    struct sh_capture_choice *choice,
                                    struct sh_error *err)
{
    enum sh_status status = sh_capture_choice_open(choice, given->n_profiles, err);
    for (size_t i = 0; i < choice->n_sensors && status == SH_OK; i++) {
        choice->file[i] = given->profile[i];
        choice->address[i] = i < given->n_ports ? given->port[i] : NULL;
        status = sh_profile_read(given->profile[i], &choice->profiles[i], err);
    }
    return status;
}

/* Is there a sensor whose port somebody still has to choose? */
static bool has_portless(const struct sh_capture_choice *choice)
{
    for (size_t i = 0; i < choice->n_sensors; i++) {
        if (sh_capture_choice_get_address(choice, i)[0] == '\0') {
            return true;
        }
    }
    return false;
}

enum sh_status sh_capture_sensors_read(struct sh_capture_setup *setup,
                                       const char *command,
                                       struct sh_error *err)
{
    const struct sh_capture_setup_given *given = &setup->given;
    const bool may_wait = setup->may_wait && !setup->is_replay;
    struct sh_capture_choice choice;
    if (given->n_profiles == 0) {
        return may_wait ? SH_OK
                        : sh_error_set(err, SH_ERR_ARGUMENT, command, "give --sensor FILE",
                                       "no sensor profile given");
    }
    if (given->n_ports > given->n_profiles) {
        return sh_error_set(err, SH_ERR_ARGUMENT, command, "give a --sensor for each --port",
                            "%zu ports for %zu sensors", given->n_ports, given->n_profiles);
    }
    enum sh_status status = read_profiles(given, &choice, err);
    if (status == SH_OK && !(may_wait && has_portless(&choice))) {
        status = sh_capture_sensors_put(setup, &choice, err);
    }
    sh_capture_choice_close(&choice);
    return status;
}
