/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_fronts.h"

void sh_capture_fronts_say(const struct sh_capture_fronts *fronts, const char *text)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->say != NULL) {
            front->say(front->context, text);
        }
    }
}

void sh_capture_fronts_ring(const struct sh_capture_fronts *fronts)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->ring != NULL) {
            front->ring(front->context);
        }
    }
}

void sh_capture_fronts_signal(const struct sh_capture_fronts *fronts,
                              unsigned n_strokes,
                              bool is_before_draws)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->signal != NULL) {
            front->signal(front->context, n_strokes, is_before_draws);
        }
    }
}

void sh_capture_fronts_begin(const struct sh_capture_fronts *fronts,
                             const struct sh_capture_recording *recording)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->begin != NULL) {
            front->begin(front->context, recording);
        }
    }
}

void sh_capture_fronts_block(const struct sh_capture_fronts *fronts,
                             const struct sh_block *block,
                             const struct sh_clocks *clocks)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->block != NULL) {
            front->block(front->context, block, clocks);
        }
    }
}

void sh_capture_fronts_shot(const struct sh_capture_fronts *fronts,
                            const struct sh_shot_record *record,
                            const struct sh_shot_view *view)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->shot != NULL) {
            front->shot(front->context, record, view);
        }
    }
}

void sh_capture_fronts_mark(const struct sh_capture_fronts *fronts, const struct sh_mark *mark)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->mark != NULL) {
            front->mark(front->context, mark);
        }
    }
}

enum sh_status sh_capture_fronts_end(const struct sh_capture_fronts *fronts,
                                     const struct sh_capture_recording *recording,
                                     struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->end != NULL) {
            enum sh_status ended =
                front->end(front->context, recording, status == SH_OK ? err : NULL);
            status = status != SH_OK ? status : ended;
        }
    }
    return status;
}

void sh_capture_fronts_idle(const struct sh_capture_fronts *fronts,
                            const struct sh_session *session,
                            const struct sh_error *why)
{
    for (size_t i = 0; i < fronts->n; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        if (front->idle != NULL) {
            front->idle(front->context, session, why);
        }
    }
}

enum sh_status sh_capture_fronts_step(const struct sh_capture_fronts *fronts,
                                      struct sh_capture *capture,
                                      struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < fronts->n && status == SH_OK; i++) {
        const struct sh_capture_front *front = &fronts->front[i];
        status = front->step != NULL ? front->step(front->context, capture, err) : SH_OK;
    }
    return status;
}
