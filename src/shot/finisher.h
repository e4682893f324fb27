/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_FINISHER_H
#define SH_SHOT_FINISHER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "shot/click_template.h"
#include "shot/events.h"
#include "shot/lanes.h"
#include "shot/quality.h"

/*
 * Makes a shot with its view of each draw that the segmenter has seen to its end: cuts the
 * window out of the lanes, finds what the force shows, then what the other channels show.
 * Keeps what one draw has to know of those before it. One thread at a time.
 * Test: tests/shot/test_segmenter.c, which drives it.
 */
#define SH_FINISHER_LEAD_S 12.0 /* searched before a draw, for rest and draw start */

#define SH_FINISHER_TAILS_MAX    16u /* the session's usual ringing is the median of so many */
#define SH_FINISHER_TAILS_MIN    3u
#define SH_FINISHER_SHOCK_GAP_S  4.0 /* no second arrow leaves so soon */
#define SH_FINISHER_SHOCK_LEAD_S 8.0 /* without a force: lent before a shock */

/* A draw of the leading stream, as the detector saw it; or a trigger of the shock's watch. */
struct sh_finisher_draw {
    uint64_t first_frame;
    uint64_t end_frame;
    double base_n;
    double wait_s; /* its window ends here: SH_SHOT_TAIL_S after its end */
    bool is_open;  /* the stream ended in it */
    bool is_shock; /* no force: first_frame is the trigger, end_frame the same */
};

struct sh_finisher {
    struct sh_lanes *lanes; /* kept */
    double threshold_n;
    double clicker_prior;
    const struct sh_click_template *click; /* kept, or NULL */
    struct sh_events *events;              /* owned */
    double *work;                          /* [n_work], owned */
    size_t n_work;
    struct sh_finisher_draw past[SH_LEVELS_SKIPS_MAX]; /* oldest first; when full, it goes */
    size_t n_past;
    struct sh_quality quality;
    double last_shock_s; /* release of the last shot without a force */
    size_t n_tails;
    double tail_m_s2[SH_FINISHER_TAILS_MAX]; /* ringing of the latest of them, a ring */
    double noise_n; /* at rest, of the last shot; at first the force's resolution */
};

/*
 * Opens it on lanes that have a force or a bow (kept); threshold_n: net force of a draw;
 * clicker_prior: see sh_clicker_config. Statuses of sh_events_open.
 */
enum sh_status sh_finisher_open(struct sh_finisher *finisher,
                                struct sh_lanes *lanes,
                                double threshold_n,
                                double clicker_prior,
                                struct sh_error *err);

/* Frees what it owns. Takes a closed or zeroed finisher. */
void sh_finisher_close(struct sh_finisher *finisher);

/* Forgets all draws. */
void sh_finisher_reset(struct sh_finisher *finisher);

/*
 * Works out one draw. *is_draw: it is one by the definition; else shot and view mean nothing.
 * shot->n is left to the caller. The view is borrowed until the lanes' next push. A status
 * other than SH_OK only from samples that are not finite. Cost: that of sh_events_find and
 * some passes over the window.
 */
enum sh_status sh_finisher_run(struct sh_finisher *finisher,
                               const struct sh_finisher_draw *draw,
                               struct sh_shot *shot,
                               struct sh_shot_view *view,
                               bool *is_draw);

#endif
