/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SIGNAL_TEST_NOISE_H
#define SH_TESTS_SIGNAL_TEST_NOISE_H

#include <math.h>
#include <stdint.h>

#include "base/units.h"

/* A 64-bit congruential generator (Knuth 1998, MMIX); state is the seed. */
static inline double noise_uniform(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return ((double)(*state >> 11) + 0.5) / 9007199254740992.0;
}

/* Standard normal numbers (Box & Muller 1958). */
static inline double noise_normal(uint64_t *state)
{
    double size = sqrt(-2.0 * log(noise_uniform(state)));
    return size * cos(2.0 * SH_PI * noise_uniform(state));
}

#endif
