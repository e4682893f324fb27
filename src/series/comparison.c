/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/comparison.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "measure/catalog.h"
#include "series/arrow.h"

#define PER_CENT 100.0
#define INDEX    0u
#define MIDDLE   1u
#define RING     2u

static const struct sh_comparison_kind kinds[SH_COMPARISON_KINDS] = {
    {"hold", "s", 1.0, 2, SH_MEASURE_HOLD_TIME, 0, false},
    {"click to release", "s", 1.0, 3, SH_MEASURE_CLICKER_REACTION, 0, false},
    {"hold force", "N", 1.0, 1, SH_MEASURE_HOLD_FORCE, 0, true},
    {"creep", "N", 1.0, 2, SH_MEASURE_CREEP_FORCE, 0, false},
    {"tremor", "N", 1.0, 3, SH_MEASURE_TREMOR_RMS, 0, false},
    {"index share", "%", PER_CENT, 1, SH_MEASURE_FINGER_SHARE, INDEX, true},
    {"middle share", "%", PER_CENT, 1, SH_MEASURE_FINGER_SHARE, MIDDLE, true},
    {"ring share", "%", PER_CENT, 1, SH_MEASURE_FINGER_SHARE, RING, true},
    {"ring share in the hold", "%", PER_CENT, 1, SH_MEASURE_FINGER_SHARE_CHANGE, RING, false},
    {"index peak", "N", 1.0, 1, SH_MEASURE_FINGER_PEAK, INDEX, true},
    {"middle peak", "N", 1.0, 1, SH_MEASURE_FINGER_PEAK, MIDDLE, true},
    {"ring peak", "N", 1.0, 1, SH_MEASURE_FINGER_PEAK, RING, true},
    {"index impulse", "N s", 1.0, 0, SH_MEASURE_FINGER_IMPULSE, INDEX, true},
    {"middle impulse", "N s", 1.0, 0, SH_MEASURE_FINGER_IMPULSE, MIDDLE, true},
    {"ring impulse", "N s", 1.0, 0, SH_MEASURE_FINGER_IMPULSE, RING, true},
};

const struct sh_comparison_kind *sh_comparison_get_kind(size_t i)
{
    return &kinds[i];
}

double sh_comparison_round(const struct sh_comparison_kind *kind, double value)
{
    const double steps = pow(10.0, kind->n_decimals);
    return round(kind->factor * value * steps) / steps + 0.0;
}

const char *sh_comparison_get_way_name(enum sh_before_after_way way)
{
    switch (way) {
    case SH_BEFORE_AFTER_SESSIONS:
        return "sessions";
    case SH_BEFORE_AFTER_ENDS:
        return "ends";
    case SH_BEFORE_AFTER_TWO_SESSIONS:
        return "two-sessions";
    }
    return "";
}

static enum sh_status reserve(struct sh_comparison_set *set, size_t n_more)
{
    if (set->n + n_more <= set->capacity) {
        return SH_OK;
    }
    const size_t capacity = 2 * (set->n + n_more);
    struct sh_comparison_arrow *grown = realloc(set->arrows, capacity * sizeof *grown);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    set->arrows = grown;
    set->capacity = capacity;
    return SH_OK;
}

static void take_measures(const struct sh_measures *measures, struct sh_comparison_arrow *arrow)
{
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        const struct sh_quantity *got =
            sh_catalog_get(measures, kinds[k].measure, kinds[k].part);
        arrow->is_known[k] = sh_quantity_is_known(got);
        arrow->value[k] = arrow->is_known[k] ? got->value : 0.0;
        arrow->u[k] = arrow->is_known[k] ? got->u : 0.0;
    }
}

enum sh_status sh_comparison_set_add(struct sh_comparison_set *set,
                                     const struct sh_analysis *analysis,
                                     const struct sh_session *recording,
                                     size_t session,
                                     bool is_second)
{
    struct sh_arrow *order = calloc(analysis->n_shots + 1, sizeof *order);
    if (order == NULL || reserve(set, analysis->n_shots) != SH_OK) {
        free(order);
        return SH_ERR_MEMORY;
    }
    size_t last = 0;
    sh_arrow_find_all(analysis, recording->marks, recording->n_marks, order);
    for (size_t i = 0; i < analysis->n_shots; i++) {
        if (analysis->shots[i].shot.kind != SH_SHOT_SHOT) {
            continue;
        }
        struct sh_comparison_arrow *arrow = &set->arrows[set->n++];
        *arrow = (struct sh_comparison_arrow){
            .session = session, .end = set->n_ends + order[i].end, .is_second = is_second};
        take_measures(&analysis->shots[i].measures, arrow);
        last = order[i].end > last ? order[i].end : last;
    }
    const bool is_new =
        set->n_recordings[is_second] == 0 || set->last_session[is_second] != session;
    set->n_sessions[is_second] += is_new ? 1u : 0u;
    set->last_session[is_second] = session;
    set->n_ends += last;
    set->n_recordings[is_second]++;
    free(order);
    return SH_OK;
}

void sh_comparison_set_close(struct sh_comparison_set *set)
{
    free(set->arrows);
    *set = (struct sh_comparison_set){0};
}

/* Root mean square of what either side's values of a kind are uncertain by, of both together.
 */
static double get_calibration_u(const struct sh_comparison_set *set, size_t kind)
{
    double square[2] = {0.0};
    double count[2] = {0.0};
    for (size_t i = 0; i < set->n; i++) {
        const struct sh_comparison_arrow *arrow = &set->arrows[i];
        if (arrow->is_known[kind]) {
            square[arrow->is_second] += arrow->u[kind] * arrow->u[kind];
            count[arrow->is_second] += 1.0;
        }
    }
    return sqrt(square[0] / fmax(count[0], 1.0) + square[1] / fmax(count[1], 1.0));
}

enum sh_status sh_comparison_get(const struct sh_comparison_set *set,
                                 bool has_other_calibration,
                                 uint64_t seed,
                                 struct sh_comparison *out)
{
    double calibration_u[SH_COMPARISON_KINDS] = {0.0};
    struct sh_before_after_arrow *arrows = calloc(set->n + 1, sizeof *arrows);
    double *values = calloc((set->n + 1) * SH_COMPARISON_KINDS, sizeof *values);
    *out = (struct sh_comparison){.has_other_calibration = has_other_calibration};
    if (arrows == NULL || values == NULL) {
        free(arrows);
        free(values);
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < set->n; i++) {
        const struct sh_comparison_arrow *arrow = &set->arrows[i];
        arrows[i] =
            (struct sh_before_after_arrow){arrow->session, arrow->end, arrow->is_second};
        for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
            values[i * SH_COMPARISON_KINDS + k] =
                arrow->is_known[k] ? arrow->value[k] : (double)NAN;
        }
    }
    for (size_t k = 0; k < SH_COMPARISON_KINDS && has_other_calibration; k++) {
        calibration_u[k] = kinds[k].is_calibrated ? get_calibration_u(set, k) : 0.0;
    }
    const struct sh_before_after_config config = {.arrows = arrows,
                                                  .values = values,
                                                  .n = set->n,
                                                  .n_figures = SH_COMPARISON_KINDS,
                                                  .calibration_u = calibration_u,
                                                  .seed = seed};
    const enum sh_status status = sh_before_after_get(&config, out->figure);
    free(arrows);
    free(values);
    return status;
}
