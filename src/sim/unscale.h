/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_UNSCALE_H
#define SH_SIM_UNSCALE_H

#include "metrology/channel.h"

/*
 * The counts (with their fraction) that sh_scale_value turns into value: what an ideal
 * converter would see. A value where is_physical. With a quadratic term, the branch that holds
 * the zero; beyond its turning point, the turning point. scale must not be 0 nor a curve flat.
 * Cost: a square root, or a search along the curve. Test: tests/sim/test_unscale.c.
 */
double sh_unscale_value(const struct sh_channel *channel, double value);

#endif
