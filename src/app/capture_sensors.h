/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_SENSORS_H
#define SH_APP_CAPTURE_SENSORS_H

#include "app/capture_setup.h"
#include "sensor/port.h"

/*
 * Which sensors a capture reads, and at which ports: the one way by which they come into its
 * setup, whether they were given on the command line or chosen on a page later.
 * Test: tests/app/test_capture_sensors.c.
 */
struct sh_capture_choice {
    size_t n_sensors;                                   /* 0 to SH_CAPTURE_SETUP_SENSORS_MAX */
    struct sh_profile *profiles;                        /* owned, [n_sensors]; NULL with 0 */
    const char *address[SH_CAPTURE_SETUP_SENSORS_MAX];  /* NULL: the profile's own */
    const char *file[SH_CAPTURE_SETUP_SENSORS_MAX];     /* the profile's, for what is said */
    struct sh_port *port[SH_CAPTURE_SETUP_SENSORS_MAX]; /* owned; see app/capture_ports.h */
    /* Readings at which each channel of the profile's streams is 0, in place of the profile's
     * own; NULL: those. Borrowed until the sensors have been put in. */
    const double (*zero[SH_CAPTURE_SETUP_SENSORS_MAX])[SH_STREAM_CHANNELS_MAX];
};

/* Room for n_sensors profiles, all zero. SH_ERR_MEMORY, SH_ERR_ARGUMENT (too many). To be
 * closed whatever comes back. */
enum sh_status sh_capture_choice_open(struct sh_capture_choice *choice,
                                      size_t n_sensors,
                                      struct sh_error *err);

/* Frees the profiles, closes the ports and zeroes it. Takes a zeroed choice. */
void sh_capture_choice_close(struct sh_capture_choice *choice);

/* Where a sensor is to be found: the address given, else its profile's; "": neither. */
const char *sh_capture_choice_get_address(const struct sh_capture_choice *choice,
                                          size_t sensor);

/*
 * Can these sensors be read side by side? SH_ERR_ARGUMENT: over SH_STREAMS_MAX streams in all,
 * two of one name, a sensor without a port, or two at one port.
 */
enum sh_status sh_capture_choice_check(const struct sh_capture_choice *choice,
                                       struct sh_error *err);

/*
 * Puts the sensors into setup in place of those there, and their streams into its session, at
 * the zeros of the choice: takes profiles and ports (choice is zeroed), copies the addresses.
 * Nobody may read the sensors of setup meanwhile. Statuses of sh_capture_choice_check,
 * SH_ERR_MEMORY: nothing is changed.
 */
enum sh_status sh_capture_sensors_put(struct sh_capture_setup *setup,
                                      struct sh_capture_choice *choice,
                                      struct sh_error *err);

/*
 * Reads the profiles that setup was given and puts them in, each at its port; command is for
 * what is said. Where setup may wait (and is no replay) no sensor may be given, or one without
 * a port: then none are put in. SH_ERR_ARGUMENT; statuses of sh_profile_read and
 * sh_capture_sensors_put.
 */
enum sh_status sh_capture_sensors_read(struct sh_capture_setup *setup,
                                       const char *command,
                                       struct sh_error *err);

/* Takes all sensors out of setup. */
void sh_capture_sensors_clear(struct sh_capture_setup *setup);

#endif
