/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_SENSORS_H
#define SH_APP_LIVE_SENSORS_H

#include <jansson.h>

#include "app/capture.h"
#include "app/live_ports.h"
#include "app/live_profiles.h"

/*
 * Which sensors a page shows and lets be chosen: what is read now and whether anything comes
 * from it, and a choice that comes from the page, made into one for the capture. Nothing here
 * locks: who owns a struct sh_live_sensors keeps others from it meanwhile.
 * Test: tests/app/test_live_sensors.c; the real program: tests/live/test_choose.py.
 */
#define SH_LIVE_SENSORS_PATIENCE_S 5.0 /* without one good frame; then that is said */

enum sh_live_hearing {
    SH_LIVE_HEARING_WAITING, /* nothing good yet, which is too early to be worth a word */
    SH_LIVE_HEARING_WELL,
    SH_LIVE_HEARING_SILENT,  /* nothing at all comes */
    SH_LIVE_HEARING_STRANGE, /* something comes, but nothing that the profile can read */
    SH_LIVE_HEARING_AWAY     /* the cable has come apart */
};

struct sh_live_sensor_row {
    char id[SH_LIVE_PROFILES_ID_BYTES]; /* of its profile */
    char name[SH_PROFILE_TEXT_BYTES];
    char address[SH_PORT_LIST_TEXT_BYTES + 4]; /* cut where it is longer */
    enum sh_live_hearing hearing;
    char zeroed[SH_STREAMS_MAX]
               [SH_STREAM_NAME_BYTES]; /* [n_zeroed]: streams of it that stand */
    size_t n_zeroed;                   /* at a zero set at the line */
};

struct sh_live_sensors {
    struct sh_live_sensor_row row[SH_CAPTURE_SETUP_SENSORS_MAX]; /* [n] */
    size_t n;
    double since_s;                      /* when they were begun with */
    char trouble[SH_ERROR_LINE_BYTES];   /* why there are none; "": for no bad reason */
    char athlete[SH_SESSION_NAME_BYTES]; /* who shoots */
};

/* A choice of sensors, and the ids it was made by. */
struct sh_live_choice {
    struct sh_capture_choice choice;
    char id[SH_CAPTURE_SETUP_SENSORS_MAX][SH_LIVE_PROFILES_ID_BYTES];
    char file[SH_CAPTURE_SETUP_SENSORS_MAX][SH_LIVE_PROFILES_ID_BYTES];
    const json_t *object; /* borrowed: addresses are in it */
};

/*
 * Reads {"sensors":[{"profile":ID,"port":ADDRESS or null}]} into *out, which keeps object and
 * is to be closed whatever comes back: reads the profiles named, of those that a page is
 * offered, and checks the addresses (live_ports.h). SH_ERR_ARGUMENT (not understood, or not to
 * be chosen), SH_ERR_PERMISSION; statuses of sh_live_profile_read and sh_capture_choice_check.
 */
enum sh_status sh_live_choice_read(const struct sh_live_ports *ports,
                                   const struct sh_capture_setup *setup,
                                   const json_t *object,
                                   struct sh_live_choice *out,
                                   struct sh_error *err);

void sh_live_choice_close(struct sh_live_choice *choice);

/* None yet; those that the program was given have the ids of the command line. */
void sh_live_sensors_init(struct sh_live_sensors *sensors);

/* The setup's sensors are begun with at now_s; they keep the ids of before. */
void sh_live_sensors_begin(struct sh_live_sensors *sensors,
                           const struct sh_capture_setup *setup,
                           double now_s);

/* They are those of a choice: its ids. */
void sh_live_sensors_name(struct sh_live_sensors *sensors, const struct sh_live_choice *choice);

/* There are none, why may be NULL. */
void sh_live_sensors_clear(struct sh_live_sensors *sensors, const struct sh_error *why);

/* Notes what has come from one of them up to now_s. */
void sh_live_sensors_hear(struct sh_live_sensors *sensors,
                          size_t sensor,
                          const struct sh_capture_hearing *hearing,
                          double now_s);

/* The worst of all of them, as a word: "well", "waiting", "away", "silent", "strange". */
const char *sh_live_sensors_get_hearing(const struct sh_live_sensors *sensors);

/* Appends "current":[{"id","profile","address","hearing","zeroed"}]. */
void sh_live_sensors_put(const struct sh_live_sensors *sensors, struct sh_text *text);

#endif
