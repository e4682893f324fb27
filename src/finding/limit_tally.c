/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_tally.h"

#include <math.h>
#include <string.h>

#include "finding/limit_kind.h"

#define FINGERS SH_LIMIT_TALLY_FINGERS

/* Where a draw ended: released or let down, else the end of what was seen. */
static struct sh_quantity get_end_s(const struct sh_shot *shot)
{
    const struct sh_quantity *release = &shot->event_s[SH_EVENT_RELEASE];
    const struct sh_quantity *down = &shot->event_s[SH_EVENT_LET_DOWN];
    if (sh_quantity_is_known(release)) {
        return *release;
    }
    return sh_quantity_is_known(down) ? *down : shot->event_s[SH_EVENT_END];
}

static void add(struct sh_limit_tally_sum *sum, const struct sh_quantity *value)
{
    if (sh_quantity_is_known(value)) {
        sum->value += value->value;
        sum->u += value->u;
    } else {
        sum->n_unknown++;
    }
}

static void raise_to(struct sh_limit_tally_sum *sum, const struct sh_quantity *value)
{
    if (!sh_quantity_is_known(value)) {
        sum->n_unknown++;
    } else if (value->value > sum->value) {
        sum->value = value->value;
        sum->u = value->u;
    }
}

void sh_limit_tally_add(struct sh_limit_tally *tally, const struct sh_shot_record *record)
{
    tally->n_draws++;
    for (size_t i = 0; i < FINGERS; i++) {
        add(&tally->impulse_n_s[i],
            sh_catalog_get(&record->measures, SH_MEASURE_FINGER_IMPULSE, i));
        if (record->shot.kind != SH_SHOT_LET_DOWN) { /* whose peak has no definition */
            raise_to(&tally->peak_n[i],
                     sh_catalog_get(&record->measures, SH_MEASURE_FINGER_PEAK, i));
        }
    }
    tally->before_s = tally->end_s;
    tally->end_s = get_end_s(&record->shot);
}

size_t sh_limit_tally_get_finger(const struct sh_mark *mark)
{
    enum sh_finger finger = SH_FINGER_NONE;
    return sh_channel_finger_find(mark->finger, &finger) && finger != SH_FINGER_NONE
               ? (size_t)finger - SH_FINGER_INDEX
               : FINGERS;
}

struct sh_limit_tally_sum sh_limit_tally_get_impulse(const struct sh_limit_tally *tally,
                                                     const struct sh_mark *mark,
                                                     size_t finger)
{
    struct sh_limit_tally_sum sum = {.value = mark->before.value,
                                     .u = mark->before_u.value,
                                     .n_unknown = mark->before_unknown.value > 0.0 ? 1 : 0};
    size_t first = finger < FINGERS ? finger : 0;
    size_t last = finger < FINGERS ? finger : FINGERS - 1;
    for (size_t i = first; i <= last; i++) {
        sum.value += tally->impulse_n_s[i].value;
        sum.u += tally->impulse_n_s[i].u;
        sum.n_unknown += tally->impulse_n_s[i].n_unknown;
    }
    return sum;
}

static void put(const struct sh_limit_tally_sum *sum, struct sh_quantity *value, bool *is_least)
{
    *value = sh_quantity_known(sum->value, sum->u);
    *is_least = sum->n_unknown > 0;
}

/* Share of a finger in the impulse of a span: unknown where a part is, and before any draw. */
static struct sh_quantity
get_share(const struct sh_limit_tally *tally, const struct sh_mark *mark, size_t finger)
{
    struct sh_limit_tally_sum own = sh_limit_tally_get_impulse(tally, mark, finger);
    double all = mark->before_all.value;
    double all_u = 0.0;
    for (size_t i = 0; i < FINGERS; i++) {
        all += tally->impulse_n_s[i].value;
        all_u = i == finger ? all_u : hypot(all_u, tally->impulse_n_s[i].u);
        own.n_unknown += tally->impulse_n_s[i].n_unknown;
    }
    if (own.n_unknown > 0) {
        return sh_quantity_unknown(SH_WHY_UNRESOLVED);
    }
    if (!(all > 0.0)) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    const double share = own.value / all;
    return sh_quantity_known(share, hypot((1.0 - share) * own.u, share * all_u) / all);
}

static bool get_of_span(const struct sh_mark *mark,
                        const struct sh_limit_kind *kind,
                        const struct sh_limit_tally *tally,
                        struct sh_quantity *value,
                        bool *is_least)
{
    const size_t finger = sh_limit_tally_get_finger(mark);
    struct sh_limit_tally_sum sum = {0};
    switch (kind->what) {
    case SH_LIMIT_WHAT_DRAWS:
        sum.value = mark->before.value + (double)tally->n_draws;
        sum.n_unknown = mark->before_unknown.value > 0.0 ? 1 : 0;
        put(&sum, value, is_least);
        return true;
    case SH_LIMIT_WHAT_IMPULSE:
        sum = sh_limit_tally_get_impulse(tally, mark, finger);
        put(&sum, value, is_least);
        return true;
    case SH_LIMIT_WHAT_PEAK:
        sum = tally->peak_n[finger];
        sum.n_unknown += mark->before_unknown.value > 0.0 ? 1 : 0;
        if (mark->before.value > sum.value) {
            sum.value = mark->before.value;
            sum.u = mark->before_u.value;
        }
        put(&sum, value, is_least);
        return true;
    case SH_LIMIT_WHAT_SHARE:
        *value = get_share(tally, mark, finger);
        return true;
    case SH_LIMIT_WHAT_REST:
    case SH_LIMIT_WHAT_MEASURE:
        break;
    }
    return false;
}

/* From the end of the draw before to the start of this one. */
static bool get_rest(const struct sh_limit_tally *tally,
                     const struct sh_shot_record *record,
                     struct sh_quantity *value)
{
    const struct sh_quantity *start = &record->shot.event_s[SH_EVENT_DRAW_START];
    if (tally == NULL || tally->n_draws < 2) {
        return false; /* the first draw follows nothing */
    }
    *value = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    if (sh_quantity_is_known(start) && sh_quantity_is_known(&tally->before_s)) {
        *value = sh_quantity_known(start->value - tally->before_s.value,
                                   hypot(start->u, tally->before_s.u));
    }
    return true;
}

/* Impulse of a shot: of a finger, or of all three, unknown where one is. */
static struct sh_quantity get_impulse(const struct sh_measures *measures, size_t finger)
{
    struct sh_limit_tally_sum sum = {0};
    if (finger < FINGERS) {
        return *sh_catalog_get(measures, SH_MEASURE_FINGER_IMPULSE, finger);
    }
    for (size_t i = 0; i < FINGERS; i++) {
        const struct sh_quantity *part = sh_catalog_get(measures, SH_MEASURE_FINGER_IMPULSE, i);
        if (!sh_quantity_is_known(part)) {
            return *part;
        }
        add(&sum, part);
    }
    return sh_quantity_known(sum.value, sum.u);
}

static bool get_of_shot(const struct sh_mark *mark,
                        const struct sh_limit_kind *kind,
                        const struct sh_shot_record *record,
                        const struct sh_limit_tally *tally,
                        struct sh_quantity *value)
{
    size_t finger = sh_limit_tally_get_finger(mark);
    if (kind->what == SH_LIMIT_WHAT_REST) {
        return get_rest(tally, record, value);
    }
    if (kind->what == SH_LIMIT_WHAT_DRAWS) {
        return false;
    }
    if (kind->what == SH_LIMIT_WHAT_IMPULSE) {
        *value = get_impulse(&record->measures, finger);
        return true;
    }
    const struct sh_quantity *found =
        sh_catalog_get(&record->measures, kind->measure, finger < FINGERS ? finger : 0);
    if (found == NULL) {
        return false;
    }
    *value = *found;
    return true;
}

bool sh_limit_tally_get(const struct sh_mark *mark,
                        const struct sh_shot_record *record,
                        const struct sh_limit_tally *tally,
                        struct sh_quantity *value,
                        bool *is_least)
{
    struct sh_limit_kind kind;
    *is_least = false;
    if (mark->kind != SH_MARK_LIMIT || !sh_limit_kind_find(mark->what, &kind)) {
        return false;
    }
    if (strcmp(mark->per, "shot") == 0) {
        return get_of_shot(mark, &kind, record, tally, value);
    }
    return tally != NULL && get_of_span(mark, &kind, tally, value, is_least);
}
