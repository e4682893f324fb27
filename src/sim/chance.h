/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_CHANCE_H
#define SH_SIM_CHANCE_H

#include <stdbool.h>
#include <stdint.h>

#include "signal/random.h"

/* What the simulation draws from a generator, and how it makes many of one seed. */

/* Uniform in low <= x < high. One number. Test: tests/sim/test_chance.c. */
double sh_chance_between(struct sh_random *random, double low, double high);

/* True with probability ratio (0: never, 1: always). One number. */
bool sh_chance_is(struct sh_random *random, double ratio);

/*
 * The seed of the part with that number: different parts of one seed, and equal parts of
 * different seeds, get unlike sequences (splitmix64's finaliser, Steele, Lea & Flood 2014).
 */
uint64_t sh_chance_seed(uint64_t seed, uint64_t part);

#endif
