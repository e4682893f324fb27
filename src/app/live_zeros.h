/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_ZEROS_H
#define SH_APP_LIVE_ZEROS_H

#include "app/capture_sensors.h"

/*
 * The zeros that were set at the line since the program began, of sensors that may be chosen
 * again: one holds where both the profile says the same in all (comments do not count) and the
 * port has the same address; else the profile's own counts.
 * One thread. Test: tests/app/test_live_zeros.c; the real program: tests/live/test_choose.py.
 */
#define SH_LIVE_ZEROS_MAX 16u /* sensors; of more the one that was kept first is forgotten */

struct sh_live_zeros_kept;

/* All zero: none. */
struct sh_live_zeros {
    struct sh_live_zeros_kept *kept[SH_LIVE_ZEROS_MAX]; /* owned, [n], in their order */
    size_t n;
};

/* Frees what it owns and zeroes it. */
void sh_live_zeros_close(struct sh_live_zeros *zeros);

/*
 * Keeps the zeros of the sensor whose stream s (of all in setup's session) it is, as the
 * session has them now; where they are the profile's own nothing is kept, nor what was. Of
 * each sensor the last counts. SH_ERR_MEMORY: nothing is kept of it.
 */
enum sh_status
sh_live_zeros_keep(struct sh_live_zeros *zeros, const struct sh_capture_setup *setup, size_t s);

/* Gives the sensors of a choice the zeros kept of them (borrowed until the next keep). Without
 * memory none. */
void sh_live_zeros_fill(const struct sh_live_zeros *zeros, struct sh_capture_choice *choice);

/* The profile's own stream behind stream s of setup's session; NULL: there is no such stream.
 */
const struct sh_stream *sh_live_zeros_find_own(const struct sh_capture_setup *setup, size_t s);

/* Whether stream s stands at another zero than its profile's own. */
bool sh_live_zeros_is_set(const struct sh_capture_setup *setup, size_t s);

#endif
