/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/diary.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/home.h"
#include "base/day.h"
#include "metrology/scale.h"
#include "recording/session_json.h"

#define FIRST_CAPACITY 16u
#define PATH_BYTES     (SH_HOME_PATH_BYTES + SH_SESSION_FILE_BYTES)

/* One recording being read. */
struct page {
    const struct sh_diary_config *config;
    struct sh_diary *diary;
    char path[PATH_BYTES];
};

static enum sh_status lack_memory(struct sh_error *err)
{
    return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
}

/* Room for one more of n items, by doubling; false after a failure. */
static bool grow(void **items, size_t n, size_t item_bytes)
{
    bool is_full = n == 0 || (n >= FIRST_CAPACITY && (n & (n - 1)) == 0);
    if (!is_full) {
        return true;
    }
    void *grown = realloc(*items, (n == 0 ? FIRST_CAPACITY : 2 * n) * item_bytes);
    *items = grown != NULL ? grown : *items;
    return grown != NULL;
}

static bool add_day(int **days, size_t *n, int day)
{
    void *items = *days;
    if (!grow(&items, *n, sizeof **days)) {
        return false;
    }
    *days = items;
    (*days)[(*n)++] = day;
    return true;
}

static bool add_rating(struct sh_diary *diary, int day, const char *when, double rating)
{
    struct sh_rating given = {.day = day, .when = SH_RATING_DURING, .rating = rating};
    void *items = diary->ratings;
    if (!grow(&items, diary->n_ratings, sizeof given)) {
        return false;
    }
    diary->ratings = items;
    (void)sh_rating_when_find(when, &given.when);
    diary->ratings[diary->n_ratings++] = given;
    return true;
}

/* Of the force at about SH_DIARY_SENSOR_N, from the calibration alone. */
static double find_u_ratio(const struct sh_channel *channel)
{
    double rest = channel->n_curve > 0 ? channel->curve[0].counts : channel->zero;
    double raw = rest;
    if (channel->n_curve > 0) {
        raw = channel->curve[channel->n_curve - 1].counts;
    } else if (channel->is_physical) {
        raw = rest + SH_DIARY_SENSOR_N;
    } else if (fabs(channel->scale) > 0.0) {
        raw = rest + SH_DIARY_SENSOR_N / channel->scale;
    }
    double net = fabs(sh_scale_value(channel, raw) - sh_scale_value(channel, rest));
    return net > 0.0 ? sh_scale_difference_u(channel, raw, rest) / net : 0.0;
}

static void describe_stream(const struct sh_stream *stream,
                            struct sh_diary_sensor sensor[SH_DAY_LOAD_FINGERS])
{
    for (size_t k = 0; k < stream->n_channels; k++) {
        const struct sh_channel *channel = &stream->channel[k];
        if (channel->role == SH_ROLE_FINGER_FORCE && channel->finger != SH_FINGER_NONE) {
            struct sh_diary_sensor *to = &sensor[channel->finger - SH_FINGER_INDEX];
            to->has_channel = true;
            to->u_ratio = find_u_ratio(channel);
            (void)snprintf(to->calibrated, sizeof to->calibrated, "%s", channel->calibrated);
        }
    }
}

static void describe_sensors(const struct sh_session *session,
                             struct sh_diary_sensor sensor[SH_DAY_LOAD_FINGERS])
{
    for (size_t i = 0; i < session->n_streams; i++) {
        describe_stream(&session->streams[i].stream, sensor);
    }
}

static bool add_reached(struct sh_diary *diary, int day, const struct sh_mark *mark)
{
    struct sh_diary_reached reached = {.day = day};
    void *items = diary->reached;
    if (!grow(&items, diary->n_reached, sizeof reached)) {
        return false;
    }
    diary->reached = items;
    (void)snprintf(reached.what, sizeof reached.what, "%s", mark->what);
    (void)snprintf(reached.finger, sizeof reached.finger, "%s", mark->finger);
    (void)snprintf(reached.per, sizeof reached.per, "%s", mark->per);
    diary->reached[diary->n_reached++] = reached;
    return add_day(&diary->trouble, &diary->n_trouble, day);
}

/* Ratings and limits reached, as marked while recording. */
static bool take_marks(struct sh_diary *diary, const struct sh_session *session, int day)
{
    bool is_fine = true;
    for (size_t i = 0; i < session->n_marks && is_fine; i++) {
        const struct sh_mark *mark = &session->marks[i];
        if (mark->kind == SH_MARK_PAIN) {
            is_fine = add_rating(diary, day, mark->when, mark->rating.value);
        } else if (mark->kind == SH_MARK_LIMIT_REACHED) {
            is_fine = add_reached(diary, day, mark);
        }
    }
    return is_fine;
}

static void warn(struct sh_diary *diary, const struct sh_error *why)
{
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(why, line);
    sh_text_printf(&diary->warnings, "%s\n", line);
}

/* Reads its draws where they are asked for; a failure is a warning. */
static enum sh_status read_draws(struct page *page,
                                 const struct sh_session *session,
                                 struct sh_diary_recording *recording,
                                 struct sh_error *err)
{
    const struct sh_diary_config *config = page->config;
    struct sh_error why = {0};
    if (!config->with_draws || (config->is_one_day && recording->day != config->day)) {
        return SH_OK;
    }
    enum sh_status status =
        sh_kept_draws_read(page->path, session, config->may_analyze, &recording->draws, &why);
    recording->was_read = status == SH_OK;
    if (status == SH_ERR_MEMORY) {
        return lack_memory(err);
    }
    if (status != SH_OK) {
        warn(page->diary, &why);
    }
    return SH_OK;
}

/* A recording of the athlete into the list. */
static enum sh_status take_session(struct page *page,
                                   const char *name,
                                   const struct sh_session *session,
                                   struct sh_error *err)
{
    struct sh_diary *diary = page->diary;
    struct sh_diary_recording recording = {0};
    if (!sh_day_parse_instant(session->started, session->utc_offset_min, &recording.day)) {
        struct sh_error why = {0};
        (void)sh_error_set(&why, SH_ERR_FORMAT, page->path, "mend \"started\"",
                           "this recording does not say when it was made");
        warn(diary, &why);
        return SH_OK;
    }
    (void)snprintf(recording.name, sizeof recording.name, "%s", name);
    (void)snprintf(recording.session, sizeof recording.session, "%s", session->session);
    describe_sensors(session, recording.sensor);
    void *items = diary->recordings;
    if (!grow(&items, diary->n_recordings, sizeof recording)) {
        return lack_memory(err);
    }
    diary->recordings = items;
    enum sh_status status = read_draws(page, session, &recording, err);
    if (status == SH_OK) {
        diary->recordings[diary->n_recordings++] = recording;
        status = take_marks(diary, session, recording.day) ? SH_OK : lack_memory(err);
    }
    return status;
}

static bool is_skipped(const struct page *page)
{
    for (size_t i = 0; i < page->config->n_skip; i++) {
        struct stat a;
        struct stat b;
        if (stat(page->config->skip[i], &a) == 0 && stat(page->path, &b) == 0 &&
            a.st_dev == b.st_dev && a.st_ino == b.st_ino) {
            return true;
        }
    }
    return false;
}

static enum sh_status read_folder(struct page *page, const char *name, struct sh_error *err)
{
    struct sh_session *session = calloc(1, sizeof *session);
    struct sh_error why = {0};
    if (session == NULL) {
        return lack_memory(err);
    }
    enum sh_status status = sh_session_json_read(page->path, session, NULL, &why);
    if (status == SH_OK && strcmp(session->athlete, page->config->athlete) == 0) {
        status = take_session(page, name, session, err);
    } else if (status == SH_ERR_MEMORY) {
        status = lack_memory(err);
    } else {
        if (status != SH_OK && status != SH_ERR_NOT_FOUND) {
            warn(page->diary, &why);
        }
        status = SH_OK;
    }
    sh_session_close(session);
    free(session);
    return status;
}

static int is_name(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static enum sh_status read_recordings(const struct sh_diary_config *config,
                                      struct sh_diary *diary,
                                      struct sh_error *err)
{
    struct dirent **names = NULL;
    struct page page = {.config = config, .diary = diary};
    enum sh_status status = SH_OK;
    (void)snprintf(page.path, sizeof page.path, "%.4095s/recordings", config->home);
    int n = scandir(page.path, &names, is_name, alphasort);
    if (n < 0) {
        return errno == ENOENT ? SH_OK
                               : sh_error_set_os(err, errno, page.path, "check the folder",
                                                 "cannot list the recordings");
    }
    for (int i = 0; i < n; i++) {
        (void)snprintf(page.path, sizeof page.path, "%.4083s/recordings/%.255s", config->home,
                       names[i]->d_name);
        if (status == SH_OK && !is_skipped(&page)) {
            status = read_folder(&page, names[i]->d_name, err);
        }
        free(names[i]);
    }
    free(names);
    return status;
}

/* Dates of a person's file have been checked when it was read. */
static int get_day(const char *date)
{
    int day = 0;
    (void)sh_day_parse(date, &day);
    return day;
}

static bool take_person(struct sh_diary *diary)
{
    const struct sh_person *person = &diary->person;
    bool is_fine = true;
    for (size_t i = 0; i < person->n_ratings && is_fine; i++) {
        is_fine = add_rating(diary, get_day(person->ratings[i].date), person->ratings[i].when,
                             person->ratings[i].rating);
    }
    for (size_t i = 0; i < person->n_confirmations && is_fine; i++) {
        is_fine = add_day(&diary->confirmed, &diary->n_confirmed,
                          get_day(person->confirmations[i].on));
    }
    return is_fine;
}

static bool take_rises(struct sh_diary *diary)
{
    bool is_fine = true;
    sh_rating_sort(diary->ratings, diary->n_ratings);
    for (size_t i = 0; i < diary->n_ratings && is_fine; i++) {
        if (sh_rating_is_rise(diary->ratings, i)) {
            is_fine = add_day(&diary->trouble, &diary->n_trouble, diary->ratings[i].day);
        }
    }
    return is_fine;
}

static size_t count_by_hand(const struct sh_person *person, int day)
{
    size_t n = 0;
    for (size_t i = 0; i < person->n_draws; i++) {
        n += get_day(person->draws[i].date) == day ? (size_t)person->draws[i].draws : 0u;
    }
    return n;
}

/* Did the draws added by hand alone reach a limit on a day's draws? */
static bool is_passed_by_hand(const struct sh_diary *diary, int day)
{
    const struct sh_person *person = &diary->person;
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(diary);
    for (size_t i = 0; i < person->n_limits; i++) {
        const struct sh_person_limit *limit = &person->limits[i];
        struct sh_limit_plan plan;
        sh_limit_plan_find(limit, &history, day, &plan);
        if (plan.is_in_force && limit->most.is_given && strcmp(limit->what, "draws") == 0 &&
            strcmp(limit->per, "day") == 0 &&
            (double)count_by_hand(person, day) >= plan.value) {
            return true;
        }
    }
    return false;
}

/* Nothing was captured when such a limit was passed, so that no mark says it. */
static bool take_passed(struct sh_diary *diary)
{
    bool is_fine = true;
    for (size_t i = 0; i < diary->person.n_draws && is_fine; i++) {
        const int day = get_day(diary->person.draws[i].date);
        if (is_passed_by_hand(diary, day)) {
            is_fine = add_day(&diary->trouble, &diary->n_trouble, day);
        }
    }
    return is_fine;
}

enum sh_status
sh_diary_read(const struct sh_diary_config *config, struct sh_diary *out, struct sh_error *err)
{
    *out = (struct sh_diary){0};
    sh_text_init(&out->warnings, 0);
    enum sh_status status =
        sh_person_json_read(config->home, config->athlete, &out->person, &out->kept, err);
    if (status == SH_OK) {
        status = take_person(out) ? SH_OK : lack_memory(err);
    }
    if (status == SH_OK) {
        status = read_recordings(config, out, err);
    }
    if (status == SH_OK) {
        status = take_rises(out) && take_passed(out) ? SH_OK : lack_memory(err);
    }
    return status;
}

void sh_diary_close(struct sh_diary *diary)
{
    sh_person_close(&diary->person);
    sh_person_json_close(&diary->kept);
    for (size_t i = 0; i < diary->n_recordings; i++) {
        sh_kept_draws_close(&diary->recordings[i].draws);
    }
    free(diary->recordings);
    free(diary->ratings);
    free(diary->reached);
    free(diary->trouble);
    free(diary->confirmed);
    sh_text_close(&diary->warnings);
    *diary = (struct sh_diary){0};
}

struct sh_limit_plan_history sh_diary_get_plan_history(const struct sh_diary *diary)
{
    return (struct sh_limit_plan_history){.trouble = diary->trouble,
                                          .n_trouble = diary->n_trouble,
                                          .confirmed = diary->confirmed,
                                          .n_confirmed = diary->n_confirmed};
}

static int find_first_day(const struct sh_diary *diary, int last_day)
{
    const struct sh_person *person = &diary->person;
    int first = last_day;
    for (size_t i = 0; i < diary->n_recordings; i++) {
        first = diary->recordings[i].day < first ? diary->recordings[i].day : first;
    }
    for (size_t i = 0; i < person->n_draws; i++) {
        int day = get_day(person->draws[i].date);
        first = day < first ? day : first;
    }
    for (size_t i = 0; i < person->n_rests; i++) {
        int day = get_day(person->rests[i].date);
        first = day < first ? day : first;
    }
    return first;
}

static void fill_recording(const struct sh_diary_recording *recording,
                           double level_n,
                           struct sh_day_load *to)
{
    if (to == NULL) {
        return;
    }
    sh_day_load_add_recording(to, recording->was_read);
    for (size_t i = 0; i < recording->draws.n_draws; i++) {
        sh_day_load_add_draw(to, &recording->draws.draws[i], level_n);
    }
}

enum sh_status sh_diary_make_days(const struct sh_diary *diary,
                                  int last_day,
                                  double level_n,
                                  struct sh_day_load_list *out)
{
    const struct sh_person *person = &diary->person;
    enum sh_status status =
        sh_day_load_list_open(find_first_day(diary, last_day), last_day, out);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < diary->n_recordings; i++) {
        fill_recording(&diary->recordings[i], level_n,
                       sh_day_load_list_find(out, diary->recordings[i].day));
    }
    for (size_t i = 0; i < person->n_draws; i++) {
        struct sh_day_load *day = sh_day_load_list_find(out, get_day(person->draws[i].date));
        if (day != NULL) {
            sh_day_load_add_by_hand(day, (size_t)person->draws[i].draws,
                                    person->draws[i].draw_weight_n.value);
        }
    }
    for (size_t i = 0; i < person->n_rests; i++) {
        sh_day_load_list_set_rest(out, get_day(person->rests[i].date));
    }
    sh_day_load_list_settle(out);
    return SH_OK;
}
