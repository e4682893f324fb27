/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/comparison_source.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/analysis_store.h"
#include "app/hidden_people.h"
#include "app/recording_list.h"
#include "app/same_calibration.h"
#include "base/day.h"
#include "recording/session_json.h"

#define NOWHERE 2u /* neither side */

/* A recording and what decides where it belongs. */
struct entry {
    const char *folder;
    char athlete[SH_SESSION_NAME_BYTES];
    char started[SH_SESSION_NAME_BYTES];
    char session[SH_SESSION_NAME_BYTES];
    char value[SH_SESSION_NAME_BYTES]; /* of the tag; "" where it has none */
    int day;
    size_t side; /* 0, 1 or NOWHERE */
};

/* All recordings that were named. */
struct field {
    struct sh_recording_list list;
    struct entry *entries; /* owned, [n] */
    size_t n;
};

static void close_field(struct field *field)
{
    free(field->entries);
    sh_recording_list_close(&field->list);
}

static bool is_folder(const char *path)
{
    struct stat file;
    return stat(path, &file) == 0 && S_ISDIR(file.st_mode);
}

/* Recordings below the words, or one athlete's of the home; *athlete: who they must be of. */
static enum sh_status list_folders(const struct sh_comparison_source_config *config,
                                   const char **athlete,
                                   struct sh_recording_list *list,
                                   struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    enum sh_status status = SH_OK;
    *athlete = NULL;
    if (config->by != NULL && config->n_words == 1 && !is_folder(config->words[0])) {
        *athlete = config->words[0];
        (void)snprintf(path, sizeof path, "%.*s/recordings", (int)sizeof path - 16,
                       config->home);
        status = sh_recording_list_add(list, path, err);
    }
    for (size_t i = 0; i < config->n_words && *athlete == NULL && status == SH_OK; i++) {
        status = sh_recording_list_add(list, config->words[i], err);
    }
    sh_recording_list_settle(list);
    return status;
}

static void copy_tag(const struct sh_session *session, const char *key, struct entry *entry)
{
    for (size_t i = 0; i < session->n_tags; i++) {
        if (strcmp(session->tags[i].key, key) == 0) {
            (void)snprintf(entry->value, sizeof entry->value, "%s", session->tags[i].value);
        }
    }
}

static enum sh_status
read_entry(const char *folder, const char *key, struct entry *entry, struct sh_error *err)
{
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    const enum sh_status status = sh_session_json_read(folder, &session, &kept, err);
    *entry = (struct entry){.folder = folder, .side = NOWHERE};
    if (status == SH_OK) {
        (void)snprintf(entry->athlete, sizeof entry->athlete, "%s", session.athlete);
        (void)snprintf(entry->started, sizeof entry->started, "%s", session.started);
        (void)snprintf(entry->session, sizeof entry->session, "%s", session.session);
        (void)sh_day_parse_instant(session.started, session.utc_offset_min, &entry->day);
        copy_tag(&session, key, entry);
    }
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return status;
}

static int compare_entries(const void *a, const void *b)
{
    const struct entry *x = a;
    const struct entry *y = b;
    const int order = strcmp(x->started, y->started);
    return order != 0 ? order : strcmp(x->folder, y->folder);
}

/* Is the folder that, or below it? */
static bool is_below(const char *folder, const char *root)
{
    char whole[PATH_MAX];
    if (realpath(root, whole) == NULL) {
        return false;
    }
    const size_t n = strlen(whole);
    return strncmp(folder, whole, n) == 0 && (folder[n] == '/' || folder[n] == '\0');
}

/* Sides by the words: a recording below both is an error. */
static enum sh_status take_sides_by_words(const struct sh_comparison_source_config *config,
                                          struct field *field,
                                          struct sh_error *err)
{
    for (size_t i = 0; i < field->n; i++) {
        struct entry *entry = &field->entries[i];
        const bool is_first = is_below(entry->folder, config->words[0]);
        const bool is_second = is_below(entry->folder, config->words[1]);
        if (is_first && is_second) {
            return sh_error_set(err, SH_ERR_ARGUMENT, entry->folder,
                                "name two folders that do not lie in one another",
                                "belongs to both sides");
        }
        entry->side = is_second ? 1u : 0u;
    }
    return SH_OK;
}

/* The two values of the tag that are there: in order of time. */
static enum sh_status find_values(const struct field *field,
                                  struct sh_comparison_source *source,
                                  struct sh_error *err)
{
    size_t n = 0;
    for (size_t i = 0; i < field->n; i++) {
        const char *value = field->entries[i].value;
        const bool is_new = value[0] != '\0' &&
                            (n == 0 || strcmp(value, source->side[0]) != 0) &&
                            (n < 2 || strcmp(value, source->side[1]) != 0);
        if (is_new && n == 2) {
            return sh_error_set(err, SH_ERR_ARGUMENT, "compare --by",
                                "say which two, as in --by tab=thin,thick",
                                "'%s' has more than two values", source->key);
        }
        if (is_new) {
            (void)snprintf(source->side[n++], sizeof source->side[0], "%s", value);
        }
    }
    return n == 2 ? SH_OK
                  : sh_error_set(err, SH_ERR_NOT_FOUND, "compare --by",
                                 "tag recordings, as in capture --tag tab=thick",
                                 "these recordings have not two values of '%s'", source->key);
}

/* Reads "tab" or "tab=thin,thick"; *has_values. */
static enum sh_status read_by(const char *by,
                              struct sh_comparison_source *source,
                              bool *has_values,
                              struct sh_error *err)
{
    const char *equals = strchr(by, '=');
    const char *comma = strchr(equals != NULL ? equals : by, ',');
    const size_t n_key = equals != NULL ? (size_t)(equals - by) : strlen(by);
    *has_values = equals != NULL;
    const bool is_split =
        equals == NULL || (comma != NULL && comma > equals + 1 && comma[1] != '\0');
    if (n_key == 0 || n_key >= sizeof source->key || !is_split) {
        (void)sh_error_set(err, SH_ERR_ARGUMENT, "compare --by",
                           "give a tag's key, or key=value,value", "'%s' is not understood",
                           by);
        return SH_ERR_ARGUMENT;
    }
    (void)snprintf(source->key, sizeof source->key, "%.*s", (int)n_key, by);
    if (equals != NULL) {
        (void)snprintf(source->side[0], sizeof source->side[0], "%.*s",
                       (int)(comma - equals - 1), equals + 1);
        (void)snprintf(source->side[1], sizeof source->side[1], "%.*s", SH_HOME_PATH_BYTES - 1,
                       comma + 1);
    }
    return SH_OK;
}

static void take_sides_by_tag(struct field *field, struct sh_comparison_source *source)
{
    for (size_t i = 0; i < field->n; i++) {
        struct entry *entry = &field->entries[i];
        for (size_t k = 0; k < 2; k++) {
            entry->side = strcmp(entry->value, source->side[k]) == 0 ? k : entry->side;
        }
        source->n_untagged += entry->side == NOWHERE;
    }
}

/* One athlete, and both sides there. */
static enum sh_status check_field(const struct field *field,
                                  struct sh_comparison_source *source,
                                  struct sh_error *err)
{
    size_t n[2] = {0};
    const struct entry *first = NULL;
    for (size_t i = 0; i < field->n; i++) {
        const struct entry *entry = &field->entries[i];
        if (entry->side == NOWHERE) {
            continue;
        }
        first = first != NULL ? first : entry;
        n[entry->side]++;
        if (strcmp(entry->athlete, first->athlete) != 0) {
            return sh_error_set(err, SH_ERR_ARGUMENT, entry->folder,
                                "name recordings of one athlete: people are not compared",
                                "shot by another athlete than %s", first->folder);
        }
    }
    for (size_t k = 0; k < 2; k++) {
        if (n[k] == 0 || first == NULL) {
            return sh_error_set(err, SH_ERR_NOT_FOUND, source->side[k],
                                "give a folder with recordings, or another tag",
                                "no recording is on that side");
        }
    }
    (void)snprintf(source->athlete, sizeof source->athlete, "%s", first->athlete);
    return SH_OK;
}

static enum sh_status read_field(const struct sh_comparison_source_config *config,
                                 const char *key,
                                 struct field *field,
                                 struct sh_error *err)
{
    const char *athlete = NULL;
    enum sh_status status = list_folders(config, &athlete, &field->list, err);
    if (status != SH_OK) {
        return status;
    }
    field->entries = calloc(field->list.n + 1, sizeof *field->entries);
    if (field->entries == NULL) {
        (void)sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < field->list.n && status == SH_OK; i++) {
        status = read_entry(field->list.folder[i], key, &field->entries[field->n], err);
        const bool is_other =
            athlete != NULL && strcmp(field->entries[field->n].athlete, athlete) != 0;
        field->n += status == SH_OK && !is_other;
    }
    qsort(field->entries, field->n, sizeof *field->entries, compare_entries);
    return status;
}

/* Appends a recording; *first is the first of all, whose calibration the others are held to. */
static enum sh_status add_recording(const struct entry *entry,
                                    size_t number,
                                    struct sh_session *first,
                                    struct sh_comparison_source *source,
                                    struct sh_error *err)
{
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    struct sh_analysis analysis = {0};
    const struct sh_thresholds thresholds = sh_thresholds_default();
    enum sh_status status = sh_session_json_read(entry->folder, &session, &kept, err);
    if (status == SH_OK) {
        status = sh_analysis_store_get(entry->folder, &thresholds, &analysis, err);
    }
    if (status == SH_OK && sh_comparison_set_add(&source->set, &analysis, &session, number,
                                                 entry->side == 1) != SH_OK) {
        status = sh_error_set(err, SH_ERR_MEMORY, entry->folder, NULL, "out of memory");
    }
    if (status == SH_OK && first->n_streams == 0) {
        status = sh_session_copy(&session, first);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, entry->folder, NULL, "%s", sh_status_text(status));
        }
    } else if (status == SH_OK) {
        source->has_other_calibration =
            source->has_other_calibration || sh_same_calibration_is_other(first, &session);
    }
    sh_analysis_close(&analysis);
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return status;
}

/* Reads the samples' analyses; recordings of one day and name are one session. */
static enum sh_status
add_all(const struct field *field, struct sh_comparison_source *source, struct sh_error *err)
{
    struct sh_session first = {0};
    const struct entry *before = NULL;
    enum sh_status status = SH_OK;
    size_t number = 0;
    for (size_t i = 0; i < field->n && status == SH_OK; i++) {
        const struct entry *entry = &field->entries[i];
        if (entry->side == NOWHERE) {
            continue;
        }
        const bool is_same = before != NULL && before->day == entry->day &&
                             strcmp(before->session, entry->session) == 0;
        number += is_same ? 0u : 1u;
        before = entry;
        status = add_recording(entry, number, &first, source, err);
    }
    sh_session_close(&first);
    return status;
}

/* By the folders' names, or by their paths where the names are the same. */
static void name_sides(const struct sh_comparison_source_config *config,
                       struct sh_comparison_source *source)
{
    for (size_t k = 0; k < 2; k++) {
        sh_home_copy_name(config->words[k], source->side[k], sizeof source->side[k]);
    }
    const bool is_same = strcmp(source->side[0], source->side[1]) == 0;
    for (size_t k = 0; k < 2 && is_same; k++) {
        (void)snprintf(source->side[k], sizeof source->side[k], "%s", config->words[k]);
    }
}

static enum sh_status find_sides(const struct sh_comparison_source_config *config,
                                 bool has_values,
                                 struct field *field,
                                 struct sh_comparison_source *source,
                                 struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (config->by == NULL) {
        name_sides(config, source);
        return take_sides_by_words(config, field, err);
    }
    if (!has_values) {
        status = find_values(field, source, err);
    }
    if (status == SH_OK) {
        take_sides_by_tag(field, source);
    }
    return status;
}

enum sh_status sh_comparison_source_read(const struct sh_comparison_source_config *config,
                                         struct sh_comparison_source *source,
                                         struct sh_error *err)
{
    struct field field = {.n = 0};
    bool has_values = false;
    enum sh_status status = SH_OK;
    memset(source, 0, sizeof *source);
    if (config->by != NULL) {
        status = read_by(config->by, source, &has_values, err);
    }
    if (status == SH_OK) {
        status = read_field(config, source->key, &field, err);
    }
    if (status == SH_OK) {
        status = find_sides(config, has_values, &field, source, err);
    }
    if (status == SH_OK) {
        status = check_field(&field, source, err);
    }
    if (status == SH_OK) {
        status = sh_hidden_people_check(config->home, source->athlete, err);
    }
    if (status == SH_OK) {
        status = add_all(&field, source, err);
    }
    close_field(&field);
    return status;
}

void sh_comparison_source_close(struct sh_comparison_source *source)
{
    sh_comparison_set_close(&source->set);
    memset(source, 0, sizeof *source);
}
