/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/random.h"

#include <math.h>

static const double sqrt_8_over_e = 1.7155277699214135;
static const double two_to_minus_53 = 1.0 / 9007199254740992.0;

static uint64_t rotate_left(uint64_t x, unsigned bits)
{
    return (x << bits) | (x >> (64 - bits));
}

void sh_random_init(struct sh_random *random, uint64_t seed)
{
    for (size_t i = 0; i < 4; i++) {
        seed += UINT64_C(0x9e3779b97f4a7c15);
        uint64_t z = seed;
        z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
        z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
        random->word[i] = z ^ (z >> 31);
    }
}

uint64_t sh_random_get_bits(struct sh_random *random)
{
    uint64_t *s = random->word;
    const uint64_t bits = rotate_left(s[1] * 5, 7) * 9;
    const uint64_t shifted = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= shifted;
    s[3] = rotate_left(s[3], 45);
    return bits;
}

double sh_random_get_uniform(struct sh_random *random)
{
    return (double)(sh_random_get_bits(random) >> 11) * two_to_minus_53;
}

double sh_random_get_normal(struct sh_random *random)
{
    for (;;) {
        const double u = 1.0 - sh_random_get_uniform(random);
        const double x = sqrt_8_over_e * (sh_random_get_uniform(random) - 0.5) / u;
        if (x * x <= -4.0 * log(u)) {
            return x;
        }
    }
}

uint64_t sh_random_get_below(struct sh_random *random, uint64_t bound)
{
    if (bound == 0) {
        return sh_random_get_bits(random);
    }
    /* 2^64 mod bound: the numbers below it would make the low results more frequent */
    const uint64_t n_refused = (0 - bound) % bound;
    uint64_t bits = sh_random_get_bits(random);
    while (bits < n_refused) {
        bits = sh_random_get_bits(random);
    }
    return bits % bound;
}

void sh_random_shuffle(struct sh_random *random, size_t *index, size_t n)
{
    for (size_t i = n; i > 1; i--) {
        const size_t j = (size_t)sh_random_get_below(random, i);
        const size_t kept = index[i - 1];
        index[i - 1] = index[j];
        index[j] = kept;
    }
}
