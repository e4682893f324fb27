/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/analysis.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_CAPACITY 16u
#define SAME_SHOT_S    0.5 /* two passes never put one release further apart */

void sh_analysis_init(struct sh_analysis *analysis, const char *recording, const char *athlete)
{
    *analysis = (struct sh_analysis){0};
    (void)snprintf(analysis->recording, sizeof analysis->recording, "%s", recording);
    (void)snprintf(analysis->athlete, sizeof analysis->athlete, "%s", athlete);
}

void sh_analysis_close(struct sh_analysis *analysis)
{
    free(analysis->shots);
    free(analysis->history);
    *analysis = (struct sh_analysis){0};
}

/* The findings there are, not the room for all there might be: that is most of a record. */
static void copy_record(const struct sh_shot_record *from, struct sh_shot_record *to)
{
    const size_t before = offsetof(struct sh_shot_record, findings);
    const size_t behind = offsetof(struct sh_shot_record, n_findings);
    memcpy(to, from, before);
    memcpy(to->findings, from->findings, from->n_findings * sizeof from->findings[0]);
    memcpy((char *)to + behind, (const char *)from + behind, sizeof *from - behind);
}

enum sh_status sh_analysis_add(struct sh_analysis *analysis,
                               const struct sh_shot_record *record)
{
    if (analysis->n_shots == SH_ANALYSIS_SHOTS_MAX) {
        return SH_ERR_FULL;
    }
    if (analysis->n_shots == analysis->capacity) {
        size_t capacity = analysis->capacity != 0 ? 2 * analysis->capacity : FIRST_CAPACITY;
        struct sh_shot_record *grown = realloc(analysis->shots, capacity * sizeof *grown);
        if (grown == NULL) {
            return SH_ERR_MEMORY;
        }
        analysis->shots = grown;
        analysis->capacity = capacity;
    }
    copy_record(record, &analysis->shots[analysis->n_shots++]);
    return SH_OK;
}

enum sh_status sh_analysis_replace(struct sh_analysis *analysis,
                                   const struct sh_shot_record *record)
{
    for (size_t i = 0; i < analysis->n_shots; i++) {
        if (analysis->shots[i].shot.n == record->shot.n) {
            copy_record(record, &analysis->shots[i]);
            return SH_OK;
        }
    }
    return SH_ERR_NOT_FOUND;
}

enum sh_status sh_analysis_add_history(struct sh_analysis *analysis, const char *recording)
{
    if (analysis->n_history == SH_ANALYSIS_HISTORY_MAX) {
        return SH_ERR_FULL;
    }
    size_t n = analysis->n_history + 1;
    char(*grown)[SH_SESSION_FILE_BYTES] = realloc(analysis->history, n * sizeof *grown);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    (void)snprintf(grown[n - 1], sizeof grown[n - 1], "%s", recording);
    analysis->history = grown;
    analysis->n_history = n;
    return SH_OK;
}

void sh_analysis_add_quality(struct sh_analysis *analysis,
                             enum sh_code_quality code,
                             const char *text)
{
    for (size_t i = 0; i < analysis->n_quality; i++) {
        if (analysis->quality[i].code == code) {
            return;
        }
    }
    struct sh_analysis_quality *quality = &analysis->quality[analysis->n_quality++];
    quality->code = code;
    (void)snprintf(quality->text, sizeof quality->text, "%s", text);
}

double sh_analysis_get_time_s(const struct sh_shot_record *record)
{
    static const enum sh_event order[] = {SH_EVENT_RELEASE, SH_EVENT_LET_DOWN,
                                          SH_EVENT_DRAW_START, SH_EVENT_END};
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        const struct sh_quantity *event = &record->shot.event_s[order[i]];
        if (sh_quantity_is_known(event)) {
            return event->value;
        }
    }
    return 0.0;
}

/* Equal to the bit, so that "not changed" can be relied on. */
static bool is_same_number(double a, double b)
{
    uint64_t bits_a = 0;
    uint64_t bits_b = 0;
    memcpy(&bits_a, &a, sizeof a);
    memcpy(&bits_b, &b, sizeof b);
    return bits_a == bits_b;
}

static bool is_same(const struct sh_quantity *a, const struct sh_quantity *b)
{
    if (a->why != b->why || !sh_quantity_is_known(a)) {
        return a->why == b->why;
    }
    if (a->has_interval != b->has_interval) {
        return false;
    }
    bool is_same_interval =
        !a->has_interval || (is_same_number(a->lo, b->lo) && is_same_number(a->hi, b->hi));
    return is_same_interval && is_same_number(a->value, b->value) && is_same_number(a->u, b->u);
}

static bool is_same_measure(const struct sh_measures *a,
                            const struct sh_measures *b,
                            enum sh_measure measure)
{
    for (size_t part = 0; part < sh_catalog_get_parts(measure); part++) {
        if (!is_same(sh_catalog_get(a, measure, part), sh_catalog_get(b, measure, part))) {
            return false;
        }
    }
    return measure != SH_MEASURE_VIBRATION_PEAK || a->vibration_clipped == b->vibration_clipped;
}

static void mark_changes(const struct sh_shot_record *first, struct sh_shot_record *later)
{
    later->is_kind_changed = first->shot.kind != later->shot.kind;
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        later->is_event_changed[i] = !is_same(&first->shot.event_s[i], &later->shot.event_s[i]);
    }
    bool is_click_same =
        first->shot.clicker_sensor == later->shot.clicker_sensor &&
        is_same_number(first->shot.clicker_probability, later->shot.clicker_probability);
    later->is_event_changed[SH_EVENT_CLICKER] |= !is_click_same;
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        enum sh_measure measure = (enum sh_measure)i;
        later->is_measure_changed[i] =
            !is_same_measure(&first->measures, &later->measures, measure);
    }
}

static const struct sh_shot_record *find_partner(const struct sh_analysis *first,
                                                 const struct sh_shot_record *later)
{
    const struct sh_shot_record *partner = NULL;
    double nearest_s = SAME_SHOT_S;
    for (size_t i = 0; i < first->n_shots; i++) {
        double apart_s =
            fabs(sh_analysis_get_time_s(&first->shots[i]) - sh_analysis_get_time_s(later));
        if (apart_s <= nearest_s) {
            nearest_s = apart_s;
            partner = &first->shots[i];
        }
    }
    return partner;
}

void sh_analysis_compare(const struct sh_analysis *first, struct sh_analysis *later)
{
    static const struct sh_shot_record nothing;
    for (size_t i = 0; i < later->n_shots; i++) {
        struct sh_shot_record *record = &later->shots[i];
        const struct sh_shot_record *partner = find_partner(first, record);
        mark_changes(partner != NULL ? partner : &nothing, record);
        record->is_kind_changed = record->is_kind_changed || partner == NULL;
    }
}
