/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIMIT_VOICE_H
#define SH_APP_LIMIT_VOICE_H

#include "app/capture.h"
#include "app/clocks.h"
#include "app/limit_guard.h"

/*
 * What a capture says of limits and ratings: what is near, reached or unknown is shown at once
 * and marked in the take; the bell waits until no string is pulled. Tests:
 * tests/loop/test_limits.c, through the real program.
 */
struct sh_limit_voice_sink {
    enum sh_status (*mark)(void *context, const struct sh_mark *mark, struct sh_error *err);
    void (*say)(void *context, const char *text); /* whole lines */
    void (*ring)(void *context);
    void *context;
};

struct sh_limit_voice {
    struct sh_limit_voice_sink sink; /* where all goes; its context is kept */
    bool has_sound;
    bool has_bell;                 /* a sound waits */
    struct sh_limit_store earlier; /* takes that have ended */
    struct sh_limit_guard *guard;  /* NULL: the limits could not be read */
};

struct sh_limit_voice_config {
    struct sh_session *session;
    const char *home;
    bool is_first; /* no sensor runs yet: earlier recordings may be analysed */
    const struct sh_capture_result *result;
};

/*
 * Before a take is opened: its limits into session's marks, and onto the screen. Where those of
 * a later archer cannot be read the recording goes on without them, which is said; else the
 * statuses of sh_limit_guard_open.
 */
enum sh_status sh_limit_voice_open(struct sh_limit_voice *voice,
                                   const struct sh_limit_voice_config *config,
                                   struct sh_error *err);

/* A take has ended: what it added up to is kept for the next. Twice is harmless. */
void sh_limit_voice_end(struct sh_limit_voice *voice);

/* Frees all. Takes a zeroed voice. */
void sh_limit_voice_close(struct sh_limit_voice *voice);

/* Holds a block that the take has been given against the limits; begin_s: 0 s of the take on
 * the sensors' clocks. The sink's statuses. */
enum sh_status sh_limit_voice_push(struct sh_limit_voice *voice,
                                   const struct sh_clocks *clocks,
                                   const struct sh_block *block,
                                   double begin_s,
                                   struct sh_error *err);

/* A shot has been measured. The sink's statuses. */
enum sh_status sh_limit_voice_take(struct sh_limit_voice *voice,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err);

/* Shots have been corrected and measured anew; see sh_limit_watch_amend. The sink's statuses.
 */
enum sh_status sh_limit_voice_amend(struct sh_limit_voice *voice,
                                    const struct sh_shot_record *records,
                                    size_t n,
                                    struct sh_error *err);

/* Says what has to be said of a rating (a pain mark; other marks are passed over). */
void sh_limit_voice_rate(struct sh_limit_voice *voice, const struct sh_mark *mark);

/* See sh_limit_watch_get_state; SH_LIMIT_UNKNOWN where nothing is watched. */
enum sh_limit_state sh_limit_voice_get_state(const struct sh_limit_voice *voice,
                                             const struct sh_mark *limit);

/* Rings the bell that waits, where no string is pulled: never between draw start and release.
 */
void sh_limit_voice_ring(struct sh_limit_voice *voice);

#endif
