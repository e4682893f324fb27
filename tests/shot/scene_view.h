/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SHOT_SCENE_VIEW_H
#define SH_TESTS_SHOT_SCENE_VIEW_H

#include "scene.h"
#include "shot/shot.h"

/*
 * A view of one stream with one string force, made of a sampled scene plus a level at rest.
 * Its clock reads SCENE_VIEW_T0_S at the plan's 0.
 */
#define SCENE_VIEW_T0_S 100.0

struct scene_view {
    struct sh_stream stream;
    size_t n;
    double *force_n; /* with the level at rest */
    double *net_n;   /* the same again, for the events to work on */
    double *time_s;
    unsigned char *flags;
    struct sh_shot_view view;
};

/* Opens and closes it. */
void scene_view_open(struct scene_view *out,
                     const struct scene *scene,
                     const struct scene_sampling *how,
                     double rest_n);
void scene_view_close(struct scene_view *view);

#endif
