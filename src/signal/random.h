/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_RANDOM_H
#define SH_SIGNAL_RANDOM_H

#include <stddef.h>
#include <stdint.h>

/*
 * A seeded generator of random numbers, passed in by whoever draws from it: the same seed gives
 * the same numbers. xoshiro256** (Blackman & Vigna 2021, ACM Trans Math Softw 47:36), its state
 * filled from the seed by splitmix64 (Steele, Lea & Flood 2014). Not for secrets.
 * One generator belongs to one thread at a time. No heap, nothing fails.
 * Test: tests/signal/test_random.c.
 */
struct sh_random {
    uint64_t word[4];
};

/* Starts the sequence of a seed; every seed is good, 0 too. */
void sh_random_init(struct sh_random *random, uint64_t seed);

/* The next 64 random bits. */
uint64_t sh_random_get_bits(struct sh_random *random);

/* Uniform in 0 <= u < 1, a multiple of 2^-53. */
double sh_random_get_uniform(struct sh_random *random);

/*
 * Standard normal, by the ratio of uniforms (Kinderman & Monahan 1977). The logarithm only
 * decides whether a number is taken, so the values themselves are exact arithmetic.
 * Cost: about 1.4 pairs of uniforms.
 */
double sh_random_get_normal(struct sh_random *random);

/* Uniform in 0 .. bound - 1 without bias (rejection); bound 0 stands for 2^64. */
uint64_t sh_random_get_below(struct sh_random *random, uint64_t bound);

/* Puts index[n] in random order, each order alike (Fisher & Yates; Durstenfeld 1964). */
void sh_random_shuffle(struct sh_random *random, size_t *index, size_t n);

#endif
