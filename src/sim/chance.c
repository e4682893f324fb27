/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/chance.h"

double sh_chance_between(struct sh_random *random, double low, double high)
{
    return low + (high - low) * sh_random_get_uniform(random);
}

bool sh_chance_is(struct sh_random *random, double ratio)
{
    return sh_random_get_uniform(random) < ratio;
}

static uint64_t mix_bits(uint64_t z)
{
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

uint64_t sh_chance_seed(uint64_t seed, uint64_t part)
{
    return mix_bits(mix_bits(seed + UINT64_C(0x9e3779b97f4a7c15)) + part);
}
