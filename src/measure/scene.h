/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_SCENE_H
#define SH_MEASURE_SCENE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "measure/span.h"
#include "measure/workspace.h"
#include "recording/session.h"
#include "shot/shot.h"

/*
 * What the families of measures share while one shot is measured: the shot, its samples, the
 * bow, the workspace, and the rules by which uncertainties are put together (JCGM 100:2008,
 * 5.1.2; sensitivities to event times by differences, 5.1.3 note 2). All borrowed.
 * Nothing here touches the heap. Test: tests/measure/test_scene.c.
 */
struct sh_scene {
    const struct sh_shot *shot;
    const struct sh_shot_view *view;
    const struct sh_bow *bow;    /* NULL: nothing known of the bow */
    const struct sh_mark *marks; /* [n_marks], any order */
    size_t n_marks;
    struct sh_quantity previous_release_s; /* unknown: none before, or not known */
    struct sh_event_share previous_share;
    struct sh_workspace *workspace;
};

/* Whether the view's streams are those that the workspace was opened for: number and rates. */
bool sh_scene_is_for(const struct sh_workspace *workspace, const struct sh_shot_view *view);

/*
 * An event's time; of a let-down, clicker and release do not apply. Unknown with the event's
 * own reason (SH_WHY_NOT_SEEN where it gives none).
 */
struct sh_quantity sh_scene_event(const struct sh_scene *scene, enum sh_event event);

/* c of the definitions: the clicker, or the release where no clicker was seen. */
struct sh_quantity sh_scene_click_or_release(const struct sh_scene *scene);

/*
 * later - earlier, whose errors are apart from each other. Where one has an interval, so has
 * the difference: distances to the limits add as root of squares.
 */
struct sh_quantity sh_scene_difference(const struct sh_quantity *later,
                                       const struct sh_quantity *earlier);

/*
 * The time between two events. What their errors have in common cancels: of one channel's delay
 * nothing is left, of one clock what it gains or loses between them
 * (sh_timebase_get_difference_u_s). Unknown with the reason of the earlier, else the later.
 */
struct sh_quantity
sh_scene_between(const struct sh_scene *scene, enum sh_event later, enum sh_event earlier);

/* The time from the release before to an event of this shot, in the same way. */
struct sh_quantity sh_scene_since_previous(const struct sh_scene *scene, enum sh_event later);

/*
 * An event as sh_scene_event, but its uncertainty (and interval) is that of its place among the
 * samples of the force: what an event of the force shares with them is left out, what another
 * stream's event does not share with them is added.
 */
struct sh_quantity sh_scene_event_in_force(const struct sh_scene *scene, enum sh_event event);

/* c of the definitions in the same way. */
struct sh_quantity sh_scene_c_in_force(const struct sh_scene *scene);

/*
 * Where a window ends that is to end at the release. A sample may be the mean over a whole
 * period, and the release itself is not known to a sample: a window that took a sample of the
 * fall would be off by many times its noise. So it ends half a period and the lower 95 %
 * limit's distance before the release. That way, and the up to 3 ms that the fall itself takes
 * to the release's tenth, are added to the uncertainty.
 */
struct sh_quantity sh_scene_release_in_force(const struct sh_scene *scene);

/* c in the same way: sh_scene_c_in_force, where the clicker stands for it. */
struct sh_quantity sh_scene_last_c_in_force(const struct sh_scene *scene);

/* Standard uncertainty, from white noise, of a mean of the force over window_s. */
double sh_scene_get_mean_noise(const struct sh_scene *scene, double window_s);

/*
 * Samples of the force with from_s <= t < until_s. SH_WHY_NO_CHANNEL: no force; reasons of
 * sh_span_find; SH_WHY_UNRESOLVED: more samples than the workspace takes.
 */
struct sh_span sh_scene_force_span(const struct sh_scene *scene, double from_s, double until_s);

/* Frames of a window of window_s of the force; 0 where it is under half a sample. */
size_t sh_scene_force_window(const struct sh_scene *scene, double window_s);

/*
 * Mean, and median, of the force with from_s <= t < until_s. SH_WHY_KNOWN and *value_n, or the
 * reason. The median uses scratch[0].
 */
enum sh_why sh_scene_force_mean(const struct sh_scene *scene,
                                double from_s,
                                double until_s,
                                double *value_n);
enum sh_why sh_scene_force_median(const struct sh_scene *scene,
                                  double from_s,
                                  double until_s,
                                  double *value_n);

/*
 * Standard uncertainty of that median from white noise s alone: s sqrt(2 / (sqrt(pi) m)), m
 * being the samples within s of the median; 0 where there is no median. The variance of a
 * sample quantile is the sum of p (1 - p) over the square of the sum of densities, p the chance
 * that a sample lies below (David & Nagaraja 2003, sec. 2.5 and 5.3); noise that is small
 * against how the force itself spreads makes the sums m s / sqrt(pi) and m / (2 s), and for
 * noise alone the same comes out to 3 %. At most s. Uses scratch[0].
 */
double sh_scene_get_median_noise(const struct sh_scene *scene, double from_s, double until_s);

/* A figure that rests on the force between two events. */
struct sh_scene_probe {
    enum sh_why (*evaluate)(const struct sh_scene *scene, const double at_s[2], double *value);
    struct sh_quantity at[2]; /* the events, in order */
    bool is_bound;            /* the second may only be earlier: behind it lies the release */
};

/*
 * Works the figure out and what the uncertainty of the two events makes of it (u holds that
 * part alone). Unknown: no force, an event unknown, or evaluate's reason. Where a shifted
 * window no longer fits, the change to the other side stands for it. Cost: 5 evaluations.
 */
struct sh_quantity sh_scene_run_probe(const struct sh_scene *scene,
                                      const struct sh_scene_probe *probe);

/*
 * Adds to a known figure in N: noise_n (standard uncertainty from noise), the calibration's
 * share of the figure, and, of a level, that of the rest level. Where the sum of the fingers
 * stands in for the string, the view's scale_u_ratio holds what it is too large by.
 */
void sh_scene_add_force_u(const struct sh_scene *scene,
                          struct sh_quantity *figure,
                          double noise_n,
                          bool is_level);

/* Relative standard uncertainty of a channel's calibration at a value of it. */
double sh_scene_get_channel_u_ratio(const struct sh_channel *channel, double value);

/*
 * A length from a force: figure_n / the bow's stiffness, with its uncertainty and interval.
 * SH_WHY_NOT_GIVEN: no stiffness.
 */
struct sh_quantity sh_scene_get_length(const struct sh_scene *scene,
                                       const struct sh_quantity *figure_n);

/* Adds a standard uncertainty to that of a figure, root of squares, and to its interval if it
 * has one. */
void sh_scene_add_u(struct sh_quantity *figure, double u);

#endif
