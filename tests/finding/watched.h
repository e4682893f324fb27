/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_FINDING_WATCHED_H
#define SH_TESTS_FINDING_WATCHED_H

#include "finding/limit_watch.h"

/*
 * Three finger sensors of a test, 0.01 N a count, 1 kHz, and draws made sample by sample: rest,
 * a rise in a straight line, a hold, a fall within 10 ms. A watch over limits listens; what it
 * says is kept. All fail the running test where they cannot.
 */

#define WATCHED_RATE_HZ    1000.0
#define WATCHED_SCALE_N    0.01
#define WATCHED_SCALE_U    0.01 /* of the force */
#define WATCHED_FRAMES_MAX 60000u
#define WATCHED_EVENTS_MAX 32u
#define WATCHED_WEIGHT_N   150.0 /* of the bow */

struct watched {
    struct sh_session session;
    double raw[WATCHED_FRAMES_MAX][3];
    bool is_filled[WATCHED_FRAMES_MAX];
    size_t n_frames;
    struct sh_limit_watch *watch;
    size_t n_pushed; /* frames that the watch has been given */
    struct sh_limit_event event[WATCHED_EVENTS_MAX];
    size_t pushed_at[WATCHED_EVENTS_MAX]; /* n_pushed when the event came */
    size_t n_events;
};

/* On the heap. To be closed. */
struct watched *watched_open(void);
void watched_close(struct watched *watched);

/* A limit of so much at the most. */
struct sh_mark
watched_make_most(const char *what, const char *finger, const char *per, double most);

/* Adds a limit to the session. */
void watched_limit(struct watched *watched, const struct sh_mark *mark);

/* Samples of rest, and of a draw to these forces, held for so long, released. */
void watched_rest(struct watched *watched, double length_s);
void watched_draw(struct watched *watched,
                  const double peak_n[3],
                  double rise_s,
                  double hold_s);

/* Opens the watch; feeds all frames that are there in blocks of n_block. */
void watched_begin(struct watched *watched);
void watched_feed(struct watched *watched, size_t n_block);

/*
 * A usual draw: index, middle and ring, N; and a watch under one limit that has been fed rest,
 * that draw (1 s up, 2 s held) and rest, in blocks of n_block.
 */
extern const double watched_peaks_n[3];
struct watched *watched_open_drawn(const struct sh_mark *mark, size_t n_block);

/* The force that the sensors show of a finger at a frame, N, and its mean over the 20 ms that
 * end there. */
double watched_get_mean_n(const struct watched *watched, size_t finger, size_t frame);

/* The first event of a kind; NULL where there is none. */
const struct sh_limit_event *watched_find(const struct watched *watched,
                                          enum sh_limit_event_kind kind);
size_t watched_count(const struct watched *watched, enum sh_limit_event_kind kind);

#endif
