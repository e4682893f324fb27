/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/bell.h"

void sh_bell_init(struct sh_bell *bell)
{
    *bell = (struct sh_bell){0};
}

void sh_bell_ask(struct sh_bell *bell, unsigned n_strokes)
{
    if (n_strokes > 0 && n_strokes <= SH_BELL_STROKES_MAX) {
        bell->n_next = n_strokes;
    }
}

void sh_bell_hush(struct sh_bell *bell)
{
    if (bell->n_left > 0 && bell->n_next == 0) {
        bell->n_next = bell->n_signal;
    }
    bell->n_left = 0;
    if (bell->n_next < SH_BELL_STROKES_MAX) {
        bell->n_next = 0;
    }
}

bool sh_bell_take(struct sh_bell *bell, double now_s)
{
    const double pause_s = bell->n_left > 0 ? SH_BELL_STROKE_S : SH_BELL_SILENCE_S;
    if ((bell->n_left == 0 && bell->n_next == 0) ||
        (bell->has_rung && now_s < bell->rung_s + pause_s)) {
        return false;
    }
    if (bell->n_left == 0) {
        bell->n_signal = bell->n_left = bell->n_next;
        bell->n_next = 0;
    }
    bell->n_left--;
    bell->has_rung = true;
    bell->rung_s = now_s;
    return true;
}
