/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_MEASURE_MADE_H
#define SH_TESTS_MEASURE_MADE_H

#include <stdbool.h>
#include <stddef.h>

#include "measure/scene.h"
#include "signal/random.h"

/*
 * A shot made by hand, with known truth: samples from MADE_FROM_S to MADE_UNTIL_S given by
 * functions of time, and events at fixed times. Tests change what they want before measuring.
 * Failing to get memory fails the running test.
 */

#define MADE_FROM_S       0.5
#define MADE_DRAW_START_S 4.0
#define MADE_FULL_DRAW_S  5.0
#define MADE_CLICKER_S    8.0
#define MADE_RELEASE_S    8.15
#define MADE_END_S        8.8
#define MADE_UNTIL_S      10.5

#define MADE_STREAMS 2u /* 0: force, then fingers; 1: bow x, y, z */
#define MADE_STRING  0u
#define MADE_BOW     1u

/* A channel's value at t_s; k: finger (0 index, 1 middle, 2 ring) or axis (0 x, 1 y, 2 z). */
struct made_signal {
    double (*get)(const void *context, double t_s, size_t k);
    const void *context;
};

struct made_config {
    double rate_hz;            /* of force and fingers */
    struct made_signal force;  /* net force; get NULL: no string force */
    struct made_signal finger; /* net force of each; get NULL: no fingers */
    double finger_rest_n;      /* stands under each finger's net force */
    double bow_rate_hz;        /* 0: no acceleration */
    struct made_signal bow;    /* m/s^2, gravity included */
    double noise_n;            /* white noise of the force, made and stated */
    struct sh_random *random;  /* for the noise; NULL where noise_n is 0 or only stated */
};

struct made {
    struct sh_stream stream[MADE_STREAMS];
    double *samples[MADE_STREAMS]; /* owned: times, then the channels */
    unsigned char *flags[MADE_STREAMS];
    double *net_n; /* owned; the view's, to be changed at will */
    struct sh_bow bow;
    struct sh_shot shot;
    struct sh_shot_view view;
    struct sh_scene scene;
};

void made_open(struct made *made, const struct made_config *config);
void made_close(struct made *made);

/* Frame of a stream at or after a time. */
size_t made_frame(const struct made *made, size_t stream, double t_s);

#endif
