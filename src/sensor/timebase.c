/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/timebase.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define FIRST_CAPACITY 16u

/* A straight piece of the time axis: time_s at frame, and the seconds a frame takes. */
struct piece {
    double frame;
    double time_s;
    double frame_s;
    double u_s;      /* of time_s */
    double n_frames; /* from the other anchor that gives the slope, below 0 where that is the
                        later one; 0: it is nominal */
    double previous_u_s; /* of the other */
};

enum sh_status sh_timebase_init(struct sh_timebase *timebase,
                                double rate_hz,
                                double offset_s,
                                double offset_u_s)
{
    if (!(rate_hz > 0.0) || !isfinite(rate_hz) || !isfinite(offset_s) || !(offset_u_s >= 0.0)) {
        return SH_ERR_ARGUMENT;
    }
    *timebase = (struct sh_timebase){
        .rate_hz = rate_hz, .offset_s = offset_s, .offset_u_s = offset_u_s};
    return SH_OK;
}

void sh_timebase_close(struct sh_timebase *timebase)
{
    free(timebase->anchors);
    timebase->anchors = NULL;
    timebase->n_anchors = 0;
    timebase->capacity = 0;
}

static enum sh_status grow(struct sh_timebase *timebase)
{
    if (timebase->n_anchors >= SH_TIMEBASE_ANCHORS_MAX) {
        return SH_ERR_FULL;
    }
    if (timebase->n_anchors < timebase->capacity) {
        return SH_OK;
    }
    size_t capacity = timebase->capacity != 0 ? 2 * timebase->capacity : FIRST_CAPACITY;
    struct sh_anchor *grown = realloc(timebase->anchors, capacity * sizeof *grown);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    timebase->anchors = grown;
    timebase->capacity = capacity;
    return SH_OK;
}

enum sh_status sh_timebase_append(struct sh_timebase *timebase, const struct sh_anchor *anchor)
{
    if (!isfinite(anchor->time_s) || !(anchor->u_s >= 0.0) || !isfinite(anchor->u_s)) {
        return SH_ERR_ARGUMENT;
    }
    if (timebase->n_anchors > 0) {
        const struct sh_anchor *last = &timebase->anchors[timebase->n_anchors - 1];
        if (anchor->frame <= last->frame || anchor->time_s <= last->time_s) {
            return SH_ERR_ARGUMENT;
        }
    }
    enum sh_status status = grow(timebase);
    if (status == SH_OK) {
        timebase->anchors[timebase->n_anchors++] = *anchor;
    }
    return status;
}

static double frame_s_between(const struct sh_anchor *from, const struct sh_anchor *to)
{
    return (to->time_s - from->time_s) / (double)(to->frame - from->frame);
}

/* The piece that starts at anchor k, read forward: its slope comes from the anchor before. */
static struct piece forward_piece(const struct sh_timebase *timebase, size_t k)
{
    const struct sh_anchor *anchor = &timebase->anchors[k];
    struct piece piece = {.frame = (double)anchor->frame,
                          .time_s = anchor->time_s,
                          .frame_s = 1.0 / timebase->rate_hz,
                          .u_s = anchor->u_s};
    if (k > 0) {
        piece.frame_s = frame_s_between(anchor - 1, anchor);
        piece.n_frames = (double)(anchor->frame - anchor[-1].frame);
        piece.previous_u_s = anchor[-1].u_s;
    }
    return piece;
}

static struct piece
piece_at(const struct sh_timebase *timebase, enum sh_timebase_reading reading, size_t k)
{
    struct piece piece = forward_piece(timebase, k);
    if (reading == SH_TIMEBASE_BETWEEN && k + 1 < timebase->n_anchors) {
        const struct sh_anchor *anchor = &timebase->anchors[k];
        piece.frame_s = frame_s_between(anchor, anchor + 1);
        piece.n_frames = -(double)(anchor[1].frame - anchor->frame);
        piece.previous_u_s = anchor[1].u_s;
    }
    return piece;
}

/* Last anchor at or before the frame, or the first. */
static size_t find_by_frame(const struct sh_timebase *timebase, double frame)
{
    size_t low = 0;
    size_t high = timebase->n_anchors;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if ((double)timebase->anchors[middle].frame <= frame) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

static size_t find_by_time(const struct sh_timebase *timebase, double time_s)
{
    size_t low = 0;
    size_t high = timebase->n_anchors;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (timebase->anchors[middle].time_s <= time_s) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

/* A piece that goes on from two anchors inherits the errors of both, the further the more; of
 * a piece between two, each counts as far as the other is away. */
static double get_u_s(const struct piece *piece, double frame)
{
    if (fabs(piece->n_frames) <= 0.0) {
        return piece->u_s;
    }
    const double reach = (frame - piece->frame) / piece->n_frames;
    return hypot((1.0 + reach) * piece->u_s, reach * piece->previous_u_s);
}

static double get_piece_time_s(const struct piece *piece, double frame)
{
    return piece->time_s + (frame - piece->frame) * piece->frame_s;
}

double sh_timebase_time(const struct sh_timebase *timebase,
                        enum sh_timebase_reading reading,
                        double frame,
                        double *u_s)
{
    struct piece piece = {.time_s = timebase->offset_s,
                          .frame_s = 1.0 / timebase->rate_hz,
                          .u_s = timebase->offset_u_s};
    if (timebase->n_anchors > 0) {
        piece = piece_at(timebase, reading, find_by_frame(timebase, frame));
    }
    if (u_s != NULL) {
        *u_s = get_u_s(&piece, frame);
    }
    if (timebase->n_anchors == 0) {
        return timebase->offset_s + frame / timebase->rate_hz;
    }
    return get_piece_time_s(&piece, frame);
}

void sh_timebase_fill(const struct sh_timebase *timebase,
                      enum sh_timebase_reading reading,
                      uint64_t first,
                      size_t n,
                      double *time_s,
                      double *u_s)
{
    if (n > 0) {
        (void)sh_timebase_time(timebase, reading, (double)(first + n - 1), u_s);
    }
    size_t i = 0;
    for (; timebase->n_anchors == 0 && i < n; i++) {
        time_s[i] = timebase->offset_s + (double)(first + i) / timebase->rate_hz;
    }
    while (i < n) {
        const size_t k = find_by_frame(timebase, (double)(first + i));
        const struct piece piece = piece_at(timebase, reading, k);
        size_t end = n;
        if (k + 1 < timebase->n_anchors && timebase->anchors[k + 1].frame - first < n) {
            end = (size_t)(timebase->anchors[k + 1].frame - first);
        }
        for (; i < end; i++) {
            time_s[i] = get_piece_time_s(&piece, (double)(first + i));
        }
    }
}

size_t sh_timebase_find_anchor(const struct sh_timebase *timebase,
                               enum sh_timebase_reading reading,
                               double time_s)
{
    size_t k = 1;
    while (k < timebase->n_anchors) {
        const struct piece piece = piece_at(timebase, reading, k - 1);
        if (get_piece_time_s(&piece, (double)(timebase->anchors[k].frame - 1)) >= time_s) {
            return k;
        }
        k++;
    }
    return timebase->n_anchors;
}

/* A time as the sum of two anchors, each with its weight; of a lone one the other weighs 0. */
struct mixture {
    size_t first;
    size_t second;
    double first_weight;
    double second_weight;
};

static struct mixture
mix(const struct sh_timebase *timebase, enum sh_timebase_reading reading, double frame)
{
    const size_t k = find_by_frame(timebase, frame);
    const bool is_between = reading == SH_TIMEBASE_BETWEEN && k + 1 < timebase->n_anchors;
    if (!is_between && k == 0) {
        return (struct mixture){.first = k, .second = k, .first_weight = 1.0};
    }
    const size_t first = is_between ? k : k - 1;
    const double from = (double)timebase->anchors[first].frame;
    const double until = (double)timebase->anchors[first + 1].frame;
    const double share = (frame - from) / (until - from);
    return (struct mixture){first, first + 1, 1.0 - share, share};
}

static double get_weight(const struct mixture *mixture, size_t anchor)
{
    return (mixture->first == anchor ? mixture->first_weight : 0.0) +
           (mixture->second == anchor ? mixture->second_weight : 0.0);
}

/*
 * What the rate alone can do to n_frames: it is no further from the true one than it lies from
 * the nominal one, and that from the true one.
 */
static double
get_most_u_s(const struct sh_timebase *timebase, const struct mixture *mixture, double n_frames)
{
    if (mixture->first == mixture->second) {
        return 0.0;
    }
    const double frame_s = frame_s_between(&timebase->anchors[mixture->first],
                                           &timebase->anchors[mixture->second]);
    const double off_ratio = frame_s * timebase->rate_hz - 1.0;
    return fabs(n_frames) / timebase->rate_hz * hypot(off_ratio, SH_TIMEBASE_RATE_U_RATIO);
}

double sh_timebase_get_difference_u_s(const struct sh_timebase *timebase,
                                      enum sh_timebase_reading reading,
                                      double frame,
                                      double other_frame)
{
    if (timebase->n_anchors == 0) {
        return 0.0;
    }
    const struct mixture a = mix(timebase, reading, frame);
    const struct mixture b = mix(timebase, reading, other_frame);
    const size_t low = a.first < b.first ? a.first : b.first;
    const size_t high = a.second > b.second ? a.second : b.second;
    double u_s = 0.0;
    for (size_t k = low; k <= high; k++) {
        const double weight = get_weight(&a, k) - get_weight(&b, k);
        u_s = hypot(u_s, weight * timebase->anchors[k].u_s);
    }
    const bool is_one_slope = a.first == b.first && a.second == b.second;
    return is_one_slope ? fmin(u_s, get_most_u_s(timebase, &a, frame - other_frame)) : u_s;
}

double sh_timebase_frame(const struct sh_timebase *timebase,
                         enum sh_timebase_reading reading,
                         double time_s)
{
    if (timebase->n_anchors == 0) {
        return (time_s - timebase->offset_s) * timebase->rate_hz;
    }
    struct piece piece = piece_at(timebase, reading, find_by_time(timebase, time_s));
    return piece.frame + (time_s - piece.time_s) / piece.frame_s;
}
