/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_EVENTS_H
#define SH_SHOT_EVENTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "shot/fall.h"
#include "shot/levels.h"
#include "shot/shot.h"

/*
 * The events of one draw out of the force in a window around it: whether it is a draw at all,
 * its rest levels, draw start, full draw, release or let-down and its kind. What comes from
 * other channels (clicker, end) is found elsewhere. docs/definitions.md fixes every word.
 *
 * Works on frames at the nominal rate and goes over to the recording's clock at the end, so
 * that a step of the clock moves an event's time but not where it lies in the samples.
 *
 * The object holds memory for one window; one thread at a time.
 * Test: tests/shot/test_events.c.
 */
struct sh_events;

/*
 * Opens it for windows of up to n_force_frames of the force, at force_rate_hz, and up to
 * n_frames_max of any stream. Statuses of sh_pull_open. Gives *out, to be closed.
 */
enum sh_status sh_events_open(double force_rate_hz,
                              size_t n_force_frames,
                              size_t n_frames_max,
                              struct sh_events **out,
                              struct sh_error *err);

/* Closes and sets *events to NULL; takes NULL and a pointer to NULL. */
void sh_events_close(struct sh_events **events);

/* Where the detector saw the draw: frames of the view's force. */
struct sh_events_draw {
    size_t room;         /* nothing before belongs to this draw: an earlier one's end */
    size_t first;        /* above the threshold from about here on */
    size_t end;          /* over from here on; n_frames where it was not over */
    double base_n;       /* level of rest that the detector took */
    double threshold_n;  /* net force of a draw */
    double rest_noise_n; /* white noise where no rest was seen in the window */
    const struct sh_levels_span *skips; /* only the skips of it count */
};

/* What else was found besides the shot's events; frames of the view's force. */
struct sh_events_found {
    bool is_draw;  /* else the rest means nothing */
    bool has_fall; /* the force came down again, not in a gap */
    struct sh_fall fall;
    double fall_frame; /* 10 % down; n_frames - 1 where it has not come down */
    double low_frame;  /* the main rise begins */
    double next_s;     /* time at which the next draw may begin, or infinity */
    bool is_between;   /* between the limits of shot and let-down: the shock decides */
};

/*
 * Finds the events. view: all streams, force.stream, channels, rate, delay filled; net_n is
 * the array behind view->force.net_n, filled with the force without any rest taken off, which
 * is taken off here. Sets rest_n of all force channels, the noise and scale of the force, and
 * in shot kind (as without a channel that shows a shock), event_s but clicker and end, rest_n,
 * drop_n, rest_noise_n. A status other than SH_OK comes only from samples that are not finite.
 * Cost: about 250 operations a frame, some ms for the release.
 */
enum sh_status sh_events_find(struct sh_events *events,
                              const struct sh_events_draw *draw,
                              struct sh_shot_view *view,
                              double *net_n,
                              struct sh_shot *shot,
                              struct sh_events_found *found);

/*
 * Decides a fall between the limits by the bow's shock, and finds release or let-down of the
 * kind that came out.
 */
void sh_events_settle(struct sh_events *events,
                      const struct sh_shot_view *view,
                      enum sh_fall_shock shock,
                      struct sh_shot *shot,
                      struct sh_events_found *found);

#endif
