/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_CHANNEL_SET_H
#define SH_SIM_CHANNEL_SET_H

#include "sim/stream_source.h"

/*
 * Named sets of simulated sensors, as a club might build them:
 *
 *     force80       string force at 80 Hz, each sample a mean over its period (24 bits)
 *     force1000     string force at 1000 Hz (16 bits)
 *     bow           acceleration of the bow, three axes at 3200 Hz, to 157 m/s2 (13 bits)
 *     force_bow     force1000 and bow
 *     fingers       three fingers at 1000 Hz (12 bits)
 *     fingers_bow   three fingers at 1000 Hz (12 bits) and bow
 *     thin_fingers  three thin sensors under the tab at 1000 Hz (12 bits)
 *     thin_force    contact and thin_fingers
 *     contact       force1000 with the clicker's contact as its second channel
 *     sound         force1000 and a microphone at 10 kHz
 *     force_fingers_bow  force1000, three fingers and bow
 *     all           contact, three fingers, bow and microphone
 *
 * Thin sensors are curved (half of where they end at 60 to 80 N), with a dead zone of 0.2 to
 * 0.35 N, a load drift of 3 to 5 % in some seconds, neighbours that show 2 to 4 % of a finger's
 * force, 2 counts rms of noise, and they repeat to SH_CHANNEL_SET_THIN_U_RATIO only, which
 * their curves' u says: what `stringhand calibrate` writes. The load drift is known to a tenth
 * of itself, each share of the crosstalk to 0.002.
 *
 * Force 0.1 N rms of noise, acceleration 0.3 m/s2, sound 0.01 Pa. Clocks that are off by some
 * 10 ppm, with an anchor every 10 s to 0.2 ms; nothing is lost. Assumed, not measured, figures.
 * Test: tests/sim/test_channel_set.c.
 */

#define SH_CHANNEL_SET_STREAMS_MAX  4u
#define SH_CHANNEL_SET_THIN_U_RATIO 0.03

/*
 * Fills stream[*n_streams] with the set of that name. SH_ERR_NOT_FOUND: there is none, with
 * the names there are; the arguments are then untouched.
 */
enum sh_status
sh_channel_set_find(const char *name,
                    struct sh_stream_source_config stream[SH_CHANNEL_SET_STREAMS_MAX],
                    size_t *n_streams,
                    struct sh_error *err);

/* Name of the set with that index, 0 on; NULL beyond the last. Static. */
const char *sh_channel_set_get_name(size_t index);

#endif
