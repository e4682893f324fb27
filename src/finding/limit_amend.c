/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "finding/limit_watch_inside.h"

/* How a limit stands by the records taken once more. */
struct recount {
    bool is_said; /* a record says something about it */
    enum sh_limit_state state;
    struct sh_quantity value; /* of a span: that came to the state first, and when */
    double t_s;
};

/* One record among those that are counted again. */
struct step {
    const struct sh_shot_record *record;
    struct told *told;
    double end_s; /* of the draw */
};

/* A draw's own limit: told where it was not yet, when the draw ran or was taken. */
static enum sh_status tell_shot(const struct sh_limit_watch *watch,
                                size_t i,
                                const struct step *step,
                                const struct recount *recount,
                                struct sh_error *err)
{
    const struct entry *entry = &watch->entry[i];
    const uint64_t bit = UINT64_C(1) << i;
    const bool is_reached = recount->state == SH_LIMIT_REACHED;
    const bool was_reached = (step->told->reached & bit) != 0;
    const bool was_near = (step->told->near & bit) != 0;
    const bool is_new = is_reached
                            ? !was_reached
                            : recount->state == SH_LIMIT_NEAR && !was_near && !was_reached;
    const bool is_lost = !sh_quantity_is_known(&recount->value) &&
                         recount->value.why != SH_WHY_NOT_APPLICABLE && entry->finger < FINGERS;
    if (is_new) {
        step->told->near |= bit;
        step->told->reached |= is_reached ? bit : 0;
        return sh_limit_check_tell(watch, entry, recount->state, &recount->value, step->end_s,
                                   err);
    }
    if (is_lost && watch->place[entry->finger].is_there &&
        !step->told->is_unknown[entry->finger]) {
        step->told->is_unknown[entry->finger] = true;
        return sh_limit_check_tell_unknown(watch, entry->finger, step->end_s,
                                           sh_quantity_why_text(recount->value.why), err);
    }
    return SH_OK;
}

/* One limit against one record more. Once reached a span stays reached. */
static enum sh_status count_entry(const struct sh_limit_watch *watch,
                                  size_t i,
                                  const struct step *step,
                                  struct recount *recount,
                                  struct sh_error *err)
{
    const struct entry *entry = &watch->entry[i];
    struct sh_quantity value;
    bool is_least = false;
    if (!sh_limit_tally_get(entry->mark, step->record, &watch->tally, &value, &is_least) ||
        (entry->is_span && recount->is_said && recount->state == SH_LIMIT_REACHED)) {
        return SH_OK;
    }
    const enum sh_limit_state state = sh_limit_judge(entry->mark, &value, is_least);
    if (!recount->is_said || state != recount->state || !entry->is_span) {
        *recount = (struct recount){true, state, value, step->end_s};
    }
    return entry->is_span ? SH_OK : tell_shot(watch, i, step, recount, err);
}

/* All records from the first, into a tally of their own figures. */
static enum sh_status count_all(struct sh_limit_watch *watch,
                                const struct sh_shot_record *records,
                                struct recount *recount,
                                struct sh_error *err)
{
    enum sh_status status = SH_OK;
    watch->tally = (struct sh_limit_tally){.n_draws = 0};
    for (size_t k = 0; k < watch->n_told && status == SH_OK; k++) {
        sh_limit_tally_add(&watch->tally, &records[k]);
        const struct sh_quantity *end = &watch->tally.end_s;
        const struct step step = {&records[k], &watch->told[k],
                                  sh_quantity_is_known(end) ? end->value : watch->now_s};
        for (size_t i = 0; i < watch->n && status == SH_OK; i++) {
            status = count_entry(watch, i, &step, &recount[i], err);
        }
    }
    return status;
}

/* Draws that are not measured yet count by their running figures. */
static void add_running(const struct sh_limit_watch *watch,
                        const struct entry *entry,
                        struct recount *recount)
{
    const bool is_force =
        entry->kind.what == SH_LIMIT_WHAT_PEAK || entry->kind.what == SH_LIMIT_WHAT_IMPULSE;
    if (!is_force || !entry->mark->most.is_given || recount->state == SH_LIMIT_REACHED) {
        return;
    }
    const struct sh_limit_tally_sum sum = sh_limit_check_sum(watch, entry);
    const struct sh_quantity value = sh_quantity_known(sum.value, sum.u);
    const enum sh_limit_state state = sh_limit_judge(entry->mark, &value, sum.n_unknown > 0);
    if (state != recount->state) {
        *recount = (struct recount){true, state, value, watch->now_s};
    }
}

/* A limit of a session or a day stands as its sum does now; told where that is news. */
static enum sh_status settle_span(const struct sh_limit_watch *watch,
                                  struct entry *entry,
                                  struct recount *recount,
                                  struct sh_error *err)
{
    if (!recount->is_said || entry->kind.what == SH_LIMIT_WHAT_DRAWS) {
        return SH_OK; /* draws stay as many as they were */
    }
    add_running(watch, entry, recount);
    const bool is_reached = recount->state == SH_LIMIT_REACHED;
    const bool is_near = recount->state == SH_LIMIT_NEAR;
    const bool is_new = is_reached ? !entry->has_reached : is_near && !entry->has_near;
    entry->state = recount->state;
    entry->has_reached = is_reached;
    entry->has_near =
        is_reached || is_near || (entry->has_near && recount->state == SH_LIMIT_UNKNOWN);
    return is_new ? sh_limit_check_tell(watch, entry, recount->state, &recount->value,
                                        recount->t_s, err)
                  : SH_OK;
}

/* A limit a shot stands as the last draw does, unless a later one runs or waits. */
static void settle_shot(const struct sh_limit_watch *watch,
                        struct entry *entry,
                        const struct recount *recount)
{
    const bool is_later =
        watch->pull.is_drawn || watch->n_pending > 0 || entry->has_near || entry->has_reached;
    if (recount->is_said && !is_later) {
        entry->state = recount->state;
    }
}

enum sh_status sh_limit_watch_amend(struct sh_limit_watch *watch,
                                    const struct sh_shot_record *records,
                                    size_t n,
                                    struct sh_error *err)
{
    struct recount recount[SH_LIMIT_WATCH_LIMITS_MAX] = {{.is_said = false}};
    if (n != watch->n_told) {
        return SH_OK;
    }
    enum sh_status status = count_all(watch, records, recount, err);
    for (size_t i = 0; i < watch->n && status == SH_OK; i++) {
        struct entry *entry = &watch->entry[i];
        if (entry->is_span) {
            status = settle_span(watch, entry, &recount[i], err);
        } else {
            settle_shot(watch, entry, &recount[i]);
        }
    }
    return status;
}
