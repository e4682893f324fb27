/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/lanes.h"

#include <stdlib.h>

#include "shot/force_choice.h"

/* The acceleration channels of a stream; how many. */
static size_t list_axes(const struct sh_stream *stream, size_t *axis)
{
    size_t n = 0;
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (stream->channel[c].role == SH_ROLE_BOW_ACCELERATION) {
            axis[n++] = c;
        }
    }
    return n;
}

static void find_bow(struct sh_lanes *lanes)
{
    for (size_t s = 0; s < lanes->n && !lanes->has_bow; s++) {
        lanes->n_axes = list_axes(&lanes->window[s].stream, lanes->axis);
        lanes->has_bow = lanes->n_axes > 0;
        lanes->bow = s;
    }
}

enum sh_status sh_lanes_open(struct sh_lanes *lanes,
                             const struct sh_stream *const *stream,
                             size_t n,
                             enum sh_timebase_reading reading,
                             struct sh_error *err)
{
    *lanes = (struct sh_lanes){.n = n};
    for (size_t s = 0; s < n; s++) {
        const enum sh_status status =
            sh_window_open(&lanes->window[s], stream[s], reading, err);
        if (status != SH_OK) {
            sh_lanes_close(lanes);
            return status;
        }
        const size_t n_frames = sh_history_get_capacity(lanes->window[s].history);
        lanes->n_frames_max = n_frames > lanes->n_frames_max ? n_frames : lanes->n_frames_max;
    }
    sh_force_choice_make(stream, n, &lanes->force);
    find_bow(lanes);
    lanes->leader = lanes->force.is_present ? lanes->force.stream : lanes->bow;
    if (!lanes->force.is_present) {
        return SH_OK;
    }
    lanes->net_n = calloc(sh_history_get_capacity(lanes->window[lanes->force.stream].history),
                          sizeof *lanes->net_n);
    if (lanes->net_n == NULL) {
        sh_lanes_close(lanes);
        return sh_error_set(err, SH_ERR_MEMORY, "segmenter", NULL, "no memory for a draw");
    }
    return SH_OK;
}

void sh_lanes_close(struct sh_lanes *lanes)
{
    for (size_t s = 0; s < lanes->n; s++) {
        sh_window_close(&lanes->window[s]);
    }
    free(lanes->net_n);
    lanes->net_n = NULL;
    lanes->n = 0;
}

void sh_lanes_reset(struct sh_lanes *lanes)
{
    for (size_t s = 0; s < lanes->n; s++) {
        sh_window_reset(&lanes->window[s]);
    }
}

const struct sh_window *sh_lanes_get_leader(const struct sh_lanes *lanes)
{
    return &lanes->window[lanes->leader];
}

bool sh_lanes_have_reached(const struct sh_lanes *lanes, double time_s)
{
    for (size_t s = 0; s < lanes->n; s++) {
        if (!sh_window_has_reached(&lanes->window[s], time_s)) {
            return false;
        }
    }
    return true;
}

void sh_lanes_cut(struct sh_lanes *lanes,
                  double from_s,
                  double until_s,
                  struct sh_shot_view *view)
{
    *view = (struct sh_shot_view){.n_streams = lanes->n, .force = lanes->force};
    for (size_t s = 0; s < view->n_streams; s++) {
        struct sh_window *window = &lanes->window[s];
        sh_window_cut(window, sh_window_find_frame(window, from_s),
                      sh_window_find_frame(window, until_s), &view->stream[s]);
    }
    struct sh_shot_force *force = &view->force;
    if (!force->is_present) {
        return;
    }
    const struct sh_shot_stream *stream = &view->stream[force->stream];
    force->n_frames = stream->n_frames;
    force->net_n = lanes->net_n;
    for (size_t i = 0; i < stream->n_frames; i++) {
        double sum_n = 0.0;
        for (size_t k = 0; k < force->n_channels; k++) {
            sum_n += stream->value[force->channel[k]][i];
        }
        lanes->net_n[i] = sum_n;
    }
}

void sh_lanes_trim(const struct sh_lanes *lanes, double from_s, struct sh_shot_view *view)
{
    for (size_t s = 0; s < view->n_streams; s++) {
        struct sh_shot_stream *stream = &view->stream[s];
        const uint64_t first = sh_window_find_frame(&lanes->window[s], from_s);
        uint64_t n = first > stream->first_frame ? first - stream->first_frame : 0;
        n = n < stream->n_frames ? n : stream->n_frames;
        sh_window_trim(stream, (size_t)n);
        if (view->force.is_present && s == view->force.stream) {
            view->force.net_n += n;
            view->force.n_frames -= (size_t)n;
        }
    }
}
