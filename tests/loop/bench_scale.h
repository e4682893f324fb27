/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_BENCH_SCALE_H
#define SH_TESTS_LOOP_BENCH_SCALE_H

#include <stdbool.h>
#include <stddef.h>

#include "loop/program.h"
#include "signal/random.h"

/*
 * A force sensor that is not there, behind a pseudo-terminal, with whatever hangs on it: it
 * sends lines of numbers at its own pace while a test types masses into the real program. All
 * fail the running test where they cannot.
 */

#define BENCH_SCALE_RATE_HZ  500.0
#define BENCH_SCALE_CHANNELS 3u

struct bench_scale {
    int terminal; /* -1: pulled */
    char path[SCRATCH_PATH_BYTES];
    size_t n_channels;
    double force_n[BENCH_SCALE_CHANNELS];
    double (*law)(size_t channel, const double *force_n); /* counts without noise */
    double noise_counts;
    bool is_silent;
    double drift_ratio; /* of the counts above rest, from drift_start_s on */
    double drift_time_s;
    double drift_start_s;
    double rest_counts;
    double began_s;
    unsigned long n_frames;
    struct sh_random random;
};

/* Opens the terminal; law, noise and the rest are set by the test. */
void bench_scale_open(struct bench_scale *scale, size_t n_channels);

/* Pulls the cable. Twice is harmless. */
void bench_scale_close(struct bench_scale *scale);

/* Sends what is due by now. */
void bench_scale_send(struct bench_scale *scale);

/*
 * Sends until text stands n times in what the program said on standard error, or fails; the
 * same until the program has ended, giving its exit status.
 */
void bench_scale_await(struct bench_scale *scale,
                       const struct program *program,
                       const char *text,
                       size_t n);
int bench_scale_wait(struct bench_scale *scale, struct program *program);

#endif
