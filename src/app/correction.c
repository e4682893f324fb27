/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/correction.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NUMBER_MAX  4294967295.0
#define WHERE_BYTES 512

enum sh_event sh_correction_find_event(const char *name)
{
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        const char *stem = sh_shot_event_stem((enum sh_event)event);
        const char *at = name;
        for (; *stem != '\0' && (*at == *stem || (*at == '-' && *stem == '_')); stem++) {
            at++;
        }
        if (*stem == '\0' && (*at == '\0' || strcmp(at, "_s") == 0)) {
            return (enum sh_event)event;
        }
    }
    return SH_EVENT_COUNT;
}

struct sh_correction sh_correction_make(const struct sh_mark *mark, size_t index)
{
    const bool has_u = mark->value_u_s.is_given;
    const double u_s = has_u ? mark->value_u_s.value : SH_CORRECTION_HALF_S / sqrt(3.0);
    const bool has_number =
        mark->shot.is_given && mark->shot.value >= 1.0 && mark->shot.value <= NUMBER_MAX;
    return (struct sh_correction){
        .mark = index,
        .event = sh_correction_find_event(mark->event),
        .value_s = mark->value_s.is_given ? sh_quantity_known(mark->value_s.value, u_s)
                                          : sh_quantity_unknown(SH_WHY_CORRECTED),
        .mark_s = mark->t_s,
        .time_s = mark->value_s.is_given ? mark->value_s.value : mark->t_s,
        .number = has_number ? (unsigned)mark->shot.value : 0};
}

enum sh_status
sh_corrections_open(const struct sh_mark *marks, size_t n_marks, struct sh_corrections *out)
{
    size_t n = 0;
    for (size_t i = 0; i < n_marks; i++) {
        n += marks[i].kind == SH_MARK_CORRECTION ? 1 : 0;
    }
    *out = (struct sh_corrections){0};
    if (n == 0) {
        return SH_OK;
    }
    out->list = calloc(n, sizeof *out->list);
    if (out->list == NULL) {
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < n_marks; i++) {
        if (marks[i].kind == SH_MARK_CORRECTION) {
            out->list[out->n++] = sh_correction_make(&marks[i], i);
        }
    }
    return SH_OK;
}

void sh_corrections_close(struct sh_corrections *corrections)
{
    free(corrections->list);
    *corrections = (struct sh_corrections){0};
}

void sh_corrections_begin(struct sh_corrections *corrections)
{
    for (size_t i = 0; i < corrections->n; i++) {
        corrections->list[i].state = SH_CORRECTION_LOST;
        corrections->list[i].n = 0;
    }
}

bool sh_correction_is_near(const struct sh_shot *shot, double time_s)
{
    double first_s = (double)INFINITY;
    double last_s = -(double)INFINITY;
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        if (sh_quantity_is_known(&shot->event_s[event])) {
            first_s = fmin(first_s, shot->event_s[event].value);
            last_s = fmax(last_s, shot->event_s[event].value);
        }
    }
    return time_s >= first_s - SH_CORRECTION_BEFORE_S &&
           time_s <= last_s + SH_CORRECTION_AFTER_S;
}

size_t sh_correction_find_last(const struct sh_mark *marks,
                               size_t n_marks,
                               const struct sh_shot *shot,
                               enum sh_event event)
{
    for (size_t i = n_marks; i-- > 0;) {
        if (marks[i].kind != SH_MARK_CORRECTION) {
            continue;
        }
        const struct sh_correction correction = sh_correction_make(&marks[i], i);
        if (correction.event == event &&
            (sh_correction_is_near(shot, correction.time_s) || correction.number == shot->n)) {
            return i;
        }
    }
    return n_marks;
}

/* A release and a let-down stand in for each other. */
static void put_instead(struct sh_shot *shot, enum sh_event event)
{
    const bool is_release = event == SH_EVENT_RELEASE;
    const enum sh_event other = is_release ? SH_EVENT_LET_DOWN : SH_EVENT_RELEASE;
    shot->kind = is_release ? SH_SHOT_SHOT : SH_SHOT_LET_DOWN;
    shot->event_s[other] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    if (!is_release) {
        shot->event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
        shot->clicker_sensor = SH_CLICKER_NONE;
        shot->strip = SH_STRIP_UNKNOWN;
    }
}

static void put_clicker(struct sh_shot *shot, bool was_there)
{
    shot->clicker_sensor = SH_CLICKER_NONE;
    shot->clicker_probability = 0.0;
    if (was_there) {
        shot->strip = SH_STRIP_FELL;
    } else if (shot->strip == SH_STRIP_FELL) {
        shot->strip = SH_STRIP_UNKNOWN;
    }
}

static void put(struct sh_shot *shot, const struct sh_correction *correction)
{
    const bool was_there = sh_quantity_is_known(&correction->value_s);
    const enum sh_event event = correction->event;
    shot->event_s[event] = correction->value_s;
    shot->event_share[event] = (struct sh_event_share){.is_known = false};
    shot->is_corrected[event] = true;
    if (event == SH_EVENT_CLICKER) {
        put_clicker(shot, was_there);
    }
    if (was_there && (event == SH_EVENT_RELEASE || event == SH_EVENT_LET_DOWN)) {
        put_instead(shot, event);
    }
}

/* Whether a corrected event lies on the wrong side of another. */
static bool is_out_of_order(const struct sh_shot *shot, enum sh_event event)
{
    const struct sh_quantity *at = &shot->event_s[event];
    for (int other = 0; other < SH_EVENT_COUNT && sh_quantity_is_known(at); other++) {
        const struct sh_quantity *that = &shot->event_s[other];
        const bool is_early = (int)event > other && at->value < that->value;
        const bool is_late = (int)event < other && at->value > that->value;
        if (sh_quantity_is_known(that) && (is_early || is_late)) {
            return true;
        }
    }
    return false;
}

/* Whether one is to be put into the shot with this number. */
static bool is_of(const struct sh_correction *correction, const struct sh_shot *shot)
{
    return correction->state == SH_CORRECTION_USED && correction->n == shot->n;
}

/* Earlier ones of the same event of the shot count no more. */
static void overrule(struct sh_corrections *corrections, size_t i, const struct sh_shot *shot)
{
    for (size_t k = 0; k < i; k++) {
        struct sh_correction *earlier = &corrections->list[k];
        if (is_of(earlier, shot) && earlier->event == corrections->list[i].event) {
            earlier->state = SH_CORRECTION_OVERRULED;
        }
    }
}

/* Takes those that belong to the shot as it was found, of an event the last; 0: none do. */
static size_t claim(struct sh_corrections *corrections, const struct sh_shot *shot)
{
    size_t n = 0;
    for (size_t i = 0; i < corrections->n; i++) {
        struct sh_correction *one = &corrections->list[i];
        const bool is_free =
            one->state == SH_CORRECTION_LOST || one->state == SH_CORRECTION_REFUSED;
        if (!is_free || one->event == SH_EVENT_COUNT ||
            !sh_correction_is_near(shot, one->time_s)) {
            continue;
        }
        overrule(corrections, i, shot);
        one->state = SH_CORRECTION_USED;
        one->n = shot->n;
        n++;
    }
    return n;
}

/* The last of those put in that does not fit the others or its draw; NULL: all do. */
static struct sh_correction *find_misfit(struct sh_corrections *corrections,
                                         const struct sh_shot *found,
                                         const struct sh_shot *shot)
{
    for (size_t i = corrections->n; i-- > 0;) {
        struct sh_correction *one = &corrections->list[i];
        const bool is_there = sh_quantity_is_known(&one->value_s);
        if (is_of(one, found) &&
            (is_out_of_order(shot, one->event) ||
             (is_there && !sh_correction_is_near(found, one->value_s.value)))) {
            return one;
        }
    }
    return NULL;
}

/* The shot as it was found with all that belong to it. */
static void put_all(const struct sh_corrections *corrections,
                    const struct sh_shot *found,
                    struct sh_shot *shot)
{
    *shot = *found;
    for (size_t i = 0; i < corrections->n; i++) {
        if (is_of(&corrections->list[i], found)) {
            put(shot, &corrections->list[i]);
        }
    }
}

void sh_corrections_apply(struct sh_corrections *corrections, struct sh_shot *shot)
{
    const struct sh_shot found = *shot;
    if (claim(corrections, &found) == 0) {
        return;
    }
    struct sh_correction *misfit = NULL;
    do {
        put_all(corrections, &found, shot);
        misfit = find_misfit(corrections, &found, shot);
        if (misfit != NULL) {
            misfit->state = SH_CORRECTION_REFUSED;
        }
    } while (misfit != NULL);
}

/* A draw for one that found none: around its mark's time, or with its number. */
static const struct sh_shot_record *find_draw(const struct sh_correction *correction,
                                              const struct sh_analysis *analysis)
{
    const struct sh_shot_record *numbered = NULL;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        if (sh_correction_is_near(&record->shot, correction->mark_s)) {
            return record;
        }
        numbered = record->shot.n == correction->number ? record : numbered;
    }
    return numbered;
}

void sh_corrections_settle(struct sh_corrections *corrections,
                           const struct sh_analysis *analysis)
{
    for (size_t i = 0; i < corrections->n; i++) {
        struct sh_correction *one = &corrections->list[i];
        if (one->state != SH_CORRECTION_LOST || one->event == SH_EVENT_COUNT) {
            continue;
        }
        const struct sh_shot_record *record = find_draw(one, analysis);
        if (record != NULL) {
            one->time_s = sh_analysis_get_time_s(record);
        }
    }
}

static bool is_unused(const struct sh_correction *correction)
{
    return correction->state == SH_CORRECTION_LOST ||
           correction->state == SH_CORRECTION_REFUSED;
}

static const char *get_reason(const struct sh_correction *correction)
{
    if (correction->event == SH_EVENT_COUNT) {
        return "names no event of a draw";
    }
    return correction->state == SH_CORRECTION_REFUSED
               ? "would put the draw's events out of order"
               : "belongs to no draw that is there";
}

bool sh_corrections_find_unused(const struct sh_corrections *corrections,
                                const char *recording,
                                struct sh_error *err)
{
    const struct sh_correction *first = NULL;
    size_t n = 0;
    for (size_t i = 0; i < corrections->n; i++) {
        if (is_unused(&corrections->list[i])) {
            first = first == NULL ? &corrections->list[i] : first;
            n++;
        }
    }
    if (first == NULL) {
        return false;
    }
    char where[WHERE_BYTES];
    char more[64] = "";
    const bool has_event = first->event != SH_EVENT_COUNT;
    (void)snprintf(where, sizeof where, "%s: marks[%zu]", recording, first->mark);
    if (n > 1) {
        (void)snprintf(more, sizeof more, " (nor %s %zu more)", n > 2 ? "are" : "is", n - 1);
    }
    (void)sh_error_set(err, SH_ERR_NOT_FOUND, where,
                       "all else was worked out; remove the mark if it means nothing",
                       "the correction of draw %u's %s %s and is not used%s", first->number,
                       has_event ? sh_shot_event_title(first->event) : "event",
                       get_reason(first), more);
    return true;
}
