/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/release_watch.h"

#include <math.h>

#define HIGH_RATIO 0.9
#define LOW_RATIO  0.1

void sh_release_watch_init(struct sh_release_watch *watch,
                           double rate_hz,
                           double threshold_n,
                           double resolution_n,
                           uint64_t first_frame)
{
    const double bin_s = SH_RELEASE_WATCH_TOP_S / SH_RELEASE_WATCH_BINS;
    *watch = (struct sh_release_watch){.bin_frame = first_frame,
                                       .n_bin_frames = (uint64_t)fmax(1.0, bin_s * rate_hz)};
    sh_detector_init(&watch->detector, rate_hz, threshold_n, resolution_n, first_frame);
}

/* The largest net force of the last half second. */
static double find_top(const struct sh_release_watch *watch)
{
    double top_n = watch->top_n[0];
    for (size_t i = 1; i < SH_RELEASE_WATCH_BINS; i++) {
        top_n = fmax(top_n, watch->top_n[i]);
    }
    return top_n;
}

static void push_top(struct sh_release_watch *watch, uint64_t frame)
{
    const double net_n = sh_detector_get_net_n(&watch->detector);
    if (frame - watch->bin_frame >= watch->n_bin_frames) {
        watch->bin_frame = frame;
        watch->bin = (watch->bin + 1) % SH_RELEASE_WATCH_BINS;
        watch->top_n[watch->bin] = net_n;
    }
    watch->top_n[watch->bin] = fmax(watch->top_n[watch->bin], net_n);
    watch->largest_n = fmax(watch->largest_n, net_n);
}

/* Another draw: nothing older lives on. */
static void begin_draw(struct sh_release_watch *watch)
{
    for (size_t i = 0; i < SH_RELEASE_WATCH_BINS; i++) {
        watch->top_n[i] = 0.0;
    }
    watch->largest_n = 0.0;
    watch->n_low = 0;
    watch->has_fired = false;
    watch->has_hold = false;
    watch->high_n = 0.0;
}

static void watch_hold(struct sh_release_watch *watch)
{
    const struct sh_detector *detector = &watch->detector;
    if (detector->phase == SH_DETECTOR_HOLD) {
        watch->has_hold = true;
        watch->hold_frame = detector->phase_frame;
    }
}

/* Frame at which it had fallen to 90 %: between the last one above it and the next. */
static double find_release_frame(const struct sh_release_watch *watch, double top_n)
{
    const double fall_n = watch->high_n - watch->after_high_n;
    const double part = fall_n > 0.0 ? (watch->high_n - HIGH_RATIO * top_n) / fall_n : 0.0;
    return (double)watch->high_frame + fmin(fmax(part, 0.0), 1.0);
}

/* Did the force go within the time of a release? */
static bool
watch_fall(struct sh_release_watch *watch, double net_n, uint64_t frame, double top_n)
{
    if (net_n >= HIGH_RATIO * top_n) {
        watch->high_n = net_n;
        watch->high_frame = frame;
        watch->n_low = 0;
        return false;
    }
    if (frame == watch->high_frame + 1) {
        watch->after_high_n = net_n;
    }
    watch->n_low = net_n <= LOW_RATIO * top_n ? watch->n_low + 1 : 0;
    if (watch->n_low != SH_RELEASE_WATCH_LOW_FRAMES || !(watch->high_n > 0.0)) {
        return false;
    }
    const double n_frames =
        (double)(frame + 1 - SH_RELEASE_WATCH_LOW_FRAMES) - find_release_frame(watch, top_n);
    return n_frames <= SH_RELEASE_WATCH_FALL_MAX_S * watch->detector.rate_hz &&
           top_n >= SH_RELEASE_WATCH_HELD_RATIO * watch->largest_n;
}

bool sh_release_watch_push(struct sh_release_watch *watch,
                           double force_n,
                           bool is_filled,
                           struct sh_release_watch_event *out)
{
    struct sh_detector *detector = &watch->detector;
    const uint64_t frame = detector->next_frame;
    const bool was_drawn = detector->is_drawn;
    (void)sh_detector_push(detector, force_n, is_filled);
    if (!was_drawn || !detector->is_drawn) {
        if (!was_drawn && detector->is_drawn) {
            begin_draw(watch);
        }
        return false;
    }
    const double net_n = force_n - detector->base_n;
    if (is_filled) {
        return false;
    }
    push_top(watch, frame);
    watch_hold(watch);
    const double top_n = find_top(watch);
    if (watch->has_fired || !watch_fall(watch, net_n, frame, top_n)) {
        return false;
    }
    watch->has_fired = true;
    *out = (struct sh_release_watch_event){.release_frame = find_release_frame(watch, top_n),
                                           .hold_frame =
                                               (double)watch->hold_frame -
                                               SH_RELEASE_WATCH_HOLD_LAG_S * detector->rate_hz,
                                           .has_hold = watch->has_hold};
    return true;
}
