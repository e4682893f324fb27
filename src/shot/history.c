/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/history.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct sh_history {
    size_t n_channels;
    size_t capacity; /* frames kept */
    size_t room;     /* frames of memory: half as many again */
    size_t n_held;   /* frames in memory, from begin on */
    size_t begin;    /* place of the oldest frame */
    uint64_t next_frame;
    double *value; /* [n_channels][room] */
    unsigned char *flags;
};

static enum sh_status check_size(size_t n_channels, double rate_hz, struct sh_error *err)
{
    if (n_channels == 0 || n_channels > SH_STREAM_CHANNELS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "history", "give 1 to 16 channels",
                            "%zu channels", n_channels);
    }
    if (!(rate_hz > 0.0) || !isfinite(rate_hz)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "history", "give a rate in Hz, above 0",
                            "the sample rate is %g", rate_hz);
    }
    const double frame_bytes = (double)n_channels * (double)sizeof(double) + 1.0;
    const double bytes = 1.5 * (SH_HISTORY_SPAN_S * rate_hz + 2.0) * frame_bytes;
    if (bytes > (double)SH_HISTORY_BYTES_MAX) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, "history",
                            "record fewer channels or at a lower rate",
                            "%zu channels at %g Hz need too much memory", n_channels, rate_hz);
    }
    return SH_OK;
}

enum sh_status sh_history_open(size_t n_channels,
                               double rate_hz,
                               struct sh_history **out,
                               struct sh_error *err)
{
    const enum sh_status status = check_size(n_channels, rate_hz, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_history *history = calloc(1, sizeof *history);
    if (history == NULL) {
        goto out;
    }
    history->n_channels = n_channels;
    history->capacity = (size_t)ceil(SH_HISTORY_SPAN_S * rate_hz);
    history->room = history->capacity + (history->capacity + 1) / 2;
    history->value = calloc(n_channels * history->room, sizeof *history->value);
    history->flags = calloc(history->room, sizeof *history->flags);
    if (history->value == NULL || history->flags == NULL) {
        goto out;
    }
    *out = history;
    return SH_OK;
out:
    sh_history_close(&history);
    return sh_error_set(err, SH_ERR_MEMORY, "history", NULL, "no memory for the last minute");
}

void sh_history_close(struct sh_history **history)
{
    if (history == NULL || *history == NULL) {
        return;
    }
    free((*history)->value);
    free((*history)->flags);
    free(*history);
    *history = NULL;
}

void sh_history_reset(struct sh_history *history, uint64_t first_frame)
{
    history->n_held = 0;
    history->begin = 0;
    history->next_frame = first_frame;
}

/* Moves the frames that are kept to the front of the memory. */
static void move_together(struct sh_history *history)
{
    for (size_t c = 0; c < history->n_channels; c++) {
        double *value = history->value + c * history->room;
        memmove(value, value + history->begin, history->n_held * sizeof *value);
    }
    memmove(history->flags, history->flags + history->begin, history->n_held);
    history->begin = 0;
}

void sh_history_push(struct sh_history *history, const double *value, unsigned char flags)
{
    if (history->n_held == history->capacity) {
        history->begin++;
        history->n_held--;
    }
    if (history->begin + history->n_held == history->room) {
        move_together(history);
    }
    const size_t at = history->begin + history->n_held;
    for (size_t c = 0; c < history->n_channels; c++) {
        history->value[c * history->room + at] = value[c];
    }
    history->flags[at] = flags;
    history->n_held++;
    history->next_frame++;
}

void sh_history_mend(struct sh_history *history, uint64_t frame, const double *value)
{
    const uint64_t oldest = sh_history_get_first(history);
    assert(frame >= oldest && frame < history->next_frame);
    const size_t at = history->begin + (size_t)(frame - oldest);
    for (size_t c = 0; c < history->n_channels; c++) {
        history->value[c * history->room + at] = value[c];
    }
}

uint64_t sh_history_get_first(const struct sh_history *history)
{
    return history->next_frame - history->n_held;
}

uint64_t sh_history_get_next(const struct sh_history *history)
{
    return history->next_frame;
}

size_t sh_history_get_capacity(const struct sh_history *history)
{
    return history->capacity;
}

void sh_history_get_span(const struct sh_history *history,
                         uint64_t first,
                         uint64_t end,
                         struct sh_history_span *out)
{
    const uint64_t oldest = sh_history_get_first(history);
    if (first < oldest) {
        first = oldest;
    }
    if (end > history->next_frame) {
        end = history->next_frame;
    }
    if (end < first) {
        end = first;
    }
    *out = (struct sh_history_span){.first_frame = first, .n_frames = (size_t)(end - first)};
    if (out->n_frames == 0) {
        return; /* first may lie beyond the memory: lend nothing */
    }
    const size_t at = history->begin + (size_t)(first - oldest);
    for (size_t c = 0; c < history->n_channels; c++) {
        out->value[c] = history->value + c * history->room + at;
    }
    out->flags = history->flags + at;
}
