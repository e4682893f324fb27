/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_draws.h"

#include <stdlib.h>

#include "app/correction.h"

#define FIRST_CAPACITY 32u

void sh_live_draws_close(struct sh_live_draws *draws)
{
    free(draws->list);
    *draws = (struct sh_live_draws){.n = 0};
}

/* Which of its shots a draw is asked for. */
enum stage { STAGE_CORRECTED, STAGE_MEASURED };

/* The release before draw k that its set-up counts from, with what its error shares. */
static struct sh_quantity find_previous(const struct sh_live_draws *draws,
                                        size_t k,
                                        enum stage stage,
                                        struct sh_event_share *share)
{
    *share = (struct sh_event_share){.is_known = false};
    while (k-- > 0) {
        const struct sh_shot *shot =
            stage == STAGE_CORRECTED ? &draws->list[k].corrected : &draws->list[k].measured;
        if (sh_quantity_is_known(&shot->event_s[SH_EVENT_RELEASE])) {
            *share = shot->event_share[SH_EVENT_RELEASE];
            return shot->event_s[SH_EVENT_RELEASE];
        }
    }
    return sh_quantity_unknown(SH_WHY_NOT_SEEN);
}

enum sh_status sh_live_draws_add(struct sh_live_draws *draws,
                                 const struct sh_shot *shot,
                                 const struct sh_shot_view *view)
{
    struct sh_event_share share;
    if (draws->n == draws->capacity) {
        const size_t capacity = draws->capacity > 0 ? 2 * draws->capacity : FIRST_CAPACITY;
        struct sh_live_draw *grown = realloc(draws->list, capacity * sizeof *grown);
        if (grown == NULL) {
            return SH_ERR_MEMORY;
        }
        draws->list = grown;
        draws->capacity = capacity;
    }
    struct sh_live_draw *draw = &draws->list[draws->n];
    *draw = (struct sh_live_draw){.found = *shot, .corrected = *shot, .measured = *shot};
    draw->previous_release_s = find_previous(draws, draws->n, STAGE_MEASURED, &share);
    sh_recall_keep(shot, view, &draw->recall);
    draws->n++;
    return SH_OK;
}

/* The corrections among marks, and one more. The list is to be closed. */
static enum sh_status open_corrections(const struct sh_mark *marks,
                                       size_t n_marks,
                                       const struct sh_mark *more,
                                       struct sh_corrections *out)
{
    enum sh_status status = sh_corrections_open(marks, n_marks, out);
    if (status != SH_OK) {
        return status;
    }
    struct sh_correction *grown = realloc(out->list, (out->n + 1) * sizeof *grown);
    if (grown == NULL) {
        sh_corrections_close(out);
        return SH_ERR_MEMORY;
    }
    out->list = grown;
    out->list[out->n++] = sh_correction_make(more, n_marks);
    return SH_OK;
}

enum sh_status sh_live_draws_check(const struct sh_live_draws *draws,
                                   const struct sh_mark *marks,
                                   size_t n_marks,
                                   const struct sh_mark *correction,
                                   struct sh_error *err)
{
    struct sh_corrections corrections;
    enum sh_status status = open_corrections(marks, n_marks, correction, &corrections);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    sh_corrections_begin(&corrections);
    for (size_t i = 0; i < draws->n; i++) {
        struct sh_shot shot = draws->list[i].found;
        sh_corrections_apply(&corrections, &shot);
    }
    const struct sh_correction *last = &corrections.list[corrections.n - 1];
    const bool is_used = last->state == SH_CORRECTION_USED && last->n == last->number;
    if (!is_used) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, NULL, "put it between the events beside it",
                              "a %s there does not go with the other events of draw %u",
                              sh_shot_event_title(last->event), last->number);
    }
    sh_corrections_close(&corrections);
    return status;
}

enum sh_status
sh_live_draws_correct(struct sh_live_draws *draws, const struct sh_mark *marks, size_t n_marks)
{
    struct sh_corrections corrections;
    enum sh_status status = sh_corrections_open(marks, n_marks, &corrections);
    if (status != SH_OK) {
        return status;
    }
    sh_corrections_begin(&corrections);
    for (size_t i = 0; i < draws->n; i++) {
        draws->list[i].corrected = draws->list[i].found;
        sh_corrections_apply(&corrections, &draws->list[i].corrected);
    }
    sh_corrections_close(&corrections);
    return SH_OK;
}

/* Unknown values may be anything. */
static bool is_same_quantity(const struct sh_quantity *a, const struct sh_quantity *b)
{
    const bool differs =
        a->value < b->value || a->value > b->value || a->u < b->u || a->u > b->u;
    return a->why == b->why && (!sh_quantity_is_known(a) || !differs);
}

/* In all that a correction can change. */
static bool is_same_shot(const struct sh_shot *a, const struct sh_shot *b)
{
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        if (a->is_corrected[event] != b->is_corrected[event] ||
            !is_same_quantity(&a->event_s[event], &b->event_s[event])) {
            return false;
        }
    }
    return a->kind == b->kind && a->clicker_sensor == b->clicker_sensor && a->strip == b->strip;
}

static bool is_stale(const struct sh_live_draws *draws, size_t k)
{
    const struct sh_live_draw *draw = &draws->list[k];
    struct sh_event_share share;
    const struct sh_quantity previous_s = find_previous(draws, k, STAGE_CORRECTED, &share);
    return !is_same_shot(&draw->corrected, &draw->measured) ||
           !is_same_quantity(&draw->previous_release_s, &previous_s);
}

enum sh_status sh_live_draws_plan(const struct sh_live_draws *draws, struct sh_remeasure **job)
{
    size_t n = 0;
    *job = NULL;
    for (size_t k = 0; k < draws->n; k++) {
        n += is_stale(draws, k) ? 1 : 0;
    }
    if (n == 0) {
        return SH_OK;
    }
    *job = sh_remeasure_open(n);
    if (*job == NULL) {
        return SH_ERR_MEMORY;
    }
    n = 0;
    for (size_t k = 0; k < draws->n; k++) {
        if (is_stale(draws, k)) {
            struct sh_remeasure_draw *draw = &(*job)->draws[n++];
            draw->shot = draws->list[k].corrected;
            draw->recall = draws->list[k].recall;
            draw->previous_release_s =
                find_previous(draws, k, STAGE_CORRECTED, &draw->previous_share);
        }
    }
    return SH_OK;
}

static void put_draw(struct sh_live_draws *draws, const struct sh_remeasure_draw *measured)
{
    for (size_t k = 0; k < draws->n; k++) {
        if (draws->list[k].found.n == measured->shot.n) {
            draws->list[k].measured = measured->shot;
            draws->list[k].previous_release_s = measured->previous_release_s;
        }
    }
}

static void put_record(struct sh_analysis *analysis, const struct sh_remeasure_draw *measured)
{
    for (size_t k = 0; k < analysis->n_shots; k++) {
        struct sh_shot_record *record = &analysis->shots[k];
        if (record->shot.n == measured->shot.n) {
            record->shot = measured->shot;
            record->measures = measured->measures;
        }
    }
}

void sh_live_draws_put(struct sh_live_draws *draws,
                       const struct sh_remeasure *job,
                       struct sh_analysis *analysis)
{
    for (size_t i = 0; i < job->n; i++) {
        put_draw(draws, &job->draws[i]);
        put_record(analysis, &job->draws[i]);
    }
}
