/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/measure.h"

#include "measure/bow_ring.h"
#include "measure/clock_time.h"
#include "measure/creep.h"
#include "measure/finger_excess.h"
#include "measure/finger_load.h"
#include "measure/finger_net.h"
#include "measure/finger_release.h"
#include "measure/finger_share.h"
#include "measure/finger_sum.h"
#include "measure/flinch.h"
#include "measure/hold.h"
#include "measure/scene.h"
#include "measure/tremor.h"

enum sh_status sh_measure_shot(struct sh_workspace *workspace,
                               const struct sh_measure_context *context,
                               const struct sh_shot *shot,
                               const struct sh_shot_view *view,
                               struct sh_measures *out)
{
    if (!sh_scene_is_for(workspace, view)) {
        return SH_ERR_ARGUMENT;
    }
    struct sh_finger_net net;
    struct sh_scene scene = {.shot = shot,
                             .view = view,
                             .bow = context->bow,
                             .marks = context->marks,
                             .n_marks = context->n_marks,
                             .previous_release_s = context->previous_release_s,
                             .previous_share = context->previous_share,
                             .workspace = workspace};
    *out = (struct sh_measures){.vibration_clipped = SH_ANSWER_UNKNOWN};
    sh_clock_time_measure(&scene, out);
    sh_tremor_measure(&scene, out);
    sh_hold_measure(&scene, out);
    sh_creep_measure(&scene, out);
    sh_flinch_measure(&scene, out);
    sh_bow_ring_measure(&scene, out);
    sh_finger_net_find(&scene, &net);
    sh_finger_share_measure(&scene, &net, out);
    sh_finger_load_measure(&scene, &net, out);
    sh_finger_release_measure(&scene, &net, out);
    sh_finger_sum_measure(&scene, &net, out);
    if (view->force.is_finger_sum) {
        sh_finger_excess_place(out);
    }
    return SH_OK;
}
