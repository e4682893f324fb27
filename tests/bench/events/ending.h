/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_EVENTS_ENDING_H
#define SH_TESTS_BENCH_EVENTS_ENDING_H

#include "bench/events/practice.h"

/*
 * When the bow truly is quiet again after a draw: the definition of the event `end` (docs/
 * definitions.md) on the noise-free force and acceleration of the practice's channels, worked
 * out at 10,000 times a second. A channel's peak is that of its own signal from the draw start
 * on, beyond any sensor's range too.
 */

/*
 * Session time of the end of the draw of index draw; over_s: its release or let-down, until_s:
 * where the next draw starts, or infinity. false: no memory.
 */
bool ending_find(
    const struct practice *practice, size_t draw, double over_s, double until_s, double *end_s);

#endif
