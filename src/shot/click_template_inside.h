/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_CLICK_TEMPLATE_INSIDE_H
#define SH_SHOT_CLICK_TEMPLATE_INSIDE_H

#include <stdbool.h>
#include <stddef.h>

#include "shot/click_template.h"
#include "shot/high_pass.h"
#include "shot/match.h"

#define SH_CLICK_TEMPLATE_WEAKEST 2.5758 /* standard deviations: 99.5 % are stronger */

/*
 * What click_template.c (learning) and click_template_refine.c (looking again) share. Not for
 * others.
 */

struct click {
    double shape[SH_CLICK_TEMPLATE_AXES_MAX * SH_CLICK_TEMPLATE_FRAMES_MAX];
    double norm;
    double arrival; /* frames from its start, to a fraction */
    bool is_used;
};

struct sh_click_template {
    enum sh_clicker_sensor sensor; /* acceleration or sound, as the first blow kept */
    size_t n_asked;                /* shots that were looked at while there was room */
    size_t stream;
    size_t n_axes;
    size_t axis[SH_CLICK_TEMPLATE_AXES_MAX];
    double rate_hz;
    size_t n_frames; /* of a blow, each axis */
    size_t n_before; /* of them before its arrival */
    size_t n_clicks;
    struct click click[SH_CLICK_TEMPLATE_CLICKS_MAX];
    size_t n_used;
    double shape[SH_CLICK_TEMPLATE_AXES_MAX * SH_CLICK_TEMPLATE_FRAMES_MAX]; /* length 1 */
    double arrival; /* frames from the shape's start to the blow's mean arrival */
    double arrival_u;
    double log_mean; /* of the amounts of the blows it rests on */
    double log_sd;
};

/* The bow's axes of a view, or its microphones, as a filter over nothing yet; false where there
 * are none. */
bool sh_click_template_find_axes(const struct sh_shot_view *view,
                                 enum sh_clicker_sensor sensor,
                                 size_t *stream,
                                 struct sh_high_pass *pass);

/* How its shape is compared with others. */
struct sh_match sh_click_template_get_match(const struct sh_click_template *click);

#endif
