/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/load_book.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The same up to rounding of the last place. */
#define SAME_RATIO 1e-9

static enum sh_status lack_memory(struct sh_error *err)
{
    return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
}

static enum sh_status make_days(const struct sh_load_book_config *config,
                                struct sh_load_book *book,
                                struct sh_error *err)
{
    enum sh_status status =
        sh_diary_make_days(&book->diary, config->last_day, config->level_n, &book->days);
    if (status == SH_ERR_FULL) {
        return sh_error_set(err, status, config->athlete, "mend the dates of the person's file",
                            "over %u days lie between the first and the last",
                            SH_DAY_LOAD_DAYS_MAX);
    }
    if (status == SH_OK) {
        status = sh_load_history_open(&book->days, &book->history);
    }
    return status == SH_OK ? SH_OK : lack_memory(err);
}

/* Numbers, and where each stands on the last day. */
static enum sh_status make_limits(int day, struct sh_load_book *book, struct sh_error *err)
{
    const struct sh_person *person = &book->diary.person;
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(&book->diary);
    book->limits = calloc(person->n_limits + 1, sizeof *book->limits);
    if (book->limits == NULL) {
        return lack_memory(err);
    }
    for (size_t i = 0; i < person->n_limits; i++) {
        book->limits[i].number = i + 1;
        book->limits[i].limit = &person->limits[i];
        sh_limit_plan_find(&person->limits[i], &history, day, &book->limits[i].plan);
    }
    book->sheet.limits = book->limits;
    book->sheet.n_limits = person->n_limits;
    return SH_OK;
}

/* Was it marked while recording that the limit was reached? */
static bool
is_marked(const struct sh_diary *diary, const struct sh_person_limit *limit, int day)
{
    for (size_t i = 0; i < diary->n_reached; i++) {
        const struct sh_diary_reached *reached = &diary->reached[i];
        if (reached->day == day && strcmp(reached->what, limit->what) == 0 &&
            strcmp(reached->finger, limit->finger) == 0 &&
            strcmp(reached->per, limit->per) == 0) {
            return true;
        }
    }
    return false;
}

static enum sh_limit_day
judge(const struct sh_load_book *book, const struct sh_person_limit *limit, int day)
{
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(&book->diary);
    const struct sh_day_load *load = sh_day_load_list_find(&book->days, day);
    struct sh_limit_plan plan;
    if (is_marked(&book->diary, limit, day)) {
        return SH_LIMIT_DAY_REACHED;
    }
    sh_limit_plan_find(limit, &history, day, &plan);
    return plan.is_in_force && load != NULL ? sh_limit_day_judge(limit, plan.value, load)
                                            : SH_LIMIT_DAY_NONE;
}

/* What a day says of each limit. */
static void judge_day(struct sh_load_book *book, int day)
{
    const struct sh_person *person = &book->diary.person;
    for (size_t i = 0; i < person->n_limits; i++) {
        const enum sh_limit_day verdict = judge(book, &person->limits[i], day);
        if (verdict == SH_LIMIT_DAY_REACHED || verdict == SH_LIMIT_DAY_UNKNOWN) {
            book->verdicts[book->sheet.n_verdicts++] =
                (struct sh_load_sheet_verdict){day, i + 1, verdict};
        }
    }
}

/* Of all days shown. */
static enum sh_status make_verdicts(struct sh_load_book *book, struct sh_error *err)
{
    const struct sh_person *person = &book->diary.person;
    const size_t n_days = (size_t)(book->sheet.last_day - book->sheet.first_day) + 1;
    book->verdicts = calloc(n_days * person->n_limits + 1, sizeof *book->verdicts);
    if (book->verdicts == NULL) {
        return lack_memory(err);
    }
    for (int day = book->sheet.first_day; day <= book->sheet.last_day; day++) {
        judge_day(book, day);
    }
    book->sheet.verdicts = book->verdicts;
    return SH_OK;
}

static bool is_same(const struct sh_load_sheet_sensor *entry,
                    size_t finger,
                    const struct sh_diary_sensor *sensor)
{
    return entry->calibrated != NULL && entry->finger == finger &&
           entry->has_channel == sensor->has_channel &&
           strcmp(entry->calibrated, sensor->calibrated) == 0 &&
           fabs(entry->u_ratio - sensor->u_ratio) <= SAME_RATIO * fabs(sensor->u_ratio);
}

/* A recording's sensor: joins an entry that says the same, or is a new one. */
static void
add_sensor(struct sh_load_book *book, size_t finger, const struct sh_diary_recording *recording)
{
    const struct sh_diary_sensor *sensor = &recording->sensor[finger];
    size_t i = 0;
    while (i < book->sheet.n_sensors && !is_same(&book->sensors[i], finger, sensor)) {
        i++;
    }
    struct sh_load_sheet_sensor *entry = &book->sensors[i];
    if (i == book->sheet.n_sensors) {
        *entry = (struct sh_load_sheet_sensor){.finger = finger,
                                               .has_channel = sensor->has_channel,
                                               .calibrated = sensor->calibrated,
                                               .u_ratio = sensor->u_ratio,
                                               .at_n = SH_DIARY_SENSOR_N,
                                               .first_day = recording->day,
                                               .last_day = recording->day};
        book->sheet.n_sensors++;
    }
    entry->first_day = recording->day < entry->first_day ? recording->day : entry->first_day;
    entry->last_day = recording->day > entry->last_day ? recording->day : entry->last_day;
    entry->n_recordings++;
}

/* Of the recordings of the days shown. */
static void add_sensors(struct sh_load_book *book, size_t finger)
{
    for (size_t i = 0; i < book->diary.n_recordings; i++) {
        const struct sh_diary_recording *recording = &book->diary.recordings[i];
        if (recording->day >= book->sheet.first_day && recording->day <= book->sheet.last_day) {
            add_sensor(book, finger, recording);
        }
    }
}

static enum sh_status make_sensors(struct sh_load_book *book, struct sh_error *err)
{
    const struct sh_diary *diary = &book->diary;
    book->sensors =
        calloc(SH_DAY_LOAD_FINGERS * diary->n_recordings + 1, sizeof *book->sensors);
    if (book->sensors == NULL) {
        return lack_memory(err);
    }
    book->sheet.sensors = book->sensors;
    for (size_t finger = 0; finger < SH_DAY_LOAD_FINGERS; finger++) {
        add_sensors(book, finger);
    }
    return SH_OK;
}

/* Those of the days shown. */
static void choose_ratings(struct sh_load_book *book)
{
    const struct sh_diary *diary = &book->diary;
    size_t first = 0;
    size_t end = 0;
    while (first < diary->n_ratings && diary->ratings[first].day < book->sheet.first_day) {
        first++;
    }
    for (end = first;
         end < diary->n_ratings && diary->ratings[end].day <= book->sheet.last_day;) {
        end++;
    }
    first = first > 0 && end > first ? first - 1 : first; /* what the first is held against */
    book->sheet.ratings = diary->ratings != NULL ? diary->ratings + first : NULL;
    book->sheet.n_ratings = end - first;
}

static void choose_days(const struct sh_load_book_config *config, struct sh_load_book *book)
{
    int first =
        config->has_first ? config->first_day : config->last_day - SH_LOAD_BOOK_DAYS + 1;
    book->sheet.first_day = first > book->days.first_day ? first : book->days.first_day;
    book->sheet.last_day = config->last_day;
}

enum sh_status sh_load_book_open(const struct sh_load_book_config *config,
                                 struct sh_load_book *book,
                                 struct sh_error *err)
{
    const struct sh_diary_config reading = {.home = config->home,
                                            .athlete = config->athlete,
                                            .with_draws = true,
                                            .may_analyze = true};
    *book = (struct sh_load_book){0};
    if (config->has_first && config->first_day > config->last_day) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "load --from", "give an earlier day",
                            "the first day lies behind the last");
    }
    enum sh_status status = sh_diary_read(&reading, &book->diary, err);
    if (status == SH_OK) {
        status = make_days(config, book, err);
    }
    if (status != SH_OK) {
        return status;
    }
    book->sheet.athlete = book->diary.person.name;
    book->sheet.history = &book->history;
    book->sheet.level_n = config->level_n;
    choose_days(config, book);
    choose_ratings(book);
    status = make_limits(config->last_day, book, err);
    if (status == SH_OK) {
        status = make_verdicts(book, err);
    }
    return status == SH_OK ? make_sensors(book, err) : status;
}

void sh_load_book_close(struct sh_load_book *book)
{
    sh_load_history_close(&book->history);
    sh_day_load_list_close(&book->days);
    sh_diary_close(&book->diary);
    free(book->limits);
    free(book->verdicts);
    free(book->sensors);
    *book = (struct sh_load_book){0};
}
