/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/quality.h"

#include <math.h>

#include "signal/stats.h"

void sh_quality_init(struct sh_quality *quality)
{
    *quality = (struct sh_quality){.n_seen = 0};
}

/* Frames of a stream between two times. */
struct piece {
    size_t first;
    size_t end;
};

static struct piece
find_piece(const struct sh_shot_stream *stream, double from_s, double until_s)
{
    if (stream->n_frames == 0) {
        return (struct piece){0, 0};
    }
    const double n = (double)stream->n_frames;
    const double first = ceil(sh_shot_stream_index(stream, 0.0, from_s));
    const double last = floor(sh_shot_stream_index(stream, 0.0, until_s));
    return (struct piece){(size_t)fmin(fmax(first, 0.0), n),
                          (size_t)fmin(fmax(last + 1.0, 0.0), n)};
}

static bool is_changing(const double *value, const struct piece *piece)
{
    for (size_t i = piece->first + 1; i < piece->end; i++) {
        if (fabs(value[i] - value[piece->first]) > 0.0) {
            return true;
        }
    }
    return false;
}

static void judge_stream(const struct sh_shot_stream *stream,
                         const struct piece *piece,
                         struct sh_shot *shot,
                         size_t *n_still,
                         size_t *n_moving)
{
    unsigned flags = 0;
    for (size_t i = piece->first; i < piece->end; i++) {
        flags |= stream->flags[i];
    }
    shot->has_gap = shot->has_gap || (flags & SH_SHOT_FLAG_FILLED) != 0;
    shot->is_clipped = shot->is_clipped || (flags & SH_SHOT_FLAG_CLIPPED) != 0;
    for (size_t c = 0; c < stream->stream->n_channels && piece->end > piece->first + 1; c++) {
        if (stream->stream->channel[c].role == SH_ROLE_CLICKER_CONTACT) {
            continue;
        }
        const bool moves = is_changing(stream->value[c], piece);
        *n_moving += moves ? 1 : 0;
        *n_still += moves ? 0 : 1;
    }
}

/* The noise that the sensor's maker or calibration states for the force; 0: none. */
static double get_stated_n(const struct sh_shot_view *view)
{
    const struct sh_shot_force *force = &view->force;
    double square_n2 = 0.0;
    for (size_t i = 0; force->is_present && i < force->n_channels; i++) {
        const double noise_n =
            view->stream[force->stream].stream->channel[force->channel[i]].noise;
        square_n2 += noise_n * noise_n;
    }
    return sqrt(square_n2);
}

static double get_usual_n(const struct sh_quality *quality)
{
    const size_t n =
        quality->n_seen < SH_QUALITY_USUAL_MAX ? quality->n_seen : SH_QUALITY_USUAL_MAX;
    double work[SH_QUALITY_USUAL_MAX];
    double median_n = 0.0;
    if (n < SH_QUALITY_USUAL_MIN ||
        sh_stats_get_median(quality->noise_n, n, work, &median_n, NULL) != SH_OK) {
        return 0.0;
    }
    return median_n;
}

void sh_quality_judge(struct sh_quality *quality,
                      const struct sh_shot_view *view,
                      double from_s,
                      double until_s,
                      struct sh_shot *shot)
{
    size_t n_still = 0;
    size_t n_moving = 0;
    shot->has_gap = false;
    shot->is_clipped = false;
    for (size_t s = 0; s < view->n_streams; s++) {
        const struct piece piece = find_piece(&view->stream[s], from_s, until_s);
        judge_stream(&view->stream[s], &piece, shot, &n_still, &n_moving);
    }
    shot->has_dead_channel = n_still > 0 && n_moving > 0;
    const double stated_n = get_stated_n(view);
    const double normal_n = stated_n > 0.0 ? stated_n : get_usual_n(quality);
    shot->is_noisy = normal_n > 0.0 && shot->rest_noise_n > SH_QUALITY_NOISE_RATIO * normal_n;
    if (view->force.is_present && shot->rest_noise_n > 0.0) {
        quality->noise_n[quality->n_seen % SH_QUALITY_USUAL_MAX] = shot->rest_noise_n;
        quality->n_seen++;
    }
}
