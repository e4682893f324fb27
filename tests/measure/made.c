/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/made.h"

#include <math.h>
#include <stdlib.h>

#include "support/cmocka_all.h"

#define FINGERS 3u
#define AXES    3u

static void describe(struct made *made, const struct made_config *config)
{
    static const enum sh_finger fingers[FINGERS] = {SH_FINGER_INDEX, SH_FINGER_MIDDLE,
                                                    SH_FINGER_RING};
    static const enum sh_axis axes[AXES] = {SH_AXIS_X, SH_AXIS_Y, SH_AXIS_Z};
    struct sh_stream *string = &made->stream[MADE_STRING];
    string->rate_hz = config->rate_hz;
    if (config->force.get != NULL) {
        string->channel[string->n_channels++] =
            (struct sh_channel){.role = SH_ROLE_STRING_FORCE, .scale = 0.01};
    }
    for (size_t k = 0; config->finger.get != NULL && k < FINGERS; k++) {
        string->channel[string->n_channels++] = (struct sh_channel){
            .role = SH_ROLE_FINGER_FORCE, .finger = fingers[k], .scale = 0.01};
    }
    struct sh_stream *bow = &made->stream[MADE_BOW];
    bow->rate_hz = config->bow_rate_hz;
    for (size_t k = 0; config->bow_rate_hz > 0.0 && k < AXES; k++) {
        bow->channel[bow->n_channels++] = (struct sh_channel){
            .role = SH_ROLE_BOW_ACCELERATION, .axis = axes[k], .scale = 0.01};
    }
}

static double *take(size_t n)
{
    double *array = calloc(n, sizeof(*array));
    assert_non_null(array);
    return array;
}

static void make_stream(struct made *made, size_t s)
{
    struct sh_stream *stream = &made->stream[s];
    struct sh_shot_stream *view = &made->view.stream[s];
    const size_t n = (size_t)llround((MADE_UNTIL_S - MADE_FROM_S) * stream->rate_hz) + 1u;
    made->samples[s] = take(n * (stream->n_channels + 1u));
    made->flags[s] = calloc(n, 1);
    assert_non_null(made->flags[s]);
    for (size_t i = 0; i < n; i++) {
        made->samples[s][i] = MADE_FROM_S + (double)i / stream->rate_hz;
    }
    *view = (struct sh_shot_stream){
        .stream = stream, .n_frames = n, .time_s = made->samples[s], .flags = made->flags[s]};
    for (size_t c = 0; c < stream->n_channels; c++) {
        view->value[c] = made->samples[s] + n * (c + 1u);
    }
}

static void
fill_channel(struct made *made, size_t s, size_t c, const struct made_signal *signal)
{
    const struct sh_channel *channel = &made->stream[s].channel[c];
    const size_t n = made->view.stream[s].n_frames;
    double *values = made->samples[s] + n * (c + 1u);
    size_t k = 0;
    k = channel->finger != SH_FINGER_NONE ? (size_t)channel->finger - SH_FINGER_INDEX : k;
    k = channel->axis != SH_AXIS_NONE ? (size_t)channel->axis - SH_AXIS_X : k;
    for (size_t i = 0; i < n; i++) {
        values[i] = signal->get(signal->context, made->samples[s][i], k);
    }
}

/* The net force that the segmenter would have made of the channels. */
static void make_force(struct made *made, const struct made_config *config)
{
    const bool is_sum = config->force.get == NULL;
    struct sh_shot_force *force = &made->view.force;
    const size_t n = made->view.stream[MADE_STRING].n_frames;
    *force = (struct sh_shot_force){.is_present = true,
                                    .is_finger_sum = is_sum,
                                    .stream = MADE_STRING,
                                    .n_channels = is_sum ? FINGERS : 1u,
                                    .rate_hz = config->rate_hz,
                                    .n_frames = n,
                                    .noise_n = config->noise_n};
    made->net_n = take(n);
    assert_non_null(made->net_n);
    force->net_n = made->net_n;
    for (size_t c = 0; c < force->n_channels; c++) {
        force->channel[c] = c;
    }
    for (size_t i = 0; i < n; i++) {
        for (size_t c = 0; c < force->n_channels; c++) {
            made->net_n[i] += made->view.stream[MADE_STRING].value[c][i];
        }
        made->net_n[i] -= is_sum ? FINGERS * config->finger_rest_n : 0.0;
        if (config->random != NULL) {
            made->net_n[i] += config->noise_n * sh_random_get_normal(config->random);
        }
    }
}

static void add_rest(struct made *made, size_t s, size_t c, double rest_n)
{
    const size_t n = made->view.stream[s].n_frames;
    for (size_t i = 0; i < n; i++) {
        made->samples[s][n * (c + 1u) + i] += rest_n;
    }
}

static void fill(struct made *made, const struct made_config *config)
{
    for (size_t s = 0; s < made->view.n_streams; s++) {
        make_stream(made, s);
        for (size_t c = 0; c < made->stream[s].n_channels; c++) {
            const enum sh_role role = made->stream[s].channel[c].role;
            const bool is_finger = role == SH_ROLE_FINGER_FORCE;
            const struct made_signal *given = is_finger ? &config->finger : &config->force;
            fill_channel(made, s, c, role == SH_ROLE_BOW_ACCELERATION ? &config->bow : given);
            add_rest(made, s, c, is_finger ? config->finger_rest_n : 0.0);
        }
    }
}

static void set_events(struct sh_shot *shot)
{
    *shot = (struct sh_shot){.n = 1,
                             .kind = SH_SHOT_SHOT,
                             .clicker_sensor = SH_CLICKER_CONTACT,
                             .clicker_probability = 1.0,
                             .strip = SH_STRIP_FELL,
                             .rest_n = sh_quantity_known(0.0, 0.0)};
    shot->event_s[SH_EVENT_DRAW_START] = sh_quantity_known(MADE_DRAW_START_S, 0.0);
    shot->event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(MADE_FULL_DRAW_S, 0.0);
    shot->event_s[SH_EVENT_CLICKER] = sh_quantity_known(MADE_CLICKER_S, 0.0);
    shot->event_s[SH_EVENT_RELEASE] = sh_quantity_known(MADE_RELEASE_S, 0.0);
    shot->event_s[SH_EVENT_LET_DOWN] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    shot->event_s[SH_EVENT_END] = sh_quantity_known(MADE_END_S, 0.0);
}

void made_open(struct made *made, const struct made_config *config)
{
    *made = (struct made){.bow = {.stiffness_n_per_m = sh_quantity_known(410.0, 0.0)}};
    describe(made, config);
    made->view.n_streams = config->bow_rate_hz > 0.0 ? 2u : 1u;
    fill(made, config);
    if (made->stream[MADE_STRING].n_channels > 0) {
        make_force(made, config);
    }
    set_events(&made->shot);
    struct sh_workspace_config room = sh_workspace_config_default();
    room.n_streams = made->view.n_streams;
    for (size_t s = 0; s < room.n_streams; s++) {
        room.rate_hz[s] = made->stream[s].rate_hz;
    }
    made->scene =
        (struct sh_scene){.shot = &made->shot, .view = &made->view, .bow = &made->bow};
    assert_int_equal(sh_workspace_open(&room, &made->scene.workspace, NULL), SH_OK);
}

void made_close(struct made *made)
{
    for (size_t s = 0; s < MADE_STREAMS; s++) {
        free(made->samples[s]);
        free(made->flags[s]);
    }
    free(made->net_n);
    sh_workspace_close(&made->scene.workspace);
}

size_t made_frame(const struct made *made, size_t stream, double t_s)
{
    const struct sh_shot_stream *view = &made->view.stream[stream];
    return (size_t)ceil((t_s - view->time_s[0]) * view->stream->rate_hz - 1e-6);
}
