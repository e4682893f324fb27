/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_curve.h"

#include <math.h>

struct sh_terminal_source sh_terminal_source_get_force(const struct sh_shot_view *view)
{
    const struct sh_shot_force *force = &view->force;
    if (!force->is_present || force->n_frames == 0) {
        return (struct sh_terminal_source){.stream = NULL};
    }
    return (struct sh_terminal_source){.stream = &view->stream[force->stream],
                                       .delay_s = force->delay_s,
                                       .n_parts = 1,
                                       .value = {force->net_n}};
}

struct sh_terminal_source sh_terminal_source_get_finger(const struct sh_shot_view *view,
                                                        enum sh_finger finger)
{
    size_t stream = 0;
    size_t channel = 0;
    if (!sh_shot_view_find(view, SH_ROLE_FINGER_FORCE, SH_AXIS_NONE, finger, &stream,
                           &channel)) {
        return (struct sh_terminal_source){.stream = NULL};
    }
    const struct sh_shot_stream *at = &view->stream[stream];
    const struct sh_quantity *rest_n = &at->rest_n[channel];
    return (struct sh_terminal_source){
        .stream = at,
        .delay_s = at->stream->channel[channel].delay_s,
        .n_parts = 1,
        .value = {at->value[channel]},
        .offset = {sh_quantity_is_known(rest_n) ? rest_n->value : 0.0}};
}

struct sh_terminal_source sh_terminal_source_get_channel(const struct sh_shot_view *view,
                                                         enum sh_role role)
{
    size_t stream = 0;
    size_t channel = 0;
    if (!sh_shot_view_find(view, role, SH_AXIS_NONE, SH_FINGER_NONE, &stream, &channel)) {
        return (struct sh_terminal_source){.stream = NULL};
    }
    const struct sh_shot_stream *at = &view->stream[stream];
    return (struct sh_terminal_source){.stream = at,
                                       .delay_s = at->stream->channel[channel].delay_s,
                                       .n_parts = 1,
                                       .value = {at->value[channel]}};
}

bool sh_terminal_source_find_mean(const struct sh_terminal_source *source,
                                  double from_s,
                                  double until_s,
                                  double *mean)
{
    const struct sh_shot_stream *stream = source->stream;
    double sum = 0.0;
    double n = 0.0;
    for (size_t i = 0; stream != NULL && i < stream->n_frames; i++) {
        double t_s = stream->time_s[i] - source->delay_s;
        if (t_s >= from_s && t_s < until_s && (stream->flags[i] & SH_SHOT_FLAG_FILLED) == 0) {
            sum += source->value[0][i];
            n += 1.0;
        }
    }
    *mean = n > 0.0 ? sum / n - source->offset[0] : *mean;
    return n > 0.0;
}

struct sh_terminal_source sh_terminal_source_get_acceleration(const struct sh_shot_view *view,
                                                              double from_s,
                                                              double until_s)
{
    static const enum sh_axis axes[] = {SH_AXIS_X, SH_AXIS_Y, SH_AXIS_Z};
    struct sh_terminal_source source = {.stream = NULL};
    for (size_t k = 0; k < sizeof axes / sizeof axes[0]; k++) {
        size_t stream = 0;
        size_t channel = 0;
        bool is_there = sh_shot_view_find(view, SH_ROLE_BOW_ACCELERATION, axes[k],
                                          SH_FINGER_NONE, &stream, &channel);
        const struct sh_shot_stream *at = &view->stream[stream];
        if (is_there && (source.stream == NULL || source.stream == at)) {
            const struct sh_terminal_source axis = {.stream = at,
                                                    .delay_s =
                                                        at->stream->channel[channel].delay_s,
                                                    .value = {at->value[channel]}};
            source.stream = at;
            source.delay_s = axis.delay_s;
            source.value[source.n_parts] = at->value[channel];
            (void)sh_terminal_source_find_mean(&axis, from_s, until_s,
                                               &source.offset[source.n_parts]);
            source.n_parts++;
        }
    }
    return source;
}

static double get_value(const struct sh_terminal_source *source, size_t i)
{
    double sum = 0.0;
    if (source->n_parts == 1) {
        return source->value[0][i] - source->offset[0];
    }
    for (size_t k = 0; k < source->n_parts; k++) {
        double part = source->value[k][i] - source->offset[k];
        sum += part * part;
    }
    return sqrt(sum);
}

/* A piece while it is gathered. */
struct piece {
    size_t number; /* SH_TERMINAL_CURVE_PIECES: none yet */
    bool has_gap;  /* samples were lost since the piece before */
    double low[2]; /* time and value */
    double high[2];
};

static void add_point(struct sh_terminal_curve *curve, const double at[2])
{
    if (curve->n < SH_TERMINAL_CURVE_POINTS) {
        curve->x[curve->n] = at[0];
        curve->y[curve->n++] = at[1];
    }
}

static void end_piece(struct sh_terminal_curve *curve, const struct piece *piece)
{
    if (piece->number == SH_TERMINAL_CURVE_PIECES) {
        return;
    }
    bool is_low_first = piece->low[0] <= piece->high[0];
    const double *first = is_low_first ? piece->low : piece->high;
    const double *second = is_low_first ? piece->high : piece->low;
    if (piece->has_gap && curve->n > 0) {
        const double nothing[2] = {first[0], (double)NAN};
        add_point(curve, nothing);
    }
    add_point(curve, first);
    if (second[0] > first[0]) {
        add_point(curve, second);
    }
}

static void add_sample(struct piece *piece, double t_s, double value)
{
    if (value < piece->low[1]) {
        piece->low[0] = t_s;
        piece->low[1] = value;
    }
    if (value > piece->high[1]) {
        piece->high[0] = t_s;
        piece->high[1] = value;
    }
}

void sh_terminal_curve_fill(struct sh_terminal_curve *curve,
                            const struct sh_terminal_source *source,
                            double from_s,
                            double until_s)
{
    const struct sh_shot_stream *stream = source->stream;
    struct piece piece = {.number = SH_TERMINAL_CURVE_PIECES};
    bool is_lost = false;
    curve->n = 0;
    for (size_t i = 0; stream != NULL && i < stream->n_frames; i++) {
        double t_s = stream->time_s[i] - source->delay_s;
        double share = (t_s - from_s) / (until_s - from_s);
        if (!(share >= 0.0 && share < 1.0)) {
            continue;
        }
        if ((stream->flags[i] & SH_SHOT_FLAG_FILLED) != 0) {
            is_lost = true;
            continue;
        }
        size_t number = (size_t)(share * (double)SH_TERMINAL_CURVE_PIECES);
        double value = get_value(source, i);
        if (number != piece.number || is_lost) {
            end_piece(curve, &piece);
            piece = (struct piece){number, is_lost, {t_s, value}, {t_s, value}};
            is_lost = false;
        }
        add_sample(&piece, t_s, value);
    }
    end_piece(curve, &piece);
}

bool sh_terminal_curve_find_range(const struct sh_terminal_curve *curve,
                                  double from_s,
                                  double until_s,
                                  double range[2])
{
    bool is_found = false;
    for (size_t i = 0; i < curve->n; i++) {
        if (curve->x[i] < from_s || curve->x[i] >= until_s || !isfinite(curve->y[i])) {
            continue;
        }
        range[0] = is_found ? fmin(range[0], curve->y[i]) : curve->y[i];
        range[1] = is_found ? fmax(range[1], curve->y[i]) : curve->y[i];
        is_found = true;
    }
    return is_found;
}

void sh_terminal_curve_cut(struct sh_terminal_curve *curve,
                           double from_s,
                           const double range[2])
{
    for (size_t i = 0; i < curve->n; i++) {
        bool is_out = curve->y[i] < range[0] || curve->y[i] > range[1];
        if (curve->x[i] >= from_s && is_out) {
            curve->y[i] = curve->y[i] < range[0] ? range[0] : range[1];
            curve->n = i + 1;
            return;
        }
    }
}
