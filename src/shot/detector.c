/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/detector.h"

#define FAST_S       0.02
#define MIDDLE_S     0.05
#define SLOW_S       0.1
#define HOLD_RATIO   0.1  /* of the steepest rise so far: slower is a hold */
#define RESUME_RATIO 0.5  /* of the steepest rise so far: faster is drawing again */
#define HIGH_RATIO   0.85 /* of the largest force so far */
#define FOLLOW_MIN   1.0  /* an average follows at most at once */

void sh_detector_init(struct sh_detector *detector,
                      double rate_hz,
                      double threshold_n,
                      double resolution_n,
                      uint64_t first_frame)
{
    *detector = (struct sh_detector){.rate_hz = rate_hz,
                                     .threshold_n = threshold_n,
                                     .next_frame = first_frame,
                                     .phase_frame = first_frame};
    sh_rest_init(&detector->rest, rate_hz, resolution_n, first_frame);
}

static void
set_phase(struct sh_detector *detector, enum sh_detector_phase phase, uint64_t frame)
{
    if (detector->phase != phase) {
        detector->phase = phase;
        detector->phase_frame = frame;
    }
}

/* As fmax, of finite numbers and without a call. */
static double get_larger(double a, double b)
{
    return a > b ? a : b;
}

static void follow(double *average_n, double net_n, double memory_frames)
{
    *average_n += (net_n - *average_n) / get_larger(FOLLOW_MIN, memory_frames);
}

/* The three averages start anew with each draw, so that nothing older lives on in them. */
static void begin_draw(struct sh_detector *detector, double net_n, uint64_t frame)
{
    detector->is_drawn = true;
    detector->n_below = 0;
    detector->largest_n = net_n;
    detector->steepest_n = 0.0;
    detector->middle_n = net_n;
    detector->slow_n = net_n;
    set_phase(detector, SH_DETECTOR_DRAWING, detector->first_frame);
    detector->n_above = frame + 1 - detector->first_frame;
}

static void end_draw(struct sh_detector *detector, uint64_t frame)
{
    detector->is_drawn = false;
    detector->n_above = 0;
    sh_rest_forget(&detector->rest, detector->first_frame);
    set_phase(detector, SH_DETECTOR_REST, frame);
}

static enum sh_detector_event
watch_rest(struct sh_detector *detector, double net_n, uint64_t frame)
{
    if (!(net_n > SH_DETECTOR_EASE * detector->threshold_n)) {
        detector->n_above = 0;
        return SH_DETECTOR_NONE;
    }
    if (detector->n_above == 0) {
        detector->first_frame = frame;
    }
    detector->n_above++;
    const double needed_s = SH_DETECTOR_EASE * SH_DETECTOR_DRAW_S;
    if ((double)detector->n_above >= needed_s * detector->rate_hz) {
        begin_draw(detector, net_n, frame);
    }
    return SH_DETECTOR_NONE;
}

static void watch_phase(struct sh_detector *detector, uint64_t frame)
{
    const double rise_n = detector->middle_n - detector->slow_n;
    detector->steepest_n = get_larger(detector->steepest_n, rise_n);
    const bool is_high = detector->fast_n > HIGH_RATIO * detector->largest_n;
    const bool is_slow = rise_n < HOLD_RATIO * detector->steepest_n;
    if (detector->phase == SH_DETECTOR_DRAWING && is_high && is_slow) {
        set_phase(detector, SH_DETECTOR_HOLD, frame);
    } else if (detector->phase == SH_DETECTOR_HOLD &&
               rise_n > RESUME_RATIO * detector->steepest_n) {
        set_phase(detector, SH_DETECTOR_DRAWING, frame); /* that was a preload or a pause */
    }
}

static enum sh_detector_event
watch_draw(struct sh_detector *detector, double net_n, uint64_t frame)
{
    detector->largest_n = get_larger(detector->largest_n, detector->fast_n);
    follow(&detector->middle_n, net_n, MIDDLE_S * detector->rate_hz);
    follow(&detector->slow_n, net_n, SLOW_S * detector->rate_hz);
    watch_phase(detector, frame);
    const double over_n = get_larger(SH_DETECTOR_END_RATIO * detector->threshold_n,
                                     SH_DETECTOR_PEAK_RATIO * detector->largest_n);
    if (net_n < over_n) {
        if (detector->n_below == 0) {
            detector->end_frame = frame;
        }
        detector->n_below++;
        if ((double)detector->n_below >= SH_DETECTOR_GONE_S * detector->rate_hz) {
            end_draw(detector, frame);
            return SH_DETECTOR_ENDED;
        }
    } else {
        detector->n_below = 0;
    }
    const double drawn = (double)(frame - detector->first_frame);
    if (drawn >= SH_DETECTOR_DRAW_MAX_S * detector->rate_hz) {
        detector->is_drawn = false;
        detector->n_above = 0;
        detector->n_given_up++;
        set_phase(detector, SH_DETECTOR_REST, frame);
        return SH_DETECTOR_GAVE_UP;
    }
    return SH_DETECTOR_NONE;
}

enum sh_detector_event
sh_detector_push(struct sh_detector *detector, double force_n, bool is_filled)
{
    const uint64_t frame = detector->next_frame++;
    if (!detector->is_drawn) {
        detector->base_n = sh_rest_get_level(&detector->rest);
    }
    const double net_n = force_n - detector->base_n;
    sh_rest_push(&detector->rest, force_n, is_filled);
    follow(&detector->fast_n, net_n, FAST_S * detector->rate_hz);
    if (detector->is_drawn) {
        return watch_draw(detector, net_n, frame);
    }
    return watch_rest(detector, net_n, frame);
}

double sh_detector_get_net_n(const struct sh_detector *detector)
{
    return detector->fast_n;
}
