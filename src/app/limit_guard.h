/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIMIT_GUARD_H
#define SH_APP_LIMIT_GUARD_H

#include "app/home.h"
#include "app/limit_store.h"
#include "finding/limit_watch.h"

/*
 * A person's limits around one recording: those in force are copied into it as marks, with what
 * was carried before; while samples come they are watched; ratings are held against the last
 * one. The app says and marks what comes out. Test: tests/app/test_limit_guard.c.
 */
struct sh_limit_guard;

struct sh_limit_guard_config {
    struct sh_session *session; /* kept: who, when, streams; its marks become the limits */
    const char *home;
    bool may_analyze; /* earlier recordings of the day that have no analysis yet are analysed;
                         false while sensors wait: their load is then unknown */
    const char (*skip)[SH_HOME_PATH_BYTES]; /* [n_skip] folders of this capture's own */
    size_t n_skip;
    struct sh_limit_store *store; /* kept: recordings of this capture that have ended */
    struct sh_limit_event_sink sink;
};

/* What has to be said of a rating, sh_rating_get_stop_caution and sh_rating_get_ask_caution. */
struct sh_limit_guard_cautions {
    bool has_stop;
    bool has_ask;
};

/*
 * Reads the person's file and the day's recordings, sets session->marks (what was there is
 * freed) and opens the watch. Without an athlete there are no limits. Lines about what could
 * not be read are appended to warnings. Statuses of sh_diary_read, sh_limit_watch_open.
 */
enum sh_status sh_limit_guard_open(const struct sh_limit_guard_config *config,
                                   struct sh_limit_guard **out,
                                   struct sh_text *warnings,
                                   struct sh_error *err);

/* Keeps what the recording added up to in the store, closes, sets *guard to NULL. Takes NULL
 * inside. */
void sh_limit_guard_close(struct sh_limit_guard **guard);

/* Appends the limits that are watched, a line each, for people; nothing where there are none.
 */
void sh_limit_guard_list(const struct sh_limit_guard *guard, struct sh_text *text);

/* See sh_limit_watch_push (the first one begins the watch), _take, _amend, _get_state,
 * _is_quiet. */
enum sh_status sh_limit_guard_push(struct sh_limit_guard *guard,
                                   const struct sh_block *block,
                                   double first_s,
                                   double step_s,
                                   struct sh_error *err);
enum sh_status sh_limit_guard_take(struct sh_limit_guard *guard,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err);
enum sh_status sh_limit_guard_amend(struct sh_limit_guard *guard,
                                    const struct sh_shot_record *records,
                                    size_t n,
                                    struct sh_error *err);
enum sh_limit_state sh_limit_guard_get_state(const struct sh_limit_guard *guard,
                                             const struct sh_mark *limit);
bool sh_limit_guard_is_quiet(const struct sh_limit_guard *guard);

/* Takes a rating (a pain mark) and says what has to be said of it. */
struct sh_limit_guard_cautions sh_limit_guard_rate(struct sh_limit_guard *guard,
                                                   const struct sh_mark *mark);

/* The mark that an event leaves in the recording. */
struct sh_mark sh_limit_guard_make_mark(const struct sh_limit_event *event);

#endif
