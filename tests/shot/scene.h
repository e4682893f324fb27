/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SHOT_SCENE_H
#define SH_TESTS_SHOT_SCENE_H

#include <stddef.h>
#include <stdint.h>

#include "sim/shot_truth.h"
#include "sim/string_signal.h"

/*
 * One simulated draw with its truth, sampled at any rate. Times are seconds of the plan's
 * clock, on which the hand takes up the string at 0.
 */
struct scene {
    struct sh_string_signal signal;
    struct sh_shot_truth truth;
};

/* Draws the shot of a seed with the given faults (sh_archer_fault); fails the test where the
 * truth cannot be had. */
void scene_make(struct scene *scene, unsigned faults, uint64_t seed);

/* How a scene is sampled: sample i at (i - phase) / rate_hz - lead_s. */
struct scene_sampling {
    double rate_hz;
    double phase;  /* 0 .. 1 samples */
    double lead_s; /* rest before the hand takes up the string */
    double tail_s; /* after the loose */
    double noise_n;
    double boxcar_s; /* a sample is the mean over this, centred; 0: none */
    uint64_t seed;
};

/* Samples the force; gives the array, which the caller frees, and its length. */
double *scene_sample(const struct scene *scene, const struct scene_sampling *how, size_t *n);

/* Frame of a time, and back. */
double scene_frame(const struct scene_sampling *how, double time_s);
double scene_time_s(const struct scene_sampling *how, double frame);

#endif
