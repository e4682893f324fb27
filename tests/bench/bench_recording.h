/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_RECORDING_H
#define SH_TESTS_BENCH_RECORDING_H

#include <stdbool.h>

#include "base/status.h"

/*
 * Simulated recordings of any length for benchmarks: one stream of four channels at 1000 Hz,
 * ends of six arrows with the pauses of a practice (some 115 draws an hour), a clock anchor
 * every 10 s.
 */

enum sh_bench_recording_set {
    SH_BENCH_RECORDING_STRING_BOW,    /* string force, the bow's acceleration on three axes */
    SH_BENCH_RECORDING_STRING_FINGERS /* string force, three fingers */
};

struct sh_bench_recording_config {
    enum sh_bench_recording_set set;
    double duration_s;
    double piece_s; /* so much is simulated, and repeated until duration_s is full */
    bool to_flac;
};

/*
 * Makes folder, which must not exist. Memory: that of one piece's samples. Statuses of
 * sh_simulation_open, sh_sampler_open and the recording writer, with a line in err.
 */
enum sh_status sh_bench_recording_make(const char *folder,
                                       const struct sh_bench_recording_config *config,
                                       struct sh_error *err);

/* Removes the folder and all files in it. */
void sh_bench_recording_remove(const char *folder);

#endif
