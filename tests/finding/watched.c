/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/watched.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "support/cmocka_all.h"

#define MEAN_FRAMES 20u

const double watched_peaks_n[3] = {60.0, 60.0, 40.0};

struct watched *watched_open(void)
{
    struct watched *watched = calloc(1, sizeof *watched);
    assert_non_null(watched);
    struct sh_stream *stream = &watched->session.streams[0].stream;
    watched->session.n_streams = 1;
    watched->session.bow.draw_weight_n = sh_quantity_known(WATCHED_WEIGHT_N, 0.0);
    stream->rate_hz = WATCHED_RATE_HZ;
    stream->n_channels = 3;
    for (size_t i = 0; i < 3; i++) {
        stream->channel[i] =
            (struct sh_channel){.role = SH_ROLE_FINGER_FORCE,
                                .finger = (enum sh_finger)(SH_FINGER_INDEX + (int)i),
                                .scale = WATCHED_SCALE_N,
                                .scale_u = WATCHED_SCALE_N * WATCHED_SCALE_U,
                                .has_range = true,
                                .range_low = -32768.0,
                                .range_high = 32767.0};
    }
    return watched;
}

void watched_close(struct watched *watched)
{
    sh_limit_watch_close(&watched->watch);
    sh_limit_watch_close(&watched->watch);
    sh_session_close(&watched->session);
    free(watched);
}

struct sh_mark
watched_make_most(const char *what, const char *finger, const char *per, double most)
{
    struct sh_mark mark = {.kind = SH_MARK_LIMIT, .most = {true, most}};
    (void)snprintf(mark.what, sizeof mark.what, "%s", what);
    (void)snprintf(mark.finger, sizeof mark.finger, "%s", finger);
    (void)snprintf(mark.per, sizeof mark.per, "%s", per);
    return mark;
}

void watched_limit(struct watched *watched, const struct sh_mark *mark)
{
    assert_int_equal(sh_session_add_mark(&watched->session, mark), SH_OK);
}

static void add_frame(struct watched *watched, const double force_n[3])
{
    assert_true(watched->n_frames < WATCHED_FRAMES_MAX);
    for (size_t i = 0; i < 3; i++) {
        /* a count of noise, so that nothing stands still */
        double noise = (double)((watched->n_frames * 7u + i) % 3u) - 1.0;
        watched->raw[watched->n_frames][i] = round(force_n[i] / WATCHED_SCALE_N) + noise;
    }
    watched->n_frames++;
}

void watched_rest(struct watched *watched, double length_s)
{
    const double nothing[3] = {0.0, 0.0, 0.0};
    for (size_t i = 0; i < (size_t)(length_s * WATCHED_RATE_HZ); i++) {
        add_frame(watched, nothing);
    }
}

void watched_draw(struct watched *watched, const double peak_n[3], double rise_s, double hold_s)
{
    const size_t n_rise = (size_t)(rise_s * WATCHED_RATE_HZ);
    const size_t n_hold = (size_t)(hold_s * WATCHED_RATE_HZ);
    const size_t n_fall = 10;
    for (size_t k = 0; k < n_rise + n_hold + n_fall; k++) {
        double share = k < n_rise ? (double)k / (double)n_rise
                       : k < n_rise + n_hold
                           ? 1.0
                           : 1.0 - (double)(k - n_rise - n_hold) / (double)n_fall;
        const double force_n[3] = {share * peak_n[0], share * peak_n[1], share * peak_n[2]};
        add_frame(watched, force_n);
    }
}

static enum sh_status
take_event(void *context, const struct sh_limit_event *event, struct sh_error *err)
{
    struct watched *watched = context;
    (void)err;
    assert_true(watched->n_events < WATCHED_EVENTS_MAX);
    watched->pushed_at[watched->n_events] = watched->n_pushed;
    watched->event[watched->n_events++] = *event;
    return SH_OK;
}

void watched_begin(struct watched *watched)
{
    const struct sh_limit_watch_config config = {
        .session = &watched->session, .date = "2026-05-14", .sink = {take_event, watched}};
    struct sh_error err = {0};
    assert_int_equal(sh_limit_watch_open(&config, &watched->watch, &err), SH_OK);
    assert_int_equal(sh_limit_watch_begin(watched->watch, &err), SH_OK);
}

void watched_feed(struct watched *watched, size_t n_block)
{
    struct sh_error err = {0};
    while (watched->n_pushed < watched->n_frames) {
        size_t first = watched->n_pushed;
        size_t n = 1;
        while (n < n_block && first + n < watched->n_frames &&
               watched->is_filled[first + n] == watched->is_filled[first]) {
            n++;
        }
        const struct sh_block block = {.first_frame = first,
                                       .n_frames = n,
                                       .n_channels = 3,
                                       .raw = watched->raw[first],
                                       .is_filled = watched->is_filled[first]};
        watched->n_pushed += n;
        assert_int_equal(sh_limit_watch_push(watched->watch, &block,
                                             (double)first / WATCHED_RATE_HZ,
                                             1.0 / WATCHED_RATE_HZ, &err),
                         SH_OK);
    }
}

struct watched *watched_open_drawn(const struct sh_mark *mark, size_t n_block)
{
    struct watched *watched = watched_open();
    watched_limit(watched, mark);
    watched_rest(watched, 3.0);
    watched_draw(watched, watched_peaks_n, 1.0, 2.0);
    watched_rest(watched, 2.0);
    watched_begin(watched);
    watched_feed(watched, n_block);
    return watched;
}

double watched_get_mean_n(const struct watched *watched, size_t finger, size_t frame)
{
    double sum = 0.0;
    assert_true(frame + 1 >= MEAN_FRAMES);
    for (size_t i = frame + 1 - MEAN_FRAMES; i <= frame; i++) {
        sum += WATCHED_SCALE_N * watched->raw[i][finger];
    }
    return sum / (double)MEAN_FRAMES;
}

const struct sh_limit_event *watched_find(const struct watched *watched,
                                          enum sh_limit_event_kind kind)
{
    for (size_t i = 0; i < watched->n_events; i++) {
        if (watched->event[i].kind == kind) {
            return &watched->event[i];
        }
    }
    return NULL;
}

size_t watched_count(const struct watched *watched, enum sh_limit_event_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < watched->n_events; i++) {
        n += watched->event[i].kind == kind ? 1 : 0;
    }
    return n;
}
