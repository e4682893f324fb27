/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "bench/coverage/truth.h"

#define FINGERS 3u
#define RING    2u
#define RATE_HZ 4000.0
#define FALL    0.06

struct finger {
    const struct sh_session_draw *draw;
    size_t k;
};

static double get_finger(const void *context, double t_s)
{
    const struct finger *finger = context;
    double force_n[FINGERS];
    sh_finger_signal_get_force_n(&finger->draw->finger, &finger->draw->string, t_s, force_n);
    return force_n[finger->k];
}

/* Slope from the last time at 20 % of the hold value to the first at 80 %. */
static double find_load_rate(const struct trace *force, const struct truth_draw *at)
{
    const double hold_n = trace_median(force, at->full_draw_s, at->release_s - 0.05);
    size_t high = 0;
    while (high + 1u < force->n && force->x[high] < 0.8 * hold_n) {
        high++;
    }
    size_t low = high;
    while (low > 0 && force->x[low] > 0.2 * hold_n) {
        low--;
    }
    return 0.6 * hold_n * force->rate_hz / (double)(high - low);
}

static enum sh_status
find_load(const struct truth_draw *at, size_t k, struct truth_figures *out)
{
    const struct finger finger = {at->draw, k};
    const struct signal signal = {get_finger, &finger};
    struct trace force;
    if (!trace_open(&force, &signal, at->draw_start_s, at->release_s, RATE_HZ)) {
        return SH_ERR_MEMORY;
    }
    const double length_s = at->release_s - at->draw_start_s;
    truth_set(out, SH_MEASURE_FINGER_IMPULSE_FIRST + k,
              length_s * trace_mean(&force, at->draw_start_s, at->release_s));
    truth_set(out, SH_MEASURE_FINGER_PEAK_FIRST + k,
              trace_largest_mean(&force, at->draw_start_s, at->release_s, 0.02));
    truth_set(out, SH_MEASURE_FINGER_LOAD_RATE_FIRST + k, find_load_rate(&force, at));
    trace_close(&force);
    return SH_OK;
}

enum sh_status truth_find_fingers(const struct truth_draw *at, struct truth_figures *out)
{
    const struct sh_truth *truth = at->truth;
    double first_s = truth->finger_release_s[0];
    double last_s = first_s;
    for (size_t k = 0; k < FINGERS; k++) {
        const enum sh_status status = find_load(at, k, out);
        if (status != SH_OK) {
            return status;
        }
        truth_set(out, SH_MEASURE_FINGER_SHARE_FIRST + k, truth->finger_share[k]);
        truth_set(out, SH_MEASURE_FINGER_RELEASE_FIRST + k, truth->finger_release_s[k]);
        if (truth->hold_time_s >= 0.5) {
            truth_set(out, SH_MEASURE_FINGER_SHARE_CHANGE_FIRST + k,
                      truth->finger_share_change[k]);
        }
        first_s = fmin(first_s, truth->finger_release_s[k]);
        last_s = fmax(last_s, truth->finger_release_s[k]);
    }
    truth_set(out, SH_MEASURE_FINGER_RELEASE_SPREAD_FIRST, last_s - first_s);
    if (truth->has_finger_slide && truth->finger_share_change[RING] <= -FALL) {
        truth_set(out, SH_MEASURE_FINGER_SLIDE_FIRST, truth->finger_slide_s);
    }
    return SH_OK;
}
