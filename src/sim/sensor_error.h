/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SENSOR_ERROR_H
#define SH_SIM_SENSOR_ERROR_H

#include "signal/random.h"
#include "sim/stream_source.h"

/*
 * Turns what a sensor claims to be into what it is: scale, quadratic term, curve, zero and
 * delay of every channel, and the stream's offset where no anchors tell its time, each off by
 * its standard uncertainty times a normal number (JCGM 101:2008, 6.4.7), and so the shares of
 * a crosstalk and the ratios of load drifts where they are said to be uncertain. One number
 * moves all points of a curve above no force, cut at three so that it stays monotone. Channels
 * of one role lag alike, by one number; all else is apart. What is physical already has no
 * counts to be off. The same count of numbers for the same channels, however uncertain they
 * are; a crosstalk or load drift that is uncertain takes its own, last. Test:
 * tests/sim/test_sensor_error.c.
 */
void sh_sensor_error_draw(struct sh_stream_source_config *config, struct sh_random *random);

#endif
