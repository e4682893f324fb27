/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_NET_H
#define SH_MEASURE_FINGER_NET_H

#include <stddef.h>

#include "base/quantity.h"
#include "measure/scene.h"

/*
 * The fingers' channels of a shot with their rest levels.
 *
 * Rest is the 0.25 s before the draw start over which the mean net force is nearest to 0: the
 * moment at which the segmenter saw the string at rest, before any preload. What is left of
 * the net force there counts in the rest levels' uncertainty, a third for each finger.
 *
 * A curved sensor's count is worth more newtons under load than at rest: its noise there is
 * taken from the steps between neighbouring samples in the hold (rms / sqrt 2), where that is
 * larger. A load drift that is taken off is held to be known to SH_FINGER_NET_DRIFT_U of
 * itself: neither recording nor profile states its uncertainty (calibration only keeps one that
 * it found clearly).
 */
#define SH_FINGER_NET_DRIFT_U 0.1
#define SH_FINGER_NET_COUNT   3u /* index, middle, ring */

struct sh_finger_channel {
    enum sh_why why;     /* SH_WHY_KNOWN, or why its net force cannot be had */
    size_t stream;       /* of the view */
    const double *value; /* the stream's frames; net force = value - rest_n */
    const struct sh_channel *channel;
    double rest_n;
    double rest_u_n;
    double
        noise_n; /* white, rms per sample: of the rest, of quantisation, as stated; largest */
    double loaded_noise_n; /* the same under load */
    double loaded_s;       /* half way between draw start and full draw */
};

struct sh_finger_net {
    struct sh_finger_channel finger[SH_FINGER_NET_COUNT];
};

/*
 * Finds the fingers of scene's shot. A finger's why: SH_WHY_NO_CHANNEL; the draw start's
 * reason; SH_WHY_TOO_SHORT: under 0.25 s before it; SH_WHY_GAP or SH_WHY_CLIPPED: no such piece
 * is free of that. Uses scratch[0]. Cost: O(samples before the draw).
 * Test: tests/measure/test_finger_net.c.
 */
void sh_finger_net_find(const struct sh_scene *scene, struct sh_finger_net *out);

/* Samples of a finger with from_s <= t < until_s; as sh_span_find, and SH_WHY_UNRESOLVED where
 * they are more than the workspace takes, or the finger's own reason. */
struct sh_span sh_finger_net_span(const struct sh_scene *scene,
                                  const struct sh_finger_channel *finger,
                                  double from_s,
                                  double until_s);

/* Copies the net force of a usable span into net_n[span->n]. */
void sh_finger_net_copy(const struct sh_finger_channel *finger,
                        const struct sh_span *span,
                        double *net_n);

/* Standard uncertainty of a net force that is a mean of n samples under load: noise, rest,
 * calibration, load drift. */
double sh_finger_net_u(const struct sh_finger_channel *finger, double net_n, double n);

/*
 * Standard uncertainty of what the load drift left at t_s, as a ratio of the force that has
 * stood since half way through the draw; signed, so that two times can be compared. 0 without a
 * load drift.
 */
double sh_finger_net_drift_u_ratio(const struct sh_finger_channel *finger, double t_s);

#endif
