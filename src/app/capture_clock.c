/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_clock.h"

#include <stdio.h>

#include "app/clock_words.h"

#define BACK_MAX_S 20.0 /* longer than a draw lasts: a sensor that is gone holds nothing up */
#define UNSEEN_S   3.0  /* without a force a release is known after its tail */
#define WARNING_S  30.0 /* of a clock that is typed */

void sh_capture_clock_init(struct sh_capture_clock *clock,
                           const struct sh_round_format *format,
                           const struct sh_capture_clock_sink *sink)
{
    *clock = (struct sh_capture_clock){.sink = *sink, .format = format};
}

static void say(struct sh_capture_clock *clock, const char *line)
{
    clock->sink.say(clock->sink.context, line);
}

static enum sh_status
put_mark(struct sh_capture_clock *clock, const struct sh_mark *mark, struct sh_error *err)
{
    return clock->sink.mark(clock->sink.context, mark, err);
}

/* The own time begins, or goes on. */
static enum sh_status put_begin(struct sh_capture_clock *clock,
                                const struct sh_shooting_clock_event *event,
                                struct sh_error *err)
{
    const struct sh_round_format *format = &clock->clock.format;
    const bool is_for_one = format->kind == SH_ROUND_FORMAT_ALTERNATING;
    const unsigned n_arrows = is_for_one ? 1 : format->n_arrows;
    const struct sh_mark mark = {.t_s = event->t_s,
                                 .kind = SH_MARK_CLOCK,
                                 .seconds = {true, format->shooting_s},
                                 .elapsed_s = {event->elapsed_s > 0.0, event->elapsed_s},
                                 .arrows = {n_arrows > 0, (double)n_arrows}};
    clock->has_begun = true;
    clock->has_stop = false;
    return put_mark(clock, &mark, err);
}

static enum sh_status put_stop(struct sh_capture_clock *clock, double t_s, struct sh_error *err)
{
    const struct sh_mark mark = {.t_s = t_s, .kind = SH_MARK_CLOCK_STOP};
    const bool has_begun = clock->has_begun;
    clock->has_begun = false;
    clock->has_stop = false;
    return has_begun ? put_mark(clock, &mark, err) : SH_OK;
}

/* The stop comes later, and only if the own time does not begin again before. */
static void await_stop(struct sh_capture_clock *clock, double t_s)
{
    if (clock->has_begun && !clock->has_stop) {
        clock->has_stop = true;
        clock->stop_s = t_s;
    }
}

static enum sh_status
put_due_stop(struct sh_capture_clock *clock, double now_s, struct sh_error *err)
{
    const bool is_due = clock->has_stop && clock->stop_s <= now_s;
    return is_due ? put_stop(clock, clock->stop_s, err) : SH_OK;
}

static enum sh_status put_overrun(struct sh_capture_clock *clock,
                                  const struct sh_shooting_clock_event *event,
                                  struct sh_error *err)
{
    struct sh_mark mark = {.t_s = event->t_s,
                           .kind = SH_MARK_OVERRUN,
                           .shot = {clock->shot > 0, (double)clock->shot}};
    (void)snprintf(mark.text, sizeof mark.text, "released %.2f s after the time was up",
                   event->late_s);
    return put_mark(clock, &mark, err);
}

/* What the clock does is of the own time where it stands. */
static enum sh_status put_event(struct sh_capture_clock *clock,
                                const struct sh_shooting_clock_event *event,
                                struct sh_error *err)
{
    const bool is_own = event->side == SH_SHOOTING_CLOCK_OWN;
    switch (event->kind) {
    case SH_SHOOTING_CLOCK_EVENT_START:
    case SH_SHOOTING_CLOCK_EVENT_TURN:
        if (is_own) {
            return put_begin(clock, event, err);
        }
        await_stop(clock, event->t_s + SH_CAPTURE_CLOCK_AFTER_S);
        return SH_OK;
    case SH_SHOOTING_CLOCK_EVENT_RESUME:
        return is_own && event->n_signals == 1 ? put_begin(clock, event, err) : SH_OK;
    case SH_SHOOTING_CLOCK_EVENT_PAUSE:
        return put_stop(clock, event->t_s, err);
    case SH_SHOOTING_CLOCK_EVENT_TIME_OUT:
        if (is_own) {
            await_stop(clock, event->t_s + SH_SHOOTING_CLOCK_LATE_MAX_S);
        }
        return SH_OK;
    case SH_SHOOTING_CLOCK_EVENT_OVERRUN:
        return put_overrun(clock, event, err);
    case SH_SHOOTING_CLOCK_EVENT_STOP:
        if (event->is_time_out) {
            await_stop(clock, event->t_s + SH_SHOOTING_CLOCK_LATE_MAX_S);
            return SH_OK;
        }
        if (clock->shot > 0) { /* the last arrow has gone */
            await_stop(clock, event->t_s + SH_CAPTURE_CLOCK_AFTER_S);
            return SH_OK;
        }
        return put_stop(clock, event->t_s, err);
    case SH_SHOOTING_CLOCK_EVENT_LINE_UP:
    case SH_SHOOTING_CLOCK_EVENT_WARNING:
    case SH_SHOOTING_CLOCK_EVENT_HAND_OVER:
        break;
    }
    return SH_OK;
}

/* A clock that is typed by its seconds begins and stops as it is typed. */
static bool needs_words(const struct sh_capture_clock *clock,
                        const struct sh_shooting_clock_event *event)
{
    const bool is_stopped = event->kind == SH_SHOOTING_CLOCK_EVENT_STOP && !event->is_time_out;
    return !clock->is_typed || !(event->kind == SH_SHOOTING_CLOCK_EVENT_START || is_stopped);
}

static enum sh_status
take_event(void *context, const struct sh_shooting_clock_event *event, struct sh_error *err)
{
    struct sh_capture_clock *clock = context;
    struct sh_text text;
    enum sh_status status = put_event(clock, event, err);
    if (clock->sink.hear != NULL) {
        clock->sink.hear(clock->sink.context, event);
    }
    if (!needs_words(clock, event)) {
        return status;
    }
    sh_text_init(&text, 0);
    sh_text_puts(&text, "Clock: ");
    sh_clock_words_put_event(&text, &clock->clock.format, event, false);
    sh_text_puts(&text, "\n");
    if (text.status == SH_OK) {
        say(clock, text.data);
    }
    sh_text_close(&text);
    return status;
}

static void open_clock(struct sh_capture_clock *clock, const struct sh_round_format *format)
{
    const struct sh_shooting_clock_sink sink = {take_event, clock};
    sh_shooting_clock_init(&clock->clock, format, &sink);
    clock->is_open = true;
}

static bool is_over(const struct sh_capture_clock *clock)
{
    return !clock->is_open || clock->clock.state == SH_SHOOTING_CLOCK_READY ||
           clock->clock.state == SH_SHOOTING_CLOCK_OVER;
}

/* "c 120 6": in place of whatever runs. */
static enum sh_status start_typed(struct sh_capture_clock *clock,
                                  const struct sh_mark *mark,
                                  double now_s,
                                  struct sh_error *err)
{
    const double seconds = mark->seconds.value;
    struct sh_round_format format = {.name = "typed",
                                     .kind = SH_ROUND_FORMAT_END,
                                     .shooting_s = seconds,
                                     .warning_s = seconds > WARNING_S ? WARNING_S : 0.0,
                                     .n_archers = 1};
    format.n_arrows = mark->arrows.is_given ? (unsigned)mark->arrows.value : 0;
    open_clock(clock, &format);
    clock->is_typed = true;
    return sh_shooting_clock_start(&clock->clock, now_s, SH_SHOOTING_CLOCK_OWN, err);
}

static enum sh_status start_format(struct sh_capture_clock *clock,
                                   enum sh_shooting_clock_side first,
                                   double now_s,
                                   struct sh_error *err)
{
    if (clock->is_open && clock->clock.state == SH_SHOOTING_CLOCK_PAUSED) {
        return sh_shooting_clock_resume(&clock->clock, now_s, err);
    }
    if (!is_over(clock)) {
        say(clock, "The clock runs; type s to stop it, h to halt it.\n");
        return SH_OK;
    }
    if (clock->format == NULL) {
        say(clock, "Type c SECONDS ARROWS, as c 120 6, or start with --clock FORMAT.\n");
        return SH_OK;
    }
    open_clock(clock, clock->format);
    clock->is_typed = false;
    return sh_shooting_clock_start(&clock->clock, now_s, first, err);
}

static enum sh_status stop(struct sh_capture_clock *clock, double now_s, struct sh_error *err)
{
    if (!is_over(clock)) {
        enum sh_status status = sh_shooting_clock_stop(&clock->clock, now_s, err);
        if (status != SH_OK || !clock->has_begun) {
            return status;
        }
    }
    clock->has_begun = true; /* told so: written in any case */
    return put_stop(clock, now_s, err);
}

enum sh_status sh_capture_clock_obey(struct sh_capture_clock *clock,
                                     const struct sh_entry *entry,
                                     double now_s,
                                     struct sh_error *err)
{
    if (entry->kind == SH_ENTRY_MARK) {
        return entry->mark.kind == SH_MARK_CLOCK ? start_typed(clock, &entry->mark, now_s, err)
                                                 : stop(clock, now_s, err);
    }
    if (entry->clock == SH_ENTRY_CLOCK_START || entry->clock == SH_ENTRY_CLOCK_START_OTHER) {
        const bool is_other = entry->clock == SH_ENTRY_CLOCK_START_OTHER;
        return start_format(clock, is_other ? SH_SHOOTING_CLOCK_OTHER : SH_SHOOTING_CLOCK_OWN,
                            now_s, err);
    }
    if (is_over(clock)) {
        say(clock, "No clock runs.\n");
        return SH_OK;
    }
    if (entry->clock != SH_ENTRY_CLOCK_HALT && clock->clock.format.n_archers > 1) {
        return sh_shooting_clock_hand_over(&clock->clock, now_s, err);
    }
    return entry->clock == SH_ENTRY_CLOCK_HALT
               ? sh_shooting_clock_pause(&clock->clock, now_s, err)
               : sh_shooting_clock_release(&clock->clock, SH_SHOOTING_CLOCK_OTHER, now_s, 0.0,
                                           err);
}

enum sh_status
sh_capture_clock_hand_over(struct sh_capture_clock *clock, double now_s, struct sh_error *err)
{
    return clock->is_open ? sh_shooting_clock_hand_over(&clock->clock, now_s, err) : SH_OK;
}

/* Up to when all releases have been reported. */
static double find_settled_s(const struct sh_capture_clock *clock,
                             double now_s,
                             const struct sh_segmenter_state *state)
{
    const bool is_judged = clock->clock.state == SH_SHOOTING_CLOCK_SHOOTING &&
                           clock->clock.side == SH_SHOOTING_CLOCK_OWN;
    const bool may_shoot = state->phase == SH_SEGMENTER_DRAWING ||
                           state->phase == SH_SEGMENTER_HOLD || state->n_pending > 0;
    if (!is_judged) {
        return now_s;
    }
    if (state->phase == SH_SEGMENTER_UNKNOWN) {
        return now_s - UNSEEN_S;
    }
    return may_shoot ? now_s - BACK_MAX_S : now_s;
}

enum sh_status sh_capture_clock_push(struct sh_capture_clock *clock,
                                     double now_s,
                                     const struct sh_segmenter_state *state,
                                     struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (clock->is_open) {
        status =
            sh_shooting_clock_push(&clock->clock, find_settled_s(clock, now_s, state), err);
    }
    return status == SH_OK ? put_due_stop(clock, now_s, err) : status;
}

enum sh_status sh_capture_clock_take(struct sh_capture_clock *clock,
                                     const struct sh_shot_record *record,
                                     double begin_s,
                                     double now_s,
                                     struct sh_error *err)
{
    const struct sh_quantity *release = &record->shot.event_s[SH_EVENT_RELEASE];
    if (!clock->is_open || record->shot.kind != SH_SHOT_SHOT ||
        !sh_quantity_is_known(release)) {
        return SH_OK;
    }
    clock->shot = record->shot.n;
    enum sh_status status = sh_shooting_clock_release(
        &clock->clock, SH_SHOOTING_CLOCK_OWN, begin_s + release->value, release->u, err);
    clock->shot = 0;
    return status == SH_OK ? put_due_stop(clock, now_s, err) : status;
}

bool sh_capture_clock_runs(const struct sh_capture_clock *clock)
{
    return !is_over(clock);
}

bool sh_capture_clock_find_view(const struct sh_capture_clock *clock,
                                double now_s,
                                struct sh_shooting_clock_view *view,
                                const struct sh_round_format **format)
{
    if (!clock->is_open) {
        return false;
    }
    sh_shooting_clock_get(&clock->clock, now_s, view);
    *format = &clock->clock.format;
    return true;
}

void sh_capture_clock_put_left(const struct sh_capture_clock *clock,
                               double now_s,
                               struct sh_text *text)
{
    struct sh_shooting_clock_view view;
    if (clock->is_open) {
        sh_shooting_clock_get(&clock->clock, now_s, &view);
        sh_clock_words_put_left(text, &view);
    }
}
