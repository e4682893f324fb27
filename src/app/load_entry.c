/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/load_entry.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/capture_setup.h"
#include "app/date_option.h"
#include "base/day.h"
#include "series/rating.h"

#define DRAWS_MAX         5000.0
#define DRAW_WEIGHT_MAX_N 400.0

static enum sh_status
refuse(struct sh_error *err, const char *option, const char *todo, const char *word)
{
    char where[64];
    (void)snprintf(where, sizeof where, "load --%s", option);
    return word != NULL
               ? sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'%s' cannot be used", word)
               : sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "too few or too many words");
}

static bool parse_number(const char *text, double most, double *value)
{
    char *end = NULL;
    double number = strtod(text, &end);
    if (end == text || *end != '\0' || !(number >= 0.0 && number <= most)) {
        return false;
    }
    *value = number;
    return true;
}

static enum sh_status
parse_draws(char *const *words, size_t n_words, struct sh_load_entry *out, struct sh_error *err)
{
    double draws = 0.0;
    if (n_words < 1 || n_words > 2) {
        return refuse(err, "add", "give --add DATE DRAWS [WEIGHT]", NULL);
    }
    if (!parse_number(words[0], DRAWS_MAX, &draws) || fmod(draws, 1.0) > 0.0 || draws < 1.0) {
        return refuse(err, "add", "give a whole number of draws, 1 to 5000", words[0]);
    }
    out->draws.draws = (uint64_t)draws;
    if (n_words == 2) {
        double weight_n = 0.0;
        if (!sh_capture_setup_parse_force(words[1], false, &weight_n) ||
            weight_n > DRAW_WEIGHT_MAX_N) {
            return refuse(err, "add", "give the bow's draw weight in N, or with lb", words[1]);
        }
        out->draws.draw_weight_n = (struct sh_mark_number){true, weight_n};
    }
    return SH_OK;
}

static enum sh_status parse_rating(char *const *words,
                                   size_t n_words,
                                   struct sh_load_entry *out,
                                   struct sh_error *err)
{
    enum sh_rating_when when = SH_RATING_BEFORE;
    if (n_words != 2) {
        return refuse(err, "rating", "give --rating DATE before|during|after RATING", NULL);
    }
    if (!sh_rating_when_find(words[0], &when)) {
        return refuse(err, "rating", "take before, during or after", words[0]);
    }
    if (!parse_number(words[1], SH_RATING_MAX, &out->rating.rating)) {
        return refuse(err, "rating", "give 0 to 10", words[1]);
    }
    (void)snprintf(out->rating.when, sizeof out->rating.when, "%s", words[0]);
    return SH_OK;
}

enum sh_status sh_load_entry_parse(const char *option,
                                   const char *date,
                                   char *const *words,
                                   size_t n_words,
                                   struct sh_load_entry *out,
                                   struct sh_error *err)
{
    char where[64];
    struct sh_load_entry entry = {0};
    (void)snprintf(where, sizeof where, "load --%s", option);
    enum sh_status status = sh_date_option_parse(where, date, &entry.day, err);
    if (status != SH_OK) {
        return status;
    }
    sh_day_format(entry.day, entry.draws.date);
    sh_day_format(entry.day, entry.rating.date);
    if (strcmp(option, "add") == 0) {
        entry.kind = SH_LOAD_ENTRY_DRAWS;
        status = parse_draws(words, n_words, &entry, err);
    } else if (strcmp(option, "rating") == 0) {
        entry.kind = SH_LOAD_ENTRY_RATING;
        status = parse_rating(words, n_words, &entry, err);
    } else {
        bool is_rest = strcmp(option, "rest") == 0;
        entry.kind = is_rest ? SH_LOAD_ENTRY_REST : SH_LOAD_ENTRY_FORGET;
        status = n_words == 0 ? SH_OK : refuse(err, option, "give the date alone", words[0]);
    }
    if (status == SH_OK) {
        *out = entry;
    }
    return status;
}

static bool has_draws(const struct sh_person *person, const char *date)
{
    for (size_t i = 0; i < person->n_draws; i++) {
        if (strcmp(person->draws[i].date, date) == 0) {
            return true;
        }
    }
    return false;
}

static bool has_rest(const struct sh_person *person, const char *date)
{
    for (size_t i = 0; i < person->n_rests; i++) {
        if (strcmp(person->rests[i].date, date) == 0) {
            return true;
        }
    }
    return false;
}

static enum sh_status contradict(const char *date, const char *what, struct sh_error *err)
{
    return sh_error_set(err, SH_ERR_EXISTS, date, "take it back with --forget DATE",
                        "this day is already said %s", what);
}

static enum sh_status
add_rest(const struct sh_load_entry *entry, struct sh_person *person, struct sh_error *err)
{
    struct sh_person_rest rest = {0};
    (void)snprintf(rest.date, sizeof rest.date, "%s", entry->draws.date);
    if (has_draws(person, rest.date)) {
        return contradict(rest.date, "to have draws", err);
    }
    return has_rest(person, rest.date) ? SH_OK : sh_person_add_rest(person, &rest);
}

/* Takes away all entries of a day; each list keeps its order. */
static enum sh_status
forget(struct sh_load_entry *entry, struct sh_person *person, struct sh_error *err)
{
    const char *date = entry->draws.date;
    const size_t before = person->n_draws + person->n_rests + person->n_ratings;
    size_t n = 0;
    for (size_t i = 0; i < person->n_draws; i++) {
        if (strcmp(person->draws[i].date, date) != 0) {
            person->draws[n++] = person->draws[i];
        }
    }
    person->n_draws = n;
    n = 0;
    for (size_t i = 0; i < person->n_rests; i++) {
        if (strcmp(person->rests[i].date, date) != 0) {
            person->rests[n++] = person->rests[i];
        }
    }
    person->n_rests = n;
    n = 0;
    for (size_t i = 0; i < person->n_ratings; i++) {
        if (strcmp(person->ratings[i].date, date) != 0) {
            person->ratings[n++] = person->ratings[i];
        }
    }
    person->n_ratings = n;
    entry->n_forgotten = before - person->n_draws - person->n_rests - person->n_ratings;
    return entry->n_forgotten > 0
               ? SH_OK
               : sh_error_set(err, SH_ERR_NOT_FOUND, date, "see what the person's file says",
                              "nothing was said of this day");
}

static enum sh_status apply(void *context, struct sh_person *person, struct sh_error *err)
{
    struct sh_load_entry *entry = context;
    enum sh_status status = SH_OK;
    switch (entry->kind) {
    case SH_LOAD_ENTRY_DRAWS:
        status = has_rest(person, entry->draws.date)
                     ? contradict(entry->draws.date, "to be rest", err)
                     : sh_person_add_draws(person, &entry->draws);
        break;
    case SH_LOAD_ENTRY_REST:
        status = add_rest(entry, person, err);
        break;
    case SH_LOAD_ENTRY_RATING:
        status = sh_person_add_rating(person, &entry->rating);
        break;
    case SH_LOAD_ENTRY_FORGET:
        return forget(entry, person, err);
    }
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, person->name, NULL, "%s", sh_status_text(status));
}

struct sh_person_file_change sh_load_entry_make_change(struct sh_load_entry *entry)
{
    return (struct sh_person_file_change){apply, entry};
}
