/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/window.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define FRAME_MAX ((uint64_t)1 << 53) /* doubles count frames exactly up to here */

enum sh_status sh_window_open(struct sh_window *window,
                              const struct sh_stream *stream,
                              enum sh_timebase_reading reading,
                              struct sh_error *err)
{
    *window = (struct sh_window){.stream = *stream, .reading = reading};
    enum sh_status status = sh_timebase_init(&window->timebase, stream->rate_hz,
                                             stream->offset_s, stream->offset_u_s);
    if (status != SH_OK) {
        return sh_error_set(err, status, stream->name, "give rate and offset of the stream",
                            "its clock makes no sense");
    }
    status = sh_history_open(stream->n_channels, stream->rate_hz, &window->history, err);
    if (status != SH_OK) {
        return status;
    }
    window->time_s = calloc(sh_history_get_capacity(window->history), sizeof *window->time_s);
    if (window->time_s == NULL) {
        sh_window_close(window);
        return sh_error_set(err, SH_ERR_MEMORY, stream->name, NULL, "no memory for its times");
    }
    return SH_OK;
}

void sh_window_close(struct sh_window *window)
{
    sh_history_close(&window->history);
    sh_timebase_close(&window->timebase);
    free(window->time_s);
    window->time_s = NULL;
}

enum sh_status sh_window_reset(struct sh_window *window)
{
    sh_history_reset(window->history, 0);
    memset(window->drift, 0, sizeof window->drift);
    sh_timebase_close(&window->timebase);
    return sh_timebase_init(&window->timebase, window->stream.rate_hz, window->stream.offset_s,
                            window->stream.offset_u_s);
}

double sh_window_get_time_s(const struct sh_window *window, uint64_t frame, double *u_s)
{
    return sh_timebase_time(&window->timebase, window->reading, (double)frame, u_s);
}

/* The first frame of low .. high at or after time_s; high itself is, and times only rise. */
static uint64_t
halve(const struct sh_window *window, uint64_t low, uint64_t high, double time_s)
{
    while (low < high) {
        const uint64_t middle = low + (high - low) / 2;
        if (sh_window_get_time_s(window, middle, NULL) >= time_s) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

uint64_t sh_window_find_frame(const struct sh_window *window, double time_s)
{
    const struct sh_timebase *timebase = &window->timebase;
    /* from anchor to anchor: at one the times may step */
    const size_t k = sh_timebase_find_anchor(timebase, window->reading, time_s);
    const uint64_t low = k > 1 ? timebase->anchors[k - 1].frame : 0;
    const uint64_t high = k < timebase->n_anchors ? timebase->anchors[k].frame - 1 : FRAME_MAX;
    return halve(window, low, high, time_s);
}

bool sh_window_has_reached(const struct sh_window *window, double time_s)
{
    return sh_window_find_frame(window, time_s) < sh_history_get_next(window->history);
}

void sh_window_cut(struct sh_window *window,
                   uint64_t first,
                   uint64_t end,
                   struct sh_shot_stream *out)
{
    struct sh_history_span span;
    sh_history_get_span(window->history, first, end, &span);
    *out = (struct sh_shot_stream){.stream = &window->stream,
                                   .first_frame = span.first_frame,
                                   .n_frames = span.n_frames,
                                   .time_s = window->time_s,
                                   .timebase = &window->timebase,
                                   .reading = window->reading,
                                   .flags = span.flags};
    for (size_t c = 0; c < window->stream.n_channels; c++) {
        out->value[c] = span.value[c];
        out->rest_n[c] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
    sh_timebase_fill(&window->timebase, window->reading, span.first_frame, span.n_frames,
                     window->time_s, &out->time_u_s);
}

void sh_window_trim(struct sh_shot_stream *piece, size_t n)
{
    assert(n <= piece->n_frames);
    piece->first_frame += n;
    piece->n_frames -= n;
    piece->time_s += n;
    if (piece->n_frames == 0) {
        return; /* nothing is lent, and NULL stays NULL */
    }
    piece->flags += n;
    for (size_t c = 0; c < piece->stream->n_channels; c++) {
        piece->value[c] += n;
    }
}
