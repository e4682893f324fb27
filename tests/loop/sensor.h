/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_SENSOR_H
#define SH_TESTS_LOOP_SENSOR_H

#include "loop/program.h"

/*
 * A sensor played by `stringhand simulate --pty`: the other end of the closed loop. All fail
 * the running test where they cannot.
 */

struct sensor {
    struct program program;
    char port[SCRATCH_PATH_BYTES];    /* a link to the pseudo-terminal */
    char profile[SCRATCH_PATH_BYTES]; /* for capture --sensor */
    char truth[SCRATCH_PATH_BYTES];
};

struct sensor_config {
    const struct scratch *scratch;
    const char *name; /* of its files */
    const char *set;  /* simulate --set */
    const char *draws;
    const char *speed; /* simulate --speed */
};

/* Starts it and waits for its port. */
void sensor_start(struct sensor *sensor, const struct sensor_config *config);

/* Waits for its end, which must be a good one. */
void sensor_end(struct sensor *sensor);

/* Reads its port into a file until it hangs up, and waits for its end. */
void sensor_save(struct sensor *sensor, const char *path);

#endif
