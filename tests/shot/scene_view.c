/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene_view.h"

#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

void scene_view_open(struct scene_view *out,
                     const struct scene *scene,
                     const struct scene_sampling *how,
                     double rest_n)
{
    *out = (struct scene_view){.stream = {.rate_hz = how->rate_hz, .n_channels = 1}};
    out->stream.channel[0] = (struct sh_channel){
        .role = SH_ROLE_STRING_FORCE, .is_physical = true, .scale_u = 0.003};
    out->force_n = scene_sample(scene, how, &out->n);
    out->net_n = calloc(out->n, sizeof *out->net_n);
    out->time_s = calloc(out->n, sizeof *out->time_s);
    out->flags = calloc(out->n, 1);
    assert_non_null(out->net_n);
    assert_non_null(out->time_s);
    assert_non_null(out->flags);
    for (size_t i = 0; i < out->n; i++) {
        out->force_n[i] += rest_n;
        out->time_s[i] = SCENE_VIEW_T0_S + scene_time_s(how, (double)i);
    }
    memcpy(out->net_n, out->force_n, out->n * sizeof *out->net_n);
    out->view = (struct sh_shot_view){.n_streams = 1};
    out->view.stream[0] = (struct sh_shot_stream){.stream = &out->stream,
                                                  .n_frames = out->n,
                                                  .time_s = out->time_s,
                                                  .value = {out->force_n},
                                                  .flags = out->flags};
    out->view.force = (struct sh_shot_force){.is_present = true,
                                             .n_channels = 1,
                                             .rate_hz = how->rate_hz,
                                             .n_frames = out->n,
                                             .net_n = out->net_n,
                                             .time_u_s = 0.0002};
}

void scene_view_close(struct scene_view *view)
{
    free(view->force_n);
    free(view->net_n);
    free(view->time_s);
    free(view->flags);
}
