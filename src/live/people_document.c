/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/people_document.h"

#include <math.h>
#include <string.h>

#include "finding/limit_kind.h"
#include "live/limit_words.h"
#include "live/number_text.h"

#define DIGITS      6
#define GOAL_DIGITS 4

const enum sh_measure sh_people_document_measures[SH_PEOPLE_DOCUMENT_MEASURES] = {
    SH_MEASURE_HOLD_TIME, SH_MEASURE_HOLD_FORCE, SH_MEASURE_CLICKER_REACTION,
    SH_MEASURE_CREEP_FORCE, SH_MEASURE_TREMOR_RMS};

static void write_baselines(const struct sh_people_document_entry *entry, struct sh_text *text)
{
    const char *comma = "";
    for (size_t i = 0; i < SH_PEOPLE_DOCUMENT_MEASURES; i++) {
        char key[SH_CATALOG_KEY_BYTES];
        const struct sh_baseline_place *place = &entry->baseline[i];
        const struct sh_catalog_row *row = sh_catalog_get_row(sh_people_document_measures[i]);
        if (place->n == 0) {
            continue;
        }
        sh_catalog_key(sh_people_document_measures[i], SH_CATALOG_VALUE, key);
        sh_text_printf(text, "%s{\"measure\":\"%s\",\"unit\":", comma, key);
        sh_number_text_put_string(text, row->symbol);
        sh_text_puts(text, ",\"median\":");
        sh_number_text_put(text, place->median, DIGITS);
        sh_text_puts(text, ",\"robust_sd\":");
        sh_number_text_put(text, place->robust_sd, DIGITS);
        sh_text_printf(text, ",\"n\":%zu}", place->n);
        comma = ",";
    }
}

/* Dates are compared as texts: ISO 8601 sorts that way. */
static bool holds_on(const struct sh_person_limit *limit, const char *today)
{
    return (limit->from[0] == '\0' || strcmp(limit->from, today) <= 0) &&
           (limit->until[0] == '\0' || strcmp(limit->until, today) >= 0);
}

static void put_bound(const struct sh_mark_number *bound, struct sh_text *text)
{
    sh_number_text_put(text, bound->is_given ? bound->value : (double)NAN, DIGITS);
}

static void write_limit(const struct sh_person_limit *limit, struct sh_text *text)
{
    const struct sh_limit_words words = {limit->what,   limit->finger, limit->per,
                                         limit->set_by, &limit->most,  &limit->least};
    struct sh_limit_kind kind = {.title = limit->what, .unit = "", .factor = 1.0};
    (void)sh_limit_kind_find(limit->what, &kind);
    sh_text_puts(text, "{\"what\":");
    sh_number_text_put_string(text, limit->what);
    sh_text_puts(text, ",\"finger\":");
    sh_number_text_put_name(text, limit->finger);
    sh_text_puts(text, ",\"value\":null,\"most\":");
    put_bound(&limit->most, text);
    sh_text_puts(text, ",\"least\":");
    put_bound(&limit->least, text);
    sh_text_puts(text, ",\"unit\":");
    sh_number_text_put_string(text, kind.unit);
    sh_text_puts(text, ",\"state\":\"unknown\",\"text\":");
    sh_limit_words_put(&words, text);
    sh_text_puts(text, "}");
}

void sh_people_document_put_goal(double least_s,
                                 double most_s,
                                 const char *set_by,
                                 struct sh_text *text)
{
    sh_text_puts(text, "{\"lo_s\":");
    sh_number_text_put(text, least_s, GOAL_DIGITS);
    sh_text_puts(text, ",\"hi_s\":");
    sh_number_text_put(text, most_s, GOAL_DIGITS);
    sh_text_puts(text, ",\"set_by\":");
    sh_number_text_put_string(text, set_by);
    sh_text_puts(text, "}");
}

static void write_goal(const struct sh_person *person, struct sh_text *text)
{
    char key[SH_CATALOG_KEY_BYTES];
    sh_catalog_key(SH_MEASURE_HOLD_TIME, SH_CATALOG_VALUE, key);
    const struct sh_person_goal *goal =
        person != NULL ? sh_person_find_goal(person, key) : NULL;
    if (goal == NULL) {
        sh_text_puts(text, "null");
    } else {
        sh_people_document_put_goal(goal->least, goal->most, goal->set_by, text);
    }
}

void sh_people_document_write(const struct sh_people_document_entry *entry,
                              struct sh_text *text)
{
    const char *comma = "";
    sh_text_puts(text, "{\"name\":");
    sh_number_text_put_string(text, entry->name);
    sh_text_printf(text, ",\"n_shots\":%zu,\"n_recordings\":%zu,\"last\":", entry->n_shots,
                   entry->n_recordings);
    sh_number_text_put_name(text, entry->last);
    sh_text_puts(text, ",\"baselines\":[");
    write_baselines(entry, text);
    sh_text_puts(text, "],\"limits\":[");
    for (size_t i = 0; entry->person != NULL && i < entry->person->n_limits; i++) {
        if (holds_on(&entry->person->limits[i], entry->today)) {
            sh_text_puts(text, comma);
            write_limit(&entry->person->limits[i], text);
            comma = ",";
        }
    }
    sh_text_puts(text, "],\"goal\":");
    write_goal(entry->person, text);
    sh_text_puts(text, "}");
}
