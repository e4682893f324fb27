/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_DIARY_H
#define SH_APP_DIARY_H

#include <stdbool.h>

#include "app/kept_draws.h"
#include "base/text.h"
#include "recording/person_json.h"
#include "series/limit_plan.h"
#include "series/rating.h"

/*
 * All that a home folder knows of one athlete's days: the person's file and the athlete's
 * recordings in recordings/, in the order of their folders' names.
 */

/* What stands behind a finger's figures. */
struct sh_diary_sensor {
    bool has_channel;
    char calibrated[SH_CHANNEL_DATE_BYTES]; /* "": no date is said */
    double u_ratio; /* of the force from calibration, at about SH_DIARY_SENSOR_N; 0: not said */
};

#define SH_DIARY_SENSOR_N 50.0

struct sh_diary_recording {
    char name[SH_SESSION_FILE_BYTES];    /* the folder's */
    char session[SH_SESSION_NAME_BYTES]; /* what ties it to others, "" */
    int day;                             /* local */
    bool was_read;                       /* its draws; else they are unknown */
    struct sh_kept_draws draws;
    struct sh_diary_sensor sensor[SH_DAY_LOAD_FINGERS];
};

/* That a limit was reached, as marked while recording. */
struct sh_diary_reached {
    int day;
    char what[SH_MARK_NAME_BYTES];
    char finger[SH_MARK_NAME_BYTES];
    char per[SH_MARK_NAME_BYTES];
};

struct sh_diary {
    struct sh_person person;
    struct sh_person_json *kept;           /* of the person's file; NULL: there is none */
    struct sh_diary_recording *recordings; /* owned */
    size_t n_recordings;
    struct sh_rating *ratings; /* owned: of the file and of recordings' marks, sorted */
    size_t n_ratings;
    struct sh_diary_reached *reached; /* owned */
    size_t n_reached;
    int *trouble; /* owned: days on which a rating rose or a limit was reached, by a mark
                     or by draws added by hand */
    size_t n_trouble;
    int *confirmed; /* owned: days on which somebody confirmed */
    size_t n_confirmed;
    struct sh_text warnings; /* whole lines for people: what could not be read */
};

struct sh_diary_config {
    const char *home;
    const char *athlete;
    bool with_draws;  /* false: only sessions and marks are read */
    bool may_analyze; /* recordings without a usable analysis.json are analysed */
    bool is_one_day;  /* only the recordings of this local day have their draws read */
    int day;
    const char (*skip)[4096]; /* [n_skip] paths of folders that are left out */
    size_t n_skip;
};

/*
 * Reads what there is. A recording of the athlete whose draws cannot be read stays in the list
 * with was_read false, and a line in warnings; a folder that says it is a recording but cannot
 * be read at all (whose it is, nobody knows) is only warned of. *out is to be closed whatever
 * comes back. Statuses of sh_person_json_read, SH_ERR_MEMORY, SH_ERR_IO where the folder
 * recordings cannot be listed (none at all is fine). Test: tests/app/test_diary.c.
 */
enum sh_status
sh_diary_read(const struct sh_diary_config *config, struct sh_diary *out, struct sh_error *err);

/* Frees all and zeroes. Takes a zeroed diary. */
void sh_diary_close(struct sh_diary *diary);

/* Trouble and confirmations as a limit's plan wants them; borrows. */
struct sh_limit_plan_history sh_diary_get_plan_history(const struct sh_diary *diary);

/*
 * Makes the list of days from the first of which anything is known (at the latest last_day) to
 * last_day, settled; what lies later is left out. level_n: draws with a finger's peak at or
 * above it are counted; 0: none. Statuses of sh_day_load_list_open.
 */
enum sh_status sh_diary_make_days(const struct sh_diary *diary,
                                  int last_day,
                                  double level_n,
                                  struct sh_day_load_list *out);

#endif
