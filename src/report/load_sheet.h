/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_SHEET_H
#define SH_REPORT_LOAD_SHEET_H

#include "series/limit_day.h"
#include "series/limit_plan.h"
#include "series/load_history.h"
#include "series/rating.h"

/*
 * What a report of loads is made of: the days of one athlete, the limits, the ratings, and what
 * stands behind the figures. All is borrowed from the app.
 */

/* A limit as it stands on the sheet's last day. */
struct sh_load_sheet_limit {
    size_t number; /* in the person's file, from 1 on */
    const struct sh_person_limit *limit;
    struct sh_limit_plan plan;
};

/* A limit that was reached on a day, or of which that cannot be told. */
struct sh_load_sheet_verdict {
    int day;
    size_t number; /* the limit's */
    enum sh_limit_day verdict;
};

/* The calibration of one finger's sensor over some recordings in a row. */
struct sh_load_sheet_sensor {
    size_t finger;          /* 0 index, 1 middle, 2 ring */
    bool has_channel;       /* false: these recordings have none of this finger */
    const char *calibrated; /* date, "": none is said */
    double u_ratio;         /* of the force, standard; 0: not said */
    double at_n;            /* at about this force */
    int first_day;
    int last_day;
    size_t n_recordings;
};

struct sh_load_sheet {
    const char *athlete;
    const struct sh_load_history *history;
    int first_day; /* shown, within the history */
    int last_day;
    double level_n; /* draws are counted at or above; 0: none */
    const struct sh_load_sheet_limit *limits;
    size_t n_limits;
    const struct sh_load_sheet_verdict *verdicts; /* of the days shown, day by day */
    size_t n_verdicts;
    const struct sh_rating *ratings; /* sorted; those of the days shown, and the one before */
    size_t n_ratings;
    const struct sh_load_sheet_sensor *sensors;
    size_t n_sensors;
};

/* The row of a day of the sheet; NULL where it lies outside the history. Test:
 * tests/report/test_load_sheet.c, of all of this file. */
const struct sh_load_history_row *sh_load_sheet_find(const struct sh_load_sheet *sheet,
                                                     int day);

/* Adds up the days of the week that begins on monday, as far as they are shown. */
struct sh_day_load sh_load_sheet_get_week(const struct sh_load_sheet *sheet, int monday);

/* True where any draw was measured or added on the days shown. */
bool sh_load_sheet_has_draws(const struct sh_load_sheet *sheet);

#endif
