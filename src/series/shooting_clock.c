/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shooting_clock.h"

#include <math.h>

/* Signals of the line; more than three would be an emergency. */
#define SIGNALS_LINE_UP 2u
#define SIGNALS_SHOOT   1u
#define SIGNALS_STOP    3u

#define ROUNDING_S 1e-9 /* a second that has begun by no more is none */

static const char *const event_names[] = {
    [SH_SHOOTING_CLOCK_EVENT_LINE_UP] = "line up",
    [SH_SHOOTING_CLOCK_EVENT_START] = "shoot",
    [SH_SHOOTING_CLOCK_EVENT_TURN] = "turn",
    [SH_SHOOTING_CLOCK_EVENT_WARNING] = "warning",
    [SH_SHOOTING_CLOCK_EVENT_HAND_OVER] = "hand over",
    [SH_SHOOTING_CLOCK_EVENT_PAUSE] = "halted",
    [SH_SHOOTING_CLOCK_EVENT_RESUME] = "goes on",
    [SH_SHOOTING_CLOCK_EVENT_TIME_OUT] = "time out",
    [SH_SHOOTING_CLOCK_EVENT_OVERRUN] = "overrun",
    [SH_SHOOTING_CLOCK_EVENT_STOP] = "stop",
};

const char *sh_shooting_clock_event_name(enum sh_shooting_clock_event_kind kind)
{
    return event_names[kind];
}

static bool is_alternating(const struct sh_shooting_clock *clock)
{
    return clock->format.kind == SH_ROUND_FORMAT_ALTERNATING;
}

static enum sh_status emit(struct sh_shooting_clock *clock,
                           const struct sh_shooting_clock_event *given,
                           struct sh_error *err)
{
    struct sh_shooting_clock_event event = *given;
    event.archer = clock->archer + 1;
    return clock->sink.event(clock->sink.context, &event, err);
}

void sh_shooting_clock_init(struct sh_shooting_clock *clock,
                            const struct sh_round_format *format,
                            const struct sh_shooting_clock_sink *sink)
{
    *clock = (struct sh_shooting_clock){.format = *format, .sink = *sink};
    clock->now_s = -HUGE_VAL;
}

static void begin_shooting(struct sh_shooting_clock *clock, double t_s)
{
    clock->state = SH_SHOOTING_CLOCK_SHOOTING;
    clock->began_s = t_s;
    clock->is_warned = false;
    clock->is_out[clock->side] = false;
}

static enum sh_status
start_shooting(struct sh_shooting_clock *clock, double t_s, struct sh_error *err)
{
    const struct sh_shooting_clock_event event = {.kind = SH_SHOOTING_CLOCK_EVENT_START,
                                                  .t_s = t_s,
                                                  .n_signals = SIGNALS_SHOOT,
                                                  .side = clock->side};
    begin_shooting(clock, t_s);
    return emit(clock, &event, err);
}

static enum sh_status
finish(struct sh_shooting_clock *clock, double t_s, bool is_time_out, struct sh_error *err)
{
    const struct sh_shooting_clock_event event = {.kind = SH_SHOOTING_CLOCK_EVENT_STOP,
                                                  .t_s = t_s,
                                                  .n_signals = SIGNALS_STOP,
                                                  .side = clock->side,
                                                  .is_time_out = is_time_out};
    clock->state = SH_SHOOTING_CLOCK_OVER;
    return emit(clock, &event, err);
}

/* The side's arrow is gone, or its time: the other's time begins, if it has arrows. */
static enum sh_status
end_turn(struct sh_shooting_clock *clock, double t_s, bool is_time_out, struct sh_error *err)
{
    const enum sh_shooting_clock_side other =
        clock->side == SH_SHOOTING_CLOCK_OWN ? SH_SHOOTING_CLOCK_OTHER : SH_SHOOTING_CLOCK_OWN;
    clock->n_gone[clock->side]++;
    if (clock->n_gone[other] >= clock->format.n_arrows) {
        return finish(clock, t_s, is_time_out, err);
    }
    clock->side = other;
    begin_shooting(clock, t_s);
    const struct sh_shooting_clock_event event = {.kind = SH_SHOOTING_CLOCK_EVENT_TURN,
                                                  .t_s = t_s,
                                                  .n_signals = clock->format.n_turn_signals,
                                                  .side = other};
    return emit(clock, &event, err);
}

static enum sh_status run_out(struct sh_shooting_clock *clock, double t_s, struct sh_error *err)
{
    const struct sh_shooting_clock_event event = {
        .kind = SH_SHOOTING_CLOCK_EVENT_TIME_OUT, .t_s = t_s, .side = clock->side};
    clock->is_out[clock->side] = true;
    clock->out_s[clock->side] = t_s;
    if (!is_alternating(clock)) {
        return finish(clock, t_s, true, err);
    }
    enum sh_status told = emit(clock, &event, err);
    enum sh_status turned = end_turn(clock, t_s, true, told == SH_OK ? err : NULL);
    return told != SH_OK ? told : turned;
}

static enum sh_status warn(struct sh_shooting_clock *clock, double t_s, struct sh_error *err)
{
    const struct sh_shooting_clock_event event = {
        .kind = SH_SHOOTING_CLOCK_EVENT_WARNING, .t_s = t_s, .side = clock->side};
    clock->is_warned = true;
    return emit(clock, &event, err);
}

static bool has_warning(const struct sh_shooting_clock *clock)
{
    return clock->format.warning_s > 0.0 && !is_alternating(clock);
}

/* The next thing that happens by itself; infinity: nothing. */
static double find_due_s(const struct sh_shooting_clock *clock)
{
    const struct sh_round_format *format = &clock->format;
    if (clock->state == SH_SHOOTING_CLOCK_LINE_UP) {
        return clock->began_s + format->line_up_s;
    }
    if (clock->state != SH_SHOOTING_CLOCK_SHOOTING) {
        return HUGE_VAL;
    }
    const bool is_warning_next = has_warning(clock) && !clock->is_warned;
    return clock->began_s + format->shooting_s - (is_warning_next ? format->warning_s : 0.0);
}

static enum sh_status happen(struct sh_shooting_clock *clock, double t_s, struct sh_error *err)
{
    if (clock->state == SH_SHOOTING_CLOCK_LINE_UP) {
        return start_shooting(clock, t_s, err);
    }
    return has_warning(clock) && !clock->is_warned ? warn(clock, t_s, err)
                                                   : run_out(clock, t_s, err);
}

enum sh_status
sh_shooting_clock_push(struct sh_shooting_clock *clock, double now_s, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    clock->now_s = fmax(clock->now_s, now_s);
    double due_s = find_due_s(clock);
    while (status == SH_OK && due_s <= clock->now_s) {
        status = happen(clock, due_s, err);
        due_s = find_due_s(clock);
    }
    return status;
}

enum sh_status sh_shooting_clock_start(struct sh_shooting_clock *clock,
                                       double now_s,
                                       enum sh_shooting_clock_side first,
                                       struct sh_error *err)
{
    enum sh_status status = sh_shooting_clock_push(clock, now_s, err);
    if (status != SH_OK ||
        (clock->state != SH_SHOOTING_CLOCK_READY && clock->state != SH_SHOOTING_CLOCK_OVER)) {
        return status;
    }
    const struct sh_shooting_clock fresh = {.format = clock->format,
                                            .sink = clock->sink,
                                            .state = SH_SHOOTING_CLOCK_LINE_UP,
                                            .now_s = clock->now_s,
                                            .began_s = clock->now_s,
                                            .side = first};
    *clock = fresh;
    if (!(clock->format.line_up_s > 0.0)) {
        return start_shooting(clock, clock->now_s, err);
    }
    const struct sh_shooting_clock_event event = {.kind = SH_SHOOTING_CLOCK_EVENT_LINE_UP,
                                                  .t_s = clock->now_s,
                                                  .n_signals = SIGNALS_LINE_UP,
                                                  .side = first};
    return emit(clock, &event, err);
}

static bool is_running(const struct sh_shooting_clock *clock)
{
    return clock->state == SH_SHOOTING_CLOCK_LINE_UP ||
           clock->state == SH_SHOOTING_CLOCK_SHOOTING;
}

enum sh_status
sh_shooting_clock_pause(struct sh_shooting_clock *clock, double now_s, struct sh_error *err)
{
    enum sh_status status = sh_shooting_clock_push(clock, now_s, err);
    if (status != SH_OK || !is_running(clock)) {
        return status;
    }
    clock->halted = clock->state;
    clock->state = SH_SHOOTING_CLOCK_PAUSED;
    clock->paused_s = clock->now_s;
    const struct sh_shooting_clock_event event = {
        .kind = SH_SHOOTING_CLOCK_EVENT_PAUSE, .t_s = clock->now_s, .side = clock->side};
    return emit(clock, &event, err);
}

enum sh_status
sh_shooting_clock_resume(struct sh_shooting_clock *clock, double now_s, struct sh_error *err)
{
    clock->now_s = fmax(clock->now_s, now_s);
    if (clock->state != SH_SHOOTING_CLOCK_PAUSED) {
        return sh_shooting_clock_push(clock, now_s, err);
    }
    const bool is_shooting = clock->halted == SH_SHOOTING_CLOCK_SHOOTING;
    const struct sh_shooting_clock_event event = {
        .kind = SH_SHOOTING_CLOCK_EVENT_RESUME,
        .t_s = clock->now_s,
        .n_signals = is_shooting ? SIGNALS_SHOOT : 0,
        .side = clock->side,
        .elapsed_s = is_shooting ? clock->paused_s - clock->began_s : 0.0};
    clock->state = clock->halted;
    clock->began_s = clock->now_s - (clock->paused_s - clock->began_s);
    return emit(clock, &event, err);
}

enum sh_status
sh_shooting_clock_stop(struct sh_shooting_clock *clock, double now_s, struct sh_error *err)
{
    enum sh_status status = sh_shooting_clock_push(clock, now_s, err);
    const bool can_stop = is_running(clock) || clock->state == SH_SHOOTING_CLOCK_PAUSED;
    return status == SH_OK && can_stop ? finish(clock, clock->now_s, false, err) : status;
}

static enum sh_status
go_to_next(struct sh_shooting_clock *clock, double t_s, struct sh_error *err)
{
    clock->archer = (clock->archer + 1) % clock->format.n_archers;
    clock->n_turn = 0;
    const struct sh_shooting_clock_event event = {
        .kind = SH_SHOOTING_CLOCK_EVENT_HAND_OVER, .t_s = t_s, .side = clock->side};
    return emit(clock, &event, err);
}

enum sh_status
sh_shooting_clock_hand_over(struct sh_shooting_clock *clock, double now_s, struct sh_error *err)
{
    enum sh_status status = sh_shooting_clock_push(clock, now_s, err);
    const bool is_team =
        clock->format.n_archers > 1 && clock->state == SH_SHOOTING_CLOCK_SHOOTING;
    return status == SH_OK && is_team ? go_to_next(clock, clock->now_s, err) : status;
}

/* An arrow of the side whose time it is. */
static enum sh_status
count_arrow(struct sh_shooting_clock *clock, double t_s, struct sh_error *err)
{
    const struct sh_round_format *format = &clock->format;
    if (is_alternating(clock)) {
        return end_turn(clock, t_s, false, err);
    }
    clock->n_gone[clock->side]++;
    clock->n_turn++;
    const bool is_handed_over = format->n_archers > 1 && format->n_arrows_turn > 0 &&
                                clock->n_turn >= format->n_arrows_turn &&
                                clock->n_gone[clock->side] < format->n_arrows;
    return is_handed_over ? go_to_next(clock, t_s, err) : SH_OK;
}

enum sh_status sh_shooting_clock_release(struct sh_shooting_clock *clock,
                                         enum sh_shooting_clock_side side,
                                         double t_s,
                                         double u_s,
                                         struct sh_error *err)
{
    enum sh_status status = sh_shooting_clock_push(clock, t_s, err);
    if (status != SH_OK) {
        return status;
    }
    if (clock->state == SH_SHOOTING_CLOCK_SHOOTING && clock->side == side) {
        return count_arrow(clock, clock->now_s, err);
    }
    const double late_s = t_s - clock->out_s[side];
    if (!clock->is_out[side] || late_s > SH_SHOOTING_CLOCK_LATE_MAX_S ||
        !(late_s > 2.0 * u_s)) {
        return SH_OK;
    }
    const struct sh_shooting_clock_event event = {
        .kind = SH_SHOOTING_CLOCK_EVENT_OVERRUN, .t_s = t_s, .side = side, .late_s = late_s};
    return emit(clock, &event, err);
}

void sh_shooting_clock_get(const struct sh_shooting_clock *clock,
                           double now_s,
                           struct sh_shooting_clock_view *out)
{
    const bool is_paused = clock->state == SH_SHOOTING_CLOCK_PAUSED;
    const enum sh_shooting_clock_state runs = is_paused ? clock->halted : clock->state;
    const double at_s = is_paused ? clock->paused_s : fmax(now_s, clock->now_s);
    *out = (struct sh_shooting_clock_view){.state = clock->state,
                                           .is_line_up = runs == SH_SHOOTING_CLOCK_LINE_UP,
                                           .side = clock->side,
                                           .archer = clock->archer + 1,
                                           .n_gone = {clock->n_gone[0], clock->n_gone[1]}};
    if (runs == SH_SHOOTING_CLOCK_LINE_UP || runs == SH_SHOOTING_CLOCK_SHOOTING) {
        const double length_s =
            out->is_line_up ? clock->format.line_up_s : clock->format.shooting_s;
        out->left_s = fmax(clock->began_s + length_s - at_s, 0.0);
        out->seconds = (unsigned)ceil(fmax(out->left_s - ROUNDING_S, 0.0));
        out->is_warning =
            !out->is_line_up && has_warning(clock) && out->left_s <= clock->format.warning_s;
    }
}
