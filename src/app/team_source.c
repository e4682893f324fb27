/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/team_source.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/analysis_store.h"
#include "base/day.h"
#include "recording/session_json.h"

#define DAY_S    86400.0
#define HOUR_S   3600.0
#define MINUTE_S 60.0
#define TIME_AT  11u /* of "2026-05-14T09:30:00.000Z" */

/* A number of seconds that begins a word; *rest is what follows. */
static bool parse_seconds(const char *word, double *out_s, char **rest)
{
    *out_s = strtod(word, rest);
    return word[0] >= '0' && word[0] <= '9' && *rest != word &&
           *out_s <= SH_TEAM_SOURCE_HAND_OVER_MAX_S;
}

enum sh_status sh_team_source_parse_hand_over(const char *word,
                                              const char *where,
                                              struct sh_team_source_hand_over *out,
                                              struct sh_error *err)
{
    const char *sign = strrchr(word, '=');
    const char *seconds = sign != NULL ? sign + 1 : word;
    const size_t n_bytes = sign != NULL ? (size_t)(sign - word) : 0;
    char *rest = NULL;
    bool is_good = n_bytes < sizeof out->athlete && sign != word &&
                   parse_seconds(seconds, &out->low_s, &rest);
    if (is_good) {
        (void)snprintf(out->athlete, sizeof out->athlete, "%.*s", (int)n_bytes, word);
        out->high_s = out->low_s;
        is_good = *rest != '-' || parse_seconds(rest + 1, &out->high_s, &rest);
    }
    return is_good && *rest == '\0' && out->high_s >= out->low_s
               ? SH_OK
               : sh_error_set(err, SH_ERR_ARGUMENT, where,
                              "give seconds, as in 4, 3-6 or wren=3-6",
                              "'%.60s' is not understood", word);
}

/* Seconds since 1970 of an instant that session_json has passed; NaN where there is none. */
static double parse_instant_s(const char *text)
{
    int day = 0;
    if (!sh_day_parse_instant(text, 0, &day)) {
        return (double)NAN;
    }
    char *rest = NULL;
    const double hours = strtod(text + TIME_AT, &rest);
    const double minutes = *rest == ':' ? strtod(rest + 1, &rest) : 0.0;
    const double seconds = *rest == ':' ? strtod(rest + 1, &rest) : 0.0;
    return DAY_S * (double)day + HOUR_S * hours + MINUTE_S * minutes + seconds;
}

static enum sh_status
add_recording(const char *folder, struct sh_team_times *times, struct sh_error *err)
{
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    struct sh_analysis analysis = {0};
    const struct sh_thresholds thresholds = sh_thresholds_default();
    enum sh_status status = sh_session_json_read(folder, &session, &kept, err);
    if (status == SH_OK) {
        status = sh_analysis_store_get(folder, &thresholds, &analysis, err);
    }
    if (status == SH_OK && sh_team_times_add(times, &analysis, session.marks, session.n_marks,
                                             parse_instant_s(session.started)) != SH_OK) {
        status = sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "out of memory");
    }
    sh_analysis_close(&analysis);
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return status;
}

static enum sh_status
check_archer(const struct sh_team_source *source, size_t a, struct sh_error *err)
{
    const struct sh_team_times_count *count = &source->sheet[a].count;
    for (size_t other = 0; other < a; other++) {
        if (strcmp(source->names[other], source->names[a]) == 0) {
            return sh_error_set(err, SH_ERR_ARGUMENT, source->names[a],
                                "name each archer of the team once", "is named twice");
        }
    }
    if (!sh_team_times_is_enough(count)) {
        char todo[SH_ERROR_TODO_BYTES];
        (void)snprintf(todo, sizeof todo, "record at least %u arrows of %u ends",
                       SH_TEAM_TIMES_ARROWS_MIN, SH_TEAM_TIMES_ENDS_MIN);
        return sh_error_set(err, SH_ERR_SHORT, source->names[a], todo,
                            "too few: the times of %zu arrows of %zu ends are known",
                            count->n_next + count->n_first[SH_TEAM_FIRST_START] +
                                count->n_first[SH_TEAM_FIRST_HAND_OVER],
                            count->n_timed_ends);
    }
    return SH_OK;
}

static enum sh_status read_archer(const struct sh_athlete_list_place *place,
                                  char *const *word,
                                  struct sh_team_source *source,
                                  struct sh_error *err)
{
    const size_t a = source->n;
    struct sh_athlete_list list;
    struct sh_team_times *times = &source->times[a];
    enum sh_status status = sh_athlete_list_find(place, word, 1, &list, err);
    for (size_t i = 0; i < list.n && status == SH_OK; i++) {
        status = add_recording(list.entries[i].folder, times, err);
    }
    if (status == SH_OK) {
        source->n++;
        (void)snprintf(source->names[a], sizeof source->names[a], "%s",
                       list.entries[0].athlete);
        source->archers[a].times = times;
        const size_t n_dropped = sh_team_times_drop_free(times);
        source->sheet[a] =
            (struct sh_team_sheet_archer){.name = source->names[a],
                                          .n_recordings = list.n,
                                          .count = sh_team_times_get_count(times),
                                          .n_dropped = n_dropped,
                                          .n_unknown = times->n_unknown};
        status = check_archer(source, a, err);
    }
    sh_athlete_list_close(&list);
    return status;
}

static enum sh_status find_seen(struct sh_team_source *source)
{
    const struct sh_team_times *times[SH_TEAM_PLAN_ARCHERS_MAX];
    size_t n_ends = 0;
    for (size_t a = 0; a < source->n; a++) {
        times[a] = &source->times[a];
        n_ends += times[a]->n_ends;
    }
    source->all_seen_s = calloc(n_ends + 1, sizeof *source->all_seen_s);
    if (source->all_seen_s == NULL) {
        return SH_ERR_MEMORY;
    }
    for (size_t a = 0; a < source->n; a++) {
        source->seen_s[a] = calloc(times[a]->n_ends + 1, sizeof(double));
        if (source->seen_s[a] == NULL) {
            return SH_ERR_MEMORY;
        }
        source->n_seen[a] = sh_team_hand_over_find(times, source->n, a, source->seen_s[a]);
        for (size_t i = 0; i < source->n_seen[a]; i++) {
            source->all_seen_s[source->n_all_seen++] = source->seen_s[a][i];
        }
    }
    return SH_OK;
}

enum sh_status sh_team_source_read(const struct sh_athlete_list_place *place,
                                   char *const *words,
                                   size_t n_words,
                                   struct sh_team_source *source,
                                   struct sh_error *err)
{
    enum sh_status status = SH_OK;
    memset(source, 0, sizeof *source);
    for (size_t i = 0; i < n_words && i < SH_TEAM_PLAN_ARCHERS_MAX && status == SH_OK; i++) {
        status = read_archer(place, &words[i], source, err);
    }
    if (status == SH_OK && find_seen(source) != SH_OK) {
        status = sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    return status;
}

/* What was given for an archer, the last for her own name first; NULL: nothing. */
static const struct sh_team_source_hand_over *
find_given(const char *name, const struct sh_team_source_hand_over *given, size_t n_given)
{
    const struct sh_team_source_hand_over *found = NULL;
    for (size_t i = 0; i < n_given; i++) {
        const bool is_own = strcmp(given[i].athlete, name) == 0;
        const bool is_for_all = given[i].athlete[0] == '\0';
        if (is_own || (is_for_all && (found == NULL || found->athlete[0] == '\0'))) {
            found = &given[i];
        }
    }
    return found;
}

static struct sh_team_hand_over choose_hand_over(const struct sh_team_source *source,
                                                 size_t a,
                                                 const struct sh_team_source_hand_over *given)
{
    if (given != NULL) {
        return (struct sh_team_hand_over){
            .source = SH_TEAM_HAND_OVER_GIVEN, .low_s = given->low_s, .high_s = given->high_s};
    }
    if (source->n_seen[a] >= SH_TEAM_HAND_OVER_MIN) {
        return (struct sh_team_hand_over){.source = SH_TEAM_HAND_OVER_OWN,
                                          .seen_s = source->seen_s[a],
                                          .n_seen = source->n_seen[a]};
    }
    if (source->n_all_seen >= SH_TEAM_HAND_OVER_MIN) {
        return (struct sh_team_hand_over){.source = SH_TEAM_HAND_OVER_TEAM,
                                          .seen_s = source->all_seen_s,
                                          .n_seen = source->n_all_seen};
    }
    return (struct sh_team_hand_over){.source = SH_TEAM_HAND_OVER_ASSUMED,
                                      .low_s = SH_TEAM_SOURCE_HAND_OVER_LOW_S,
                                      .high_s = SH_TEAM_SOURCE_HAND_OVER_HIGH_S};
}

static bool is_member(const struct sh_team_source *source, const char *name)
{
    bool is_found = name[0] == '\0';
    for (size_t a = 0; a < source->n && !is_found; a++) {
        is_found = strcmp(source->names[a], name) == 0;
    }
    return is_found;
}

enum sh_status sh_team_source_set_hand_overs(struct sh_team_source *source,
                                             const struct sh_team_source_hand_over *given,
                                             size_t n_given,
                                             struct sh_error *err)
{
    for (size_t i = 0; i < n_given; i++) {
        if (!is_member(source, given[i].athlete)) {
            return sh_error_set(err, SH_ERR_ARGUMENT, given[i].athlete,
                                "give hand-overs of the team's archers",
                                "is not one of the team");
        }
    }
    for (size_t a = 0; a < source->n; a++) {
        source->archers[a].hand_over =
            choose_hand_over(source, a, find_given(source->names[a], given, n_given));
    }
    return SH_OK;
}

void sh_team_source_close(struct sh_team_source *source)
{
    for (size_t a = 0; a < SH_TEAM_PLAN_ARCHERS_MAX; a++) {
        sh_team_times_close(&source->times[a]);
        free(source->seen_s[a]);
    }
    free(source->all_seen_s);
    memset(source, 0, sizeof *source);
}
