/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/click_learner.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "shot/history.h"

#define WORK_ARRAYS 2u /* what learning needs of the longest view */

/* Does a stream feel the bow, or hear it? */
static bool has_blow(const struct sh_stream *stream)
{
    for (size_t c = 0; c < stream->n_channels; c++) {
        const enum sh_role role = stream->channel[c].role;
        if (role == SH_ROLE_BOW_ACCELERATION || role == SH_ROLE_SOUND) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_click_learner_open(struct sh_click_learner *learner,
                                     const struct sh_session *session,
                                     struct sh_error *err)
{
    double rate_hz = 0.0;
    *learner = (struct sh_click_learner){.click = NULL};
    for (size_t s = 0; s < session->n_streams; s++) {
        const struct sh_stream *stream = &session->streams[s].stream;
        rate_hz = has_blow(stream) ? fmax(rate_hz, stream->rate_hz) : rate_hz;
    }
    if (!(rate_hz > 0.0)) {
        return SH_OK;
    }
    const size_t n_frames = (size_t)ceil(SH_HISTORY_SPAN_S * rate_hz) + 1u;
    learner->work = calloc(WORK_ARRAYS * n_frames, sizeof *learner->work);
    if (learner->work == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    return sh_click_template_open(&learner->click, err);
}

void sh_click_learner_close(struct sh_click_learner *learner)
{
    sh_click_template_close(&learner->click);
    free(learner->work);
    learner->work = NULL;
}

void sh_click_learner_learn(struct sh_click_learner *learner,
                            const struct sh_shot_view *view,
                            const struct sh_shot *shot)
{
    if (learner->click != NULL) {
        sh_click_template_learn(learner->click, view, shot, learner->work);
    }
}

const struct sh_click_template *sh_click_learner_finish(struct sh_click_learner *learner)
{
    if (learner->click == NULL) {
        return NULL;
    }
    sh_click_template_finish(learner->click);
    return sh_click_template_get_count(learner->click) > 0 ? learner->click : NULL;
}
