/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CALIBRATION_SETUP_H
#define SH_APP_CALIBRATION_SETUP_H

#include <stdbool.h>

#include "app/command.h"
#include "metrology/hung_mass.h"
#include "sensor/profile.h"

/*
 * What a calibration was asked to do: the command line, checked and with the sensor's profile
 * read. Test: tests/app/test_calibration_setup.c.
 */

enum sh_calibration_job {
    SH_CALIBRATION_JOB_FORCE,     /* one column, from hung masses */
    SH_CALIBRATION_JOB_CROSSTALK, /* fingers loaded in turn */
    SH_CALIBRATION_JOB_BOW        /* a bow's force-draw table */
};

struct sh_calibration_setup {
    enum sh_calibration_job job;
    const char *path;           /* of the profile */
    struct sh_profile *profile; /* owned; NULL with a bow */
    const char *address;        /* of the port, "" where none is known */
    size_t stream;              /* of the profile */
    size_t channel;             /* of the stream */
    struct sh_hung_mass_place place;
    bool is_gravity_given;
    double seconds;       /* a reading is averaged so long */
    const char *from;     /* a file of readings; NULL: guided */
    const char *bow;      /* a force-draw table */
    double draw_length_m; /* the archer's, as the trade gives it (with 1 3/4 in); 0: the last */
    double draw_u_m;
    double force_ratio;
    const char *out;  /* a bow's file; NULL: none is written */
    const char *name; /* the bow's */
    char date[SH_CHANNEL_DATE_BYTES];
    bool is_json;
    bool is_plain;
    bool is_told_to_write; /* without asking */
};

/* The options, for command_calibrate's table. */
extern const struct sh_command_option sh_calibration_setup_options[];
extern const size_t sh_calibration_setup_n_options;

/*
 * Reads a parsed command line into *setup, to be closed whatever comes back. What cannot be
 * used on the command line is SH_ERR_ARGUMENT; else statuses of sh_profile_read, SH_ERR_FORMAT
 * where the profile has no such column.
 */
enum sh_status sh_calibration_setup_read(const struct sh_command *command,
                                         const struct sh_command_line *line,
                                         struct sh_calibration_setup *setup,
                                         struct sh_error *err);

/* Frees what the setup owns and zeroes it. */
void sh_calibration_setup_close(struct sh_calibration_setup *setup);

/* "28in", "28 in", "711 mm", "0.711 m" in metres; false where it is none. */
bool sh_calibration_setup_parse_length(const char *text, double *length_m);

#endif
