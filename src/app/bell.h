/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_BELL_H
#define SH_APP_BELL_H

#include <stdbool.h>

/*
 * When the terminal's bell rings for a signal of one to three strokes. Strokes of one signal
 * follow each other by SH_BELL_STROKE_S; between two signals it is silent for SH_BELL_SILENCE_S
 * at least, so that no two of them add up to another signal, and never to the emergency's. A
 * signal may come late for that, by no more than the strokes that are still to ring and the
 * silence: 3.2 s. Pure: time is given. Test: tests/app/test_bell.c.
 */

#define SH_BELL_STROKES_MAX 3u
#define SH_BELL_STROKE_S    0.6
#define SH_BELL_SILENCE_S   2.0

struct sh_bell {
    unsigned n_signal; /* strokes of the signal that is rung, or was the last */
    unsigned n_left;   /* of them still to ring */
    unsigned n_next;   /* strokes of the signal that waits; 0: none */
    bool has_rung;
    double rung_s; /* the last stroke */
};

void sh_bell_init(struct sh_bell *bell);

/* Asks for a signal, in place of one that still waits. None for no stroke or over three. */
void sh_bell_ask(struct sh_bell *bell, unsigned n_strokes);

/*
 * Silence from now on: a string is pulled. A signal that is cut off or waits is not given late,
 * but for the stop (SH_BELL_STROKES_MAX strokes): that one waits, to be rung whole.
 */
void sh_bell_hush(struct sh_bell *bell);

/* True where a stroke is due at now_s: ring it now. At most one a call. */
bool sh_bell_take(struct sh_bell *bell, double now_s);

#endif
