/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_CLOCK_H
#define SH_APP_CAPTURE_CLOCK_H

#include "app/entry.h"
#include "finding/finding.h"
#include "series/shooting_clock.h"
#include "shot/segmenter.h"

/*
 * The shooting clock beside a recording: it runs on the sensors' clock, hears of releases from
 * the first pass, and writes what it does as marks. What may be heard of it: clock_voice.h.
 *
 * A release is known only some seconds after it, so no time is given to the clock while an
 * arrow may be gone that has not been reported: what is due then happens late but with its own
 * time, while the seconds shown go on.
 *
 * Marks are of the own time: "clock" as it begins and as it goes on, "clock-stop" as it is
 * stopped or halted. Where it ended by a release the stop is written SH_CAPTURE_CLOCK_AFTER_S
 * behind it, where it ran out as long behind that as a release can still be an overrun, so that
 * the release keeps its time left. Test: tests/app/test_capture_clock.c.
 */

#define SH_CAPTURE_CLOCK_AFTER_S 0.5

/* Where marks go, their times on the sensors' clock, lines for people, and events. */
struct sh_capture_clock_sink {
    enum sh_status (*mark)(void *context, const struct sh_mark *mark, struct sh_error *err);
    void (*say)(void *context, const char *line);
    /* All that the clock does, for who gives signals; NULL: nobody does. */
    void (*hear)(void *context, const struct sh_shooting_clock_event *event);
    void *context;
};

struct sh_capture_clock {
    struct sh_capture_clock_sink sink;
    const struct sh_round_format *format; /* borrowed; NULL: only clocks that are typed */
    struct sh_shooting_clock clock;
    bool is_open;   /* the clock is one */
    bool is_typed;  /* by its seconds: it needs no words */
    bool has_begun; /* the own time's mark is written, its stop is not */
    bool has_stop;  /* a stop waits */
    double stop_s;  /* for this time */
    unsigned shot;  /* the draw that is being reported; 0: none */
};

/* A clock that does nothing yet. Copies sink, keeps its context and format (NULL: none). Its
 * events find it where it is: it must not be moved once it has been used. */
void sh_capture_clock_init(struct sh_capture_clock *clock,
                           const struct sh_round_format *format,
                           const struct sh_capture_clock_sink *sink);

/*
 * Does what was typed about the clock, at now_s of the sensors' clock: SH_ENTRY_CLOCK, and
 * SH_ENTRY_MARK of a clock or its stop, which is written even if no clock runs. What cannot be
 * done is said. Statuses of this and the following: the sink's.
 */
enum sh_status sh_capture_clock_obey(struct sh_capture_clock *clock,
                                     const struct sh_entry *entry,
                                     double now_s,
                                     struct sh_error *err);

/* The next archer of a team. */
enum sh_status
sh_capture_clock_hand_over(struct sh_capture_clock *clock, double now_s, struct sh_error *err);

/* Gives the time, and what the archer does. */
enum sh_status sh_capture_clock_push(struct sh_capture_clock *clock,
                                     double now_s,
                                     const struct sh_segmenter_state *state,
                                     struct sh_error *err);

/* Gives a draw of the first pass, whose recording began at begin_s of the sensors' clock: the
 * last one of a recording, too, behind which no time is given any more. */
enum sh_status sh_capture_clock_take(struct sh_capture_clock *clock,
                                     const struct sh_shot_record *record,
                                     double begin_s,
                                     double now_s,
                                     struct sh_error *err);

/* Is there a time that has begun and is not over? */
bool sh_capture_clock_runs(const struct sh_capture_clock *clock);

/* What there is to be seen at now_s, and the format (borrowed). False: no clock yet. */
bool sh_capture_clock_find_view(const struct sh_capture_clock *clock,
                                double now_s,
                                struct sh_shooting_clock_view *view,
                                const struct sh_round_format **format);

/* What is left, for the live line (see sh_clock_words_put_left); nothing where none runs. */
void sh_capture_clock_put_left(const struct sh_capture_clock *clock,
                               double now_s,
                               struct sh_text *text);

#endif
