/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_SETUP_H
#define SH_APP_CAPTURE_SETUP_H

#include <stdbool.h>

#include "app/clock_voice.h"
#include "app/command.h"
#include "app/format.h"
#include "app/home.h"
#include "finding/thresholds.h"
#include "recording/session.h"
#include "sensor/port.h"
#include "sensor/profile.h"
#include "series/round_format.h"

/*
 * What a capture was asked to do: the command line, checked and with the sensors' profiles
 * read.
 */

#define SH_CAPTURE_SETUP_SENSORS_MAX SH_STREAMS_MAX

/* What --sensor and --port gave, as it was given: it may be chosen again later. */
struct sh_capture_setup_given {
    const char *profile[SH_CAPTURE_SETUP_SENSORS_MAX]; /* [n_profiles] */
    const char *port[SH_CAPTURE_SETUP_SENSORS_MAX];    /* [n_ports] */
    size_t n_profiles;
    size_t n_ports;
};

struct sh_capture_setup {
    size_t n_sensors;            /* see app/capture_sensors.h; 0: they are chosen later */
    struct sh_profile *profiles; /* owned, [n_sensors] */
    const char *address[SH_CAPTURE_SETUP_SENSORS_MAX];  /* [n_sensors] */
    char *addresses;                                    /* owned: what address points into */
    struct sh_port *port[SH_CAPTURE_SETUP_SENSORS_MAX]; /* owned: open already, for who reads
                                                           the sensors to take; else NULL */
    struct sh_capture_setup_given given;
    struct sh_session *session; /* owned: who and what, all streams of all sensors in order */
    struct sh_thresholds thresholds;
    const char *out; /* a folder's path as given, or NULL */
    char home[SH_HOME_PATH_BYTES];
    double seconds;                 /* 0: until told to end */
    const struct sh_format *format; /* of the shots at a recording's end; NULL: its path */
    struct sh_round_format clock;   /* of --clock */
    bool has_clock;
    enum sh_clock_voice_kind clock_voice;
    bool may_wait; /* sensors may be missing, come later, and go: as with a page */
    bool is_replay;
    bool to_flac;
    bool has_sound;      /* the terminal's bell at a warning, between shots */
    bool has_goal_sound; /* and after an arrow inside the archer's goal */
};

/* The options, for the tables of commands that capture: name, argument, help. */
#define SH_CAPTURE_SETUP_OPTIONS_LIST(X)                                                       \
    X("port", "ADDRESS",                                                                       \
      "where a sensor is: a path, usb:VID:PID, usb:SERIAL, tcp:HOST:PORT, -")                  \
    X("sensor", "FILE",                                                                        \
      "its profile, see docs/sensor-profile.md; one each port, in their order")                \
    X("athlete", "NAME", "who shoots; any name will do")                                       \
    X("session", "TEXT", "what ties recordings of one evening together")                       \
    X("bow", "NAME", "which bow")                                                              \
    X("bow-file", "FILE",                                                                      \
      "the bow's figures as calibrate --bow wrote them; other options may follow")             \
    X("draw-weight", "FORCE", "at the archer's draw length, in N, or with lb: 178 or 40lb")    \
    X("stiffness", "VALUE",                                                                    \
      "of the bow near full draw in N/m, or with lb/in: 410 or 2.4lb/in")                      \
    X("clicker", "ANSWER", "yes or no")                                                        \
    X("distance", "METRES", "to the target")                                                   \
    X("tag", "KEY=TEXT", "anything to compare by later, tab=thick say; may be repeated")       \
    X("out", "FOLDER", "the recording's folder, which must not be there yet")                  \
    X("home", "FOLDER", "where recordings go without --out")                                   \
    X("seconds", "S", "end after so long")                                                     \
    X("clock", "NAME", "the shooting clock's format, which c starts; see clock --list")        \
    X("rounds", "FILE", "formats of your own, see docs/clock.md")                              \
    X("set", "KEY=VALUE",                                                                      \
      "change a value of the clock's format, shooting_s=100 say; may be repeated")             \
    X("clock-sound", NULL, "one stroke of the bell as line-up and shooting begin, no other")   \
    X("clock-signals", NULL,                                                                   \
      "the line's signals by the bell, once you have typed to be in charge")                   \
    X("flac", NULL, "turn the files into FLAC after a clean end")                              \
    X("replay", NULL, "bytes of an earlier time: the sensor's own clock is the time")          \
    X("thresholds", "FILE", "thresholds of the findings, see docs/findings.md")                \
    X("sound", NULL, "the terminal's bell at a warning of a limit, only between shots")        \
    X("goal-sound", NULL, "the same after an arrow whose hold was inside the goal")            \
    X("format", "FORMAT",                                                                      \
      "print the shots as shown at a recording's end, not its path: table, json or csv")

/* One of them in such a table. */
#define SH_CAPTURE_SETUP_OPTION(name, argument, help) {name, argument, help, 0},

#define SH_CAPTURE_SETUP_N_OPTIONS 25
extern const struct sh_command_option sh_capture_setup_options[SH_CAPTURE_SETUP_N_OPTIONS];

/*
 * Reads a parsed command line into *setup, to be closed whatever comes back. With may_wait a
 * sensor may be missing, or its port: then setup has none (a replay's must be there). What
 * cannot be used on the command line is SH_ERR_ARGUMENT; else statuses of sh_profile_read, and
 * of sh_thresholds_read (SH_ERR_FORMAT for its SH_ERR_ARGUMENT) and sh_clock_setup_find.
 * Test: tests/app/test_capture_setup.c.
 */
enum sh_status sh_capture_setup_read(const struct sh_command *command,
                                     const struct sh_command_line *line,
                                     bool may_wait,
                                     struct sh_capture_setup *setup,
                                     struct sh_error *err);

/* Frees what the setup owns and zeroes it. */
void sh_capture_setup_close(struct sh_capture_setup *setup);

/*
 * A force or stiffness as people write it: "178", "178N", "40lb" or "40lbf" in newtons; with
 * per_length "410", "2.4lb/in" in newtons a metre. False where it is neither.
 */
bool sh_capture_setup_parse_force(const char *text, bool per_length, double *value);

#endif
