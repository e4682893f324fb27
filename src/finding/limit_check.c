/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "finding/limit_watch_inside.h"

#define SAME_DRAW_S 1.0  /* what was told so near a draw is of that draw */
#define TOLD_FIRST  16u  /* draws that there is room for at first */
#define REST_U_S    0.25 /* of a running rest: draw start and release are only roughly known */

static enum sh_status emit(const struct sh_limit_watch *watch,
                           const struct sh_limit_event *event,
                           struct sh_error *err)
{
    return watch->config.sink.event(watch->config.sink.context, event, err);
}

/* True where a limit needs to know what the finger carries. */
static bool concerns(const struct entry *entry, size_t finger)
{
    bool is_sum = entry->kind.what == SH_LIMIT_WHAT_IMPULSE && entry->finger == FINGERS;
    return entry->finger == finger || is_sum || entry->kind.what == SH_LIMIT_WHAT_SHARE;
}

static const struct entry *find_concerned(const struct sh_limit_watch *watch, size_t finger)
{
    for (size_t i = 0; i < watch->n; i++) {
        if (concerns(&watch->entry[i], finger)) {
            return &watch->entry[i];
        }
    }
    return NULL;
}

static const char *get_name(size_t finger)
{
    return sh_channel_finger_name((enum sh_finger)(SH_FINGER_INDEX + (int)finger));
}

enum sh_status sh_limit_check_tell_unknown(const struct sh_limit_watch *watch,
                                           size_t finger,
                                           double t_s,
                                           const char *why,
                                           struct sh_error *err)
{
    const struct entry *entry = find_concerned(watch, finger);
    if (entry == NULL) {
        return SH_OK;
    }
    struct sh_limit_event event = {.kind = SH_LIMIT_EVENT_UNKNOWN,
                                   .limit = entry->mark,
                                   .finger = finger,
                                   .t_s = t_s,
                                   .value = sh_quantity_unknown(SH_WHY_UNRESOLVED)};
    (void)snprintf(
        event.text, sizeof event.text,
        "UNKNOWN what the %s finger carries: %s. Its limits cannot be watched; do not "
        "take it for inside.",
        get_name(finger), why);
    return emit(watch, &event, err);
}

/* The same, of the pull that runs or the draw that is taken. */
static enum sh_status tell_unknown(struct sh_limit_watch *watch,
                                   size_t finger,
                                   double t_s,
                                   const char *why,
                                   struct sh_error *err)
{
    watch->unknown_s[finger] = t_s;
    return sh_limit_check_tell_unknown(watch, finger, t_s, why, err);
}

static enum sh_status
tell_span_unknown(struct sh_limit_watch *watch, const struct entry *entry, struct sh_error *err)
{
    struct sh_limit_event event = {.kind = SH_LIMIT_EVENT_UNKNOWN,
                                   .limit = entry->mark,
                                   .finger = entry->finger,
                                   .value = sh_quantity_unknown(SH_WHY_NOT_GIVEN)};
    (void)snprintf(event.text, sizeof event.text,
                   "UNKNOWN how much of %s there was earlier in this %s: only what is measured "
                   "from now on is held against its limit; do not take it for inside.",
                   entry->kind.title, entry->mark->per);
    return emit(watch, &event, err);
}

enum sh_status sh_limit_watch_begin(struct sh_limit_watch *watch, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < FINGERS && status == SH_OK; i++) {
        if (!watch->place[i].is_there) {
            status = tell_unknown(watch, i, 0.0, "it has no sensor here", err);
        }
    }
    for (size_t i = 0; i < watch->n && status == SH_OK; i++) {
        if (watch->entry[i].mark->before_unknown.value > 0.0) {
            status = tell_span_unknown(watch, &watch->entry[i], err);
        }
    }
    return status;
}

enum sh_status sh_limit_check_tell(const struct sh_limit_watch *watch,
                                   const struct entry *entry,
                                   enum sh_limit_state state,
                                   const struct sh_quantity *value,
                                   double t_s,
                                   struct sh_error *err)
{
    struct sh_limit_event event = {.kind = state == SH_LIMIT_REACHED ? SH_LIMIT_EVENT_REACHED
                                                                     : SH_LIMIT_EVENT_NEAR,
                                   .limit = entry->mark,
                                   .finger = entry->finger,
                                   .t_s = t_s,
                                   .value = *value};
    sh_limit_format(entry->mark, state, value, event.text);
    return emit(watch, &event, err);
}

/* Tells once that a limit is near or reached. */
static enum sh_status tell(struct sh_limit_watch *watch,
                           struct entry *entry,
                           enum sh_limit_state state,
                           const struct sh_quantity *value,
                           double t_s,
                           struct sh_error *err)
{
    bool is_reached = state == SH_LIMIT_REACHED;
    const bool is_told = is_reached || state == SH_LIMIT_NEAR;
    if (!entry->has_reached && (is_told || watch->pull.is_drawn)) {
        entry->state = state; /* a string that is only touched leaves the last draw's */
    }
    if ((!is_reached && state != SH_LIMIT_NEAR) || entry->has_reached ||
        (!is_reached && entry->has_near)) {
        return SH_OK;
    }
    entry->has_near = true;
    entry->near_s = t_s;
    if (is_reached) {
        entry->has_reached = true;
        entry->reached_s = t_s;
    }
    return sh_limit_check_tell(watch, entry, state, value, t_s, err);
}

/* Adds a lane's running figures to what is known of a finger. */
static void add_running(const struct sh_limit_watch *watch,
                        size_t finger,
                        struct sh_limit_tally_sum *impulse,
                        struct sh_limit_tally_sum *peak)
{
    const struct place *place = &watch->place[finger];
    bool is_unknown = !place->has_begun || watch->is_unknown[finger];
    impulse->n_unknown += is_unknown ? 1 : 0;
    peak->n_unknown += is_unknown ? 1 : 0;
    if (!place->has_begun) {
        return;
    }
    const struct sh_quantity force = sh_limit_lane_get_peak_n(&place->lane);
    if (sh_limit_pull_is_loaded(&watch->pull)) {
        const struct sh_quantity now =
            sh_limit_lane_get_impulse_n_s(&place->lane, watch->pull.largest_n);
        impulse->value += now.value;
        impulse->u += now.u;
    }
    if (force.value > peak->value) {
        peak->value = force.value;
        peak->u = force.u;
    }
}

/* What the draws add to a finger's figures beyond those that have been measured. */
static void add_unmeasured(const struct sh_limit_watch *watch,
                           size_t finger,
                           bool is_span,
                           struct sh_limit_tally_sum *impulse,
                           struct sh_limit_tally_sum *peak)
{
    for (size_t i = 0; is_span && i < watch->n_pending; i++) {
        const struct pending *pending = &watch->pending[i];
        impulse->value += pending->impulse_n_s[finger].value;
        impulse->u += pending->impulse_n_s[finger].u;
        impulse->n_unknown += pending->impulse_n_s[finger].n_unknown;
        peak->n_unknown += pending->peak_n[finger].n_unknown;
        if (pending->peak_n[finger].value > peak->value) {
            peak->value = pending->peak_n[finger].value;
            peak->u = pending->peak_n[finger].u;
        }
    }
    add_running(watch, finger, impulse, peak);
}

/* What there was of a limit's span before: the mark's part and the draws that are measured. */
static void begin_sums(const struct sh_limit_watch *watch,
                       const struct entry *entry,
                       struct sh_limit_tally_sum *impulse,
                       struct sh_limit_tally_sum *peak)
{
    *impulse = (struct sh_limit_tally_sum){0};
    *peak = (struct sh_limit_tally_sum){0};
    if (!entry->is_span) {
        return;
    }
    if (entry->kind.what == SH_LIMIT_WHAT_IMPULSE) {
        *impulse = sh_limit_tally_get_impulse(&watch->tally, entry->mark, entry->finger);
    } else if (entry->kind.what == SH_LIMIT_WHAT_PEAK) {
        *peak = watch->tally.peak_n[entry->finger];
        if (entry->mark->before.value > peak->value) {
            peak->value = entry->mark->before.value;
            peak->u = entry->mark->before_u.value;
        }
        peak->n_unknown += entry->mark->before_unknown.value > 0.0 ? 1 : 0;
    }
}

struct sh_limit_tally_sum sh_limit_check_sum(const struct sh_limit_watch *watch,
                                             const struct entry *entry)
{
    struct sh_limit_tally_sum impulse;
    struct sh_limit_tally_sum peak;
    begin_sums(watch, entry, &impulse, &peak);
    size_t first = entry->finger < FINGERS ? entry->finger : 0;
    size_t last = entry->finger < FINGERS ? entry->finger : FINGERS - 1;
    for (size_t i = first; i <= last; i++) {
        add_unmeasured(watch, i, entry->is_span, &impulse, &peak);
    }
    return entry->kind.what == SH_LIMIT_WHAT_PEAK ? peak : impulse;
}

static enum sh_status
check_force(struct sh_limit_watch *watch, struct entry *entry, double t_s, struct sh_error *err)
{
    const struct sh_limit_tally_sum sum = sh_limit_check_sum(watch, entry);
    const struct sh_quantity value = sh_quantity_known(sum.value, sum.u);
    return tell(watch, entry, sh_limit_judge(entry->mark, &value, sum.n_unknown > 0), &value,
                t_s, err);
}

enum sh_status sh_limit_check_forces(struct sh_limit_watch *watch, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < watch->n && status == SH_OK; i++) {
        struct entry *entry = &watch->entry[i];
        bool is_force =
            entry->kind.what == SH_LIMIT_WHAT_PEAK || entry->kind.what == SH_LIMIT_WHAT_IMPULSE;
        if (is_force && !entry->has_reached && entry->mark->most.is_given) {
            size_t finger = entry->finger < FINGERS ? entry->finger : 0;
            const struct place *place = &watch->place[finger];
            double delay_s = place->has_begun ? place->lane.channel->delay_s : 0.0;
            status = check_force(watch, entry, watch->now_s - delay_s, err);
        }
    }
    return status;
}

enum sh_status sh_limit_check_draw(struct sh_limit_watch *watch, struct sh_error *err)
{
    const double since_s = SH_LIMIT_PULL_DRAW_S;
    enum sh_status status = SH_OK;
    size_t n_pending = 0;
    for (size_t i = 0; i < watch->n_pending; i++) {
        n_pending += watch->pending[i].n_draws;
    }
    for (size_t i = 0; i < watch->n && status == SH_OK; i++) {
        struct entry *entry = &watch->entry[i];
        struct sh_quantity value = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        bool is_least = false;
        if (entry->kind.what == SH_LIMIT_WHAT_DRAWS) {
            value = sh_quantity_known(entry->mark->before.value +
                                          (double)(watch->tally.n_draws + n_pending + 1),
                                      0.0);
            is_least = entry->mark->before_unknown.value > 0.0;
        } else if (entry->kind.what == SH_LIMIT_WHAT_REST && watch->has_end) {
            value = sh_quantity_known(watch->now_s - since_s - watch->end_s, REST_U_S);
        }
        status = tell(watch, entry, sh_limit_judge(entry->mark, &value, is_least), &value,
                      watch->now_s, err);
    }
    return status;
}

/* Why a finger's load is not known, in words; NULL where it is. */
static const char *find_flaw(struct sh_limit_watch *watch, size_t finger)
{
    const struct sh_limit_lane *lane = &watch->place[finger].lane;
    const struct sh_limit_pull *pull = &watch->pull;
    const double low_n = fmax(SH_LIMIT_WATCH_LOW_N, SH_LIMIT_WATCH_LOW_RATIO * pull->total_n);
    bool is_held = sh_limit_pull_is_loaded(pull) && pull->total_n >= 0.5 * pull->largest_n;
    watch->n_low[finger] = is_held && lane->net_n < low_n ? watch->n_low[finger] + 1 : 0;
    if (lane->is_clipped) {
        return "its sensor reached its range";
    }
    if (lane->has_gap) {
        return "samples were lost";
    }
    if ((double)watch->n_low[finger] < SH_LIMIT_WATCH_LOW_S * pull->rate_hz) {
        return NULL;
    }
    return sh_limit_lane_is_dead(lane) ? "its sensor does not change while the others do"
                                       : "its sensor shows next to no force while the others "
                                         "hold; it may have slid off";
}

enum sh_status sh_limit_check_sensors(struct sh_limit_watch *watch, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < FINGERS && status == SH_OK; i++) {
        if (!watch->place[i].has_begun || watch->is_unknown[i] ||
            !sh_limit_pull_is_loaded(&watch->pull)) {
            continue;
        }
        const char *flaw = find_flaw(watch, i);
        if (flaw != NULL) {
            watch->is_unknown[i] = true;
            status = tell_unknown(watch, i, watch->now_s, flaw, err);
        }
    }
    return status;
}

/* Span of a draw on the clock: what is told within belongs to it. */
struct draw_span {
    double from_s;
    double until_s;
};

static struct draw_span find_span(const struct sh_limit_watch *watch,
                                  const struct sh_shot_record *record)
{
    const struct sh_quantity *start = &record->shot.event_s[SH_EVENT_DRAW_START];
    const struct sh_quantity *end = &watch->tally.end_s;
    double until_s = sh_quantity_is_known(end) ? end->value : watch->now_s;
    double from_s = sh_quantity_is_known(start) ? start->value : until_s;
    return (struct draw_span){from_s - SAME_DRAW_S, until_s + SAME_DRAW_S};
}

static void drop_pending(struct sh_limit_watch *watch, const struct draw_span *span)
{
    size_t n = 0;
    for (size_t i = 0; i < watch->n_pending; i++) {
        if (watch->pending[i].end_s > span->until_s) {
            watch->pending[n++] = watch->pending[i];
        }
    }
    for (size_t i = n; i < watch->n_pending; i++) {
        watch->pending[i] = (struct pending){0};
    }
    watch->n_pending = n;
}

static bool is_within(const struct draw_span *span, double t_s)
{
    return t_s >= span->from_s && t_s <= span->until_s;
}

/* A limit a shot may have been told of this very draw; a later pull has cleared its marks. */
static bool was_told(const struct entry *entry, const struct draw_span *span, bool is_reached)
{
    if (entry->is_span) {
        return is_reached ? entry->has_reached : entry->has_near;
    }
    return is_within(span, entry->reached_s) || (!is_reached && is_within(span, entry->near_s));
}

/* What a measured shot says where nothing is near: forces and draws have been judged as they
 * came, and can only become unknown by it. */
static void settle(struct entry *entry, enum sh_limit_state state)
{
    const bool is_running = entry->kind.what == SH_LIMIT_WHAT_PEAK ||
                            entry->kind.what == SH_LIMIT_WHAT_IMPULSE ||
                            entry->kind.what == SH_LIMIT_WHAT_DRAWS;
    const bool is_worse = state == SH_LIMIT_UNKNOWN && entry->state == SH_LIMIT_INSIDE;
    if (!entry->has_reached && (!is_running || is_worse)) {
        entry->state = state;
    }
}

static enum sh_status take_entry(struct sh_limit_watch *watch,
                                 struct entry *entry,
                                 const struct sh_shot_record *record,
                                 const struct draw_span *span,
                                 struct sh_error *err)
{
    struct sh_quantity value;
    bool is_least = false;
    if (!sh_limit_tally_get(entry->mark, record, &watch->tally, &value, &is_least)) {
        return SH_OK;
    }
    enum sh_limit_state state = sh_limit_judge(entry->mark, &value, is_least);
    bool is_reached = state == SH_LIMIT_REACHED;
    if (is_reached || state == SH_LIMIT_NEAR) {
        if (was_told(entry, span, is_reached)) {
            return SH_OK;
        }
        const struct entry before = *entry;
        entry->has_near = entry->is_span && entry->has_near;
        entry->has_reached = entry->is_span && entry->has_reached;
        enum sh_status status =
            tell(watch, entry, state, &value, span->until_s - SAME_DRAW_S, err);
        entry->has_near = entry->is_span ? entry->has_near : before.has_near;
        entry->has_reached = entry->is_span ? entry->has_reached : before.has_reached;
        return status;
    }
    settle(entry, state);
    bool is_lost = !sh_quantity_is_known(&value) && value.why != SH_WHY_NOT_APPLICABLE &&
                   entry->finger < FINGERS && !entry->is_span;
    if (is_lost && watch->place[entry->finger].is_there &&
        !is_within(span, watch->unknown_s[entry->finger])) {
        return tell_unknown(watch, entry->finger, span->until_s - SAME_DRAW_S,
                            sh_quantity_why_text(value.why), err);
    }
    return SH_OK;
}

/* Room to keep what is told of one more draw. */
static enum sh_status reserve_told(struct sh_limit_watch *watch, struct sh_error *err)
{
    if (watch->n_told < watch->told_capacity) {
        return SH_OK;
    }
    const size_t capacity = watch->told_capacity > 0 ? 2 * watch->told_capacity : TOLD_FIRST;
    struct told *grown = realloc(watch->told, capacity * sizeof *grown);
    if (grown == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    watch->told = grown;
    watch->told_capacity = capacity;
    return SH_OK;
}

/* Keeps what has been told of a draw, while it ran and now. */
static void keep_told(struct sh_limit_watch *watch, const struct draw_span *span)
{
    struct told *told = &watch->told[watch->n_told++];
    *told = (struct told){0};
    for (size_t i = 0; i < watch->n; i++) {
        const struct entry *entry = &watch->entry[i];
        const uint64_t bit = entry->is_span ? 0 : UINT64_C(1) << i;
        told->near |= is_within(span, entry->near_s) ? bit : 0;
        told->reached |= is_within(span, entry->reached_s) ? bit : 0;
    }
    for (size_t i = 0; i < FINGERS; i++) {
        told->is_unknown[i] = is_within(span, watch->unknown_s[i]);
    }
}

enum sh_status sh_limit_watch_take(struct sh_limit_watch *watch,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err)
{
    enum sh_status status = reserve_told(watch, err);
    if (status != SH_OK) {
        return status;
    }
    sh_limit_tally_add(&watch->tally, record);
    const struct draw_span span = find_span(watch, record);
    drop_pending(watch, &span);
    for (size_t i = 0; i < watch->n && status == SH_OK; i++) {
        status = take_entry(watch, &watch->entry[i], record, &span, err);
    }
    keep_told(watch, &span);
    return status;
}
