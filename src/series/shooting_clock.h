/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SHOOTING_CLOCK_H
#define SH_SERIES_SHOOTING_CLOCK_H

#include <stdbool.h>

#include "base/status.h"
#include "series/round_format.h"

/*
 * The shooting clock: what is allowed on the line now, for how long, and what is signalled. It
 * knows no time but the one it is given, in seconds of any clock that does not go back, and
 * asks nothing of how often it is told: events carry the times at which they were due, and do
 * not depend on the steps in which time was given.
 *
 *     ready -start-> line-up -> shooting -> over        pause and resume in line-up and
 * shooting
 *
 * A time that lies before one already given counts as that one. What makes no sense in a state
 * (a pause where nothing runs) does nothing. A sink's status other than SH_OK comes back from
 * the call and what was still due comes with the next. Plain struct, no heap; one thread at a
 * time. Test: tests/series/test_shooting_clock.c (all of this file).
 */

enum sh_shooting_clock_state {
    SH_SHOOTING_CLOCK_READY,
    SH_SHOOTING_CLOCK_LINE_UP,
    SH_SHOOTING_CLOCK_SHOOTING,
    SH_SHOOTING_CLOCK_PAUSED,
    SH_SHOOTING_CLOCK_OVER
};

/* The sides of alternating shooting; of all other formats there is only the own. */
enum sh_shooting_clock_side { SH_SHOOTING_CLOCK_OWN, SH_SHOOTING_CLOCK_OTHER };

enum sh_shooting_clock_event_kind {
    SH_SHOOTING_CLOCK_EVENT_LINE_UP,   /* two signals: come to the line */
    SH_SHOOTING_CLOCK_EVENT_START,     /* one signal: shoot */
    SH_SHOOTING_CLOCK_EVENT_TURN,      /* the time of a side begins after the other's */
    SH_SHOOTING_CLOCK_EVENT_WARNING,   /* so much is left */
    SH_SHOOTING_CLOCK_EVENT_HAND_OVER, /* the next archer of a team */
    SH_SHOOTING_CLOCK_EVENT_PAUSE,
    SH_SHOOTING_CLOCK_EVENT_RESUME,   /* one signal where shooting goes on */
    SH_SHOOTING_CLOCK_EVENT_TIME_OUT, /* a side's time for an arrow has run out */
    SH_SHOOTING_CLOCK_EVENT_OVERRUN,  /* a release after the time had surely run out */
    SH_SHOOTING_CLOCK_EVENT_STOP      /* three signals: all arrows, all time, or told so */
};

/* A release so long after the time ran out has nothing to do with it any more. */
#define SH_SHOOTING_CLOCK_LATE_MAX_S 60.0

struct sh_shooting_clock_event {
    enum sh_shooting_clock_event_kind kind;
    double t_s;
    unsigned n_signals; /* 0 to 3, never more: more is an emergency */
    enum sh_shooting_clock_side side;
    unsigned archer;  /* of the team, from 1 */
    double elapsed_s; /* RESUME while shooting: of the shooting time so far */
    double late_s;    /* OVERRUN */
    bool is_time_out; /* STOP: the time ran out, nobody said so */
};

struct sh_shooting_clock_sink {
    enum sh_status (*event)(void *context,
                            const struct sh_shooting_clock_event *event,
                            struct sh_error *err);
    void *context;
};

struct sh_shooting_clock {
    struct sh_round_format format;
    struct sh_shooting_clock_sink sink;
    enum sh_shooting_clock_state state;
    enum sh_shooting_clock_state halted; /* what a pause interrupted */
    double now_s;                        /* the latest time given */
    double began_s; /* the line-up or shooting time, put later by what was paused */
    double paused_s;
    bool is_warned;
    enum sh_shooting_clock_side side; /* whose time it is */
    unsigned n_gone[2];               /* arrows shot, or not shot in time, of each side */
    bool is_out[2];                   /* a side's time has run out, */
    double out_s[2];                  /* then */
    unsigned archer;                  /* of the team, from 0 */
    unsigned n_turn;                  /* arrows of this archer in this turn */
};

/* What there is to be seen at a time. */
struct sh_shooting_clock_view {
    enum sh_shooting_clock_state state;
    double left_s;    /* of line-up or shooting time, 0 or more; of a pause: when it began */
    unsigned seconds; /* what a clock on the line shows: left_s, a begun second counts whole */
    bool is_warning;  /* the warning's time has come */
    bool is_line_up;  /* left_s is of the line-up time */
    enum sh_shooting_clock_side side;
    unsigned archer;    /* of the team, from 1 */
    unsigned n_gone[2]; /* arrows of each side */
};

/* A clock that is ready. Copies format, which has been checked, and sink; keeps its context. */
void sh_shooting_clock_init(struct sh_shooting_clock *clock,
                            const struct sh_round_format *format,
                            const struct sh_shooting_clock_sink *sink);

/* Gives the time: everything due up to now_s happens, in order. Statuses: the sink's. */
enum sh_status
sh_shooting_clock_push(struct sh_shooting_clock *clock, double now_s, struct sh_error *err);

/*
 * From ready or over: the line-up begins, or without one the shooting time; first shoots first.
 * Statuses of this and the following: the sink's.
 */
enum sh_status sh_shooting_clock_start(struct sh_shooting_clock *clock,
                                       double now_s,
                                       enum sh_shooting_clock_side first,
                                       struct sh_error *err);

enum sh_status
sh_shooting_clock_pause(struct sh_shooting_clock *clock, double now_s, struct sh_error *err);
enum sh_status
sh_shooting_clock_resume(struct sh_shooting_clock *clock, double now_s, struct sh_error *err);
enum sh_status
sh_shooting_clock_stop(struct sh_shooting_clock *clock, double now_s, struct sh_error *err);

/* The next archer of a team. */
enum sh_status sh_shooting_clock_hand_over(struct sh_shooting_clock *clock,
                                           double now_s,
                                           struct sh_error *err);

/*
 * An arrow of a side has gone at t_s with standard uncertainty u_s (0: by definition then). In
 * alternating shooting it starts the other's time at t_s. After a time that has run out it is
 * an overrun where it is surely later (by more than 2 u_s) and within
 * SH_SHOOTING_CLOCK_LATE_MAX_S. One who learns of releases late pushes no time beyond the
 * release that may still come.
 */
enum sh_status sh_shooting_clock_release(struct sh_shooting_clock *clock,
                                         enum sh_shooting_clock_side side,
                                         double t_s,
                                         double u_s,
                                         struct sh_error *err);

/* What there is to be seen at now_s; time that has not been pushed shows as run out at most. */
void sh_shooting_clock_get(const struct sh_shooting_clock *clock,
                           double now_s,
                           struct sh_shooting_clock_view *out);

/* "line-up" ...; "own", "other". Static, for people. */
const char *sh_shooting_clock_event_name(enum sh_shooting_clock_event_kind kind);

#endif
