/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SHOT_TRUTH_H
#define SH_SIM_SHOT_TRUTH_H

#include <stdbool.h>

#include "base/status.h"
#include "sim/string_signal.h"

/*
 * What truly happened in one shot, in seconds of the plan's clock. Draw start and full draw
 * follow the contract's definition, worked out on the noise-free force (Gaussian rate of sigma
 * 50 ms, 10 % of the largest rate between set-up and loose, a preload's included), not the
 * plan's nominal times.
 */
struct sh_shot_truth {
    double draw_start_s;
    double full_draw_s;
    bool has_clicker;
    double clicker_s; /* 0 without clicker */
    bool is_let_down;
    double release_s;   /* 0 of a let-down */
    double let_down_s;  /* 10 % below the largest 20 ms mean for the last time; 0 of a shot */
    double hold_time_s; /* release - full draw; 0 of a let-down */
};

/*
 * Finds the truth of signal. Samples the force at 1 kHz and goes straight between samples.
 * SH_ERR_SHORT: the rate does not fall below 10 % before the loose, so that the contract knows
 * no full draw. SH_ERR_MEMORY. *out is set only on success. Cost: O(length); two arrays of
 * doubles are held during the call. Test: tests/sim/test_shot_truth.c.
 */
enum sh_status sh_shot_truth_find(const struct sh_string_signal *signal,
                                  struct sh_shot_truth *out,
                                  struct sh_error *err);

#endif
