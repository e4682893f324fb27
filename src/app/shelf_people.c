/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "app/shelf_inside.h"
#include "history/index_query.h"
#include "live/people_document.h"
#include "recording/person_json.h"
#include "signal/stats.h"

#define PEOPLE_MAX 1000u
#define DATE_BYTES 11u

/* One person with the values of each measure, of all shots. */
struct somebody {
    char name[SH_SESSION_NAME_BYTES];
    char last[SH_SESSION_NAME_BYTES];
    size_t n_shots;
    size_t n_recordings;
    double *value[SH_PEOPLE_DOCUMENT_MEASURES]; /* owned, [n[i]] */
    size_t n[SH_PEOPLE_DOCUMENT_MEASURES];
    size_t room[SH_PEOPLE_DOCUMENT_MEASURES];
};

struct people {
    struct somebody *list; /* owned, [n] */
    size_t n;
};

static void close_people(struct people *people)
{
    for (size_t i = 0; i < people->n; i++) {
        for (size_t k = 0; k < SH_PEOPLE_DOCUMENT_MEASURES; k++) {
            free(people->list[i].value[k]);
        }
    }
    free(people->list);
}

/* The person of a name, added where new; NULL without a name, memory or room. */
static struct somebody *find_somebody(struct people *people, const char *name)
{
    for (size_t i = 0; i < people->n; i++) {
        if (strcmp(people->list[i].name, name) == 0) {
            return &people->list[i];
        }
    }
    if (name[0] == '\0' || strlen(name) >= SH_SESSION_NAME_BYTES || people->n >= PEOPLE_MAX) {
        return NULL;
    }
    struct somebody *grown = realloc(people->list, (people->n + 1) * sizeof *grown);
    if (grown == NULL) {
        return NULL;
    }
    people->list = grown;
    struct somebody *added = &grown[people->n++];
    memset(added, 0, sizeof *added);
    memcpy(added->name, name, strlen(name) + 1);
    return added;
}

static void note_last(struct somebody *somebody, const char *started)
{
    if (strcmp(started, somebody->last) > 0) {
        (void)snprintf(somebody->last, sizeof somebody->last, "%s", started);
    }
}

static enum sh_status take_recording(void *context, const struct sh_index_entry *entry)
{
    struct somebody *somebody = find_somebody(context, entry->recording.athlete);
    if (somebody != NULL) {
        somebody->n_recordings++;
        somebody->n_shots += entry->n_shots;
        note_last(somebody, entry->recording.started);
    }
    return SH_OK;
}

static enum sh_status add_value(struct somebody *somebody, size_t i, double value)
{
    if (somebody->n[i] == somebody->room[i]) {
        size_t room = 2 * somebody->room[i] + 64;
        double *grown = realloc(somebody->value[i], room * sizeof *grown);
        if (grown == NULL) {
            return SH_ERR_MEMORY;
        }
        somebody->value[i] = grown;
        somebody->room[i] = room;
    }
    somebody->value[i][somebody->n[i]++] = value;
    return SH_OK;
}

static enum sh_status take_shot(void *context, const struct sh_index_row *row)
{
    struct somebody *somebody = find_somebody(context, row->athlete);
    enum sh_status status = SH_OK;
    for (size_t i = 0; somebody != NULL && i < SH_PEOPLE_DOCUMENT_MEASURES && status == SH_OK;
         i++) {
        if (row->kind == SH_SHOT_SHOT && sh_quantity_is_known(&row->value[i])) {
            status = add_value(somebody, i, row->value[i].value);
        }
    }
    return status;
}

/* What the index tells, where there is one. */
static enum sh_status read_index(const char *home, struct people *people, struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    struct sh_index *index = NULL;
    struct sh_index_query query = {.n_places = SH_PEOPLE_DOCUMENT_MEASURES};
    int n = snprintf(path, sizeof path, "%s/history.sqlite", home);
    if (n < 0 || (size_t)n >= sizeof path || access(path, R_OK) != 0) {
        return SH_OK;
    }
    for (size_t i = 0; i < SH_PEOPLE_DOCUMENT_MEASURES; i++) {
        query.place[i].measure = sh_people_document_measures[i];
    }
    const struct sh_index_filter all = {.athlete = NULL};
    const struct sh_index_entry_sink recordings = {take_recording, people};
    const struct sh_index_row_sink shots = {take_shot, people};
    enum sh_status status = sh_index_open(path, &index, err);
    if (status == SH_OK) {
        status = sh_index_query_recordings(index, &all, &recordings, err);
    }
    if (status == SH_OK) {
        status = sh_index_query_shots(index, &query, &shots, err);
    }
    sh_index_close(&index);
    return status;
}

/* Those of whom the index knows nothing, from the shelf's own recordings. */
static void read_books(struct sh_shelf *shelf, struct people *people)
{
    size_t n_indexed = people->n;
    (void)pthread_mutex_lock(&shelf->lock);
    for (size_t i = 0; i < shelf->n_books; i++) {
        const struct sh_shelf_book *book = shelf->books[i];
        struct somebody *somebody = find_somebody(people, book->athlete);
        if (somebody != NULL && (size_t)(somebody - people->list) >= n_indexed) {
            somebody->n_recordings++;
            somebody->n_shots += book->n_shots;
            note_last(somebody, book->started);
        }
    }
    (void)pthread_mutex_unlock(&shelf->lock);
}

/* Value of a hexadecimal digit; 16: it is none. */
static unsigned get_digit(char digit)
{
    const char *digits = "0123456789ABCDEF";
    const char *at = digit != '\0' ? strchr(digits, digit) : NULL;
    return at != NULL ? (unsigned)(at - digits) : 16;
}

/* The name of which "NAME.json" is the file; false where it is none. */
static bool decode_name(const char *file, char name[SH_SESSION_NAME_BYTES])
{
    size_t n = 0;
    size_t n_file = strlen(file);
    if (n_file < 6 || strcmp(file + n_file - 5, ".json") != 0) {
        return false;
    }
    for (size_t i = 0; i < n_file - 5 && n + 1 < SH_SESSION_NAME_BYTES; i++) {
        unsigned high = file[i] == '%' ? get_digit(file[i + 1]) : 16;
        unsigned low = high < 16 ? get_digit(file[i + 2]) : 16;
        unsigned char byte = (unsigned char)(low < 16 ? 16 * high + low : 0);
        memcpy(&name[n++], low < 16 ? (const char *)&byte : &file[i], 1);
        i += low < 16 ? 2 : 0;
    }
    name[n] = '\0';
    return true;
}

static void read_folder(const char *home, struct people *people)
{
    char path[SH_HOME_PATH_BYTES];
    char name[SH_SESSION_NAME_BYTES];
    int n = snprintf(path, sizeof path, "%s/people", home);
    DIR *folder = n > 0 && (size_t)n < sizeof path ? opendir(path) : NULL;
    if (folder == NULL) {
        return; /* nobody has a file */
    }
    for (const struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        if (decode_name(entry->d_name, name)) {
            (void)find_somebody(people, name);
        }
    }
    (void)closedir(folder);
}

static int compare_names(const void *a, const void *b)
{
    const struct somebody *one = a;
    const struct somebody *other = b;
    return strcmp(one->name, other->name);
}

static void find_baselines(const struct somebody *somebody,
                           struct sh_people_document_entry *entry)
{
    for (size_t i = 0; i < SH_PEOPLE_DOCUMENT_MEASURES; i++) {
        double median = 0.0;
        double mad = 0.0;
        size_t n = somebody->n[i];
        double *work = n > 0 ? malloc(n * sizeof *work) : NULL;
        if (work != NULL &&
            sh_stats_get_median(somebody->value[i], n, work, &median, &mad) == SH_OK) {
            entry->baseline[i] =
                (struct sh_baseline_place){n, median, SH_STATS_MAD_TO_SD * mad};
        }
        free(work);
    }
}

/* Nothing of who is hidden. *comma is what parts one from the last. */
static enum sh_status write_somebody(const struct sh_shelf *shelf,
                                     const struct somebody *somebody,
                                     const char *today,
                                     const char **comma,
                                     struct sh_text *text,
                                     struct sh_error *err)
{
    struct sh_person person = {.n_limits = 0};
    struct sh_people_document_entry entry = {.name = somebody->name,
                                             .n_shots = somebody->n_shots,
                                             .n_recordings = somebody->n_recordings,
                                             .last = somebody->last,
                                             .today = today};
    enum sh_status status = SH_OK;
    if (shelf->home[0] != '\0') {
        status = sh_person_json_read(shelf->home, somebody->name, &person, NULL, err);
        entry.person = status == SH_OK ? &person : NULL;
    }
    if (status == SH_OK && person.hidden_on[0] == '\0') {
        sh_text_puts(text, *comma);
        *comma = ",";
        find_baselines(somebody, &entry);
        sh_people_document_write(&entry, text);
    }
    sh_person_close(&person);
    return status;
}

static void format_today(char today[DATE_BYTES])
{
    time_t now = time(NULL);
    struct tm local;
    today[0] = '\0';
    if (localtime_r(&now, &local) != NULL) {
        (void)strftime(today, DATE_BYTES, "%Y-%m-%d", &local);
    }
}

enum sh_status
sh_shelf_write_people(struct sh_shelf *shelf, struct sh_text *text, struct sh_error *err)
{
    char today[DATE_BYTES];
    struct people people = {.n = 0};
    const char *comma = "";
    enum sh_status status = SH_OK;
    format_today(today);
    if (shelf->home[0] != '\0') {
        status = read_index(shelf->home, &people, err);
        read_folder(shelf->home, &people);
    }
    read_books(shelf, &people);
    if (people.n > 0) {
        qsort(people.list, people.n, sizeof *people.list, compare_names);
    }
    sh_text_puts(text, "{\"people\":[");
    for (size_t i = 0; i < people.n && status == SH_OK; i++) {
        status = write_somebody(shelf, &people.list[i], today, &comma, text, err);
    }
    sh_text_puts(text, "]}");
    close_people(&people);
    return status == SH_OK ? text->status : status;
}
