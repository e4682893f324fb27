/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_CALIBRATING_H
#define SH_TESTS_LOOP_CALIBRATING_H

#include "loop/bench_scale.h"

/*
 * A folder with a sensor's profile, and the sensor on the bench whose masses a test names to
 * the real `calibrate`. All fail the running test where they cannot.
 */

#define CALIBRATING_PER_N      80.0 /* counts */
#define CALIBRATING_REST       812.0
#define CALIBRATING_MASS_WORDS "Mass hanging now"
#define CALIBRATING_ZERO_WORDS "press Enter. "

struct calibrating {
    struct scratch scratch;
    char profile[SCRATCH_PATH_BYTES]; /* holds calibrating_profile */
    struct bench_scale scale;         /* not open yet */
};

/* A profile of one force channel, with comments. */
extern const char calibrating_profile[];

/* cmocka's set-up and tear-down: *state is a struct calibrating. */
int calibrating_open(void **state);
int calibrating_close(void **state);

/* What a mass pulls with where the program is told to be, N. */
double calibrating_get_force_n(double mass_kg);

/* A law for the sensor: CALIBRATING_PER_N counts a newton above CALIBRATING_REST. */
double calibrating_straight(size_t channel, const double *force_n);

/* Starts the program, with one more word or NULL, and waits until it speaks. */
void calibrating_start(const struct calibrating *place,
                       struct program *program,
                       const char *more);

/* What is typed, what hangs by then, and the question it answers for the n-th time. */
struct calibrating_answer {
    const char *typed; /* NULL ends a list; "steady ..." has the sensor drift from then on */
    double mass_kg;
    const char *question;
    size_t n;
};

void calibrating_give_answers(struct calibrating *place,
                              const struct program *program,
                              const struct calibrating_answer *answers);

#endif
