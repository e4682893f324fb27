/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_wave.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#define BEHIND_S       0.05  /* streams do not come at the same moment */
#define EDGE_S         1e-4  /* a step's edge belongs to that step, however it was rounded */
#define LATE_MAX_STEPS 100.0 /* further behind, what is told as it comes begins anew */

/* Frames that wait, their values behind them. */
struct aside {
    struct aside *next;
    struct sh_wave_frames frames;
    double value[];
};

struct sh_live_wave {
    pthread_mutex_t lock; /* of wave */
    struct sh_wave *wave;
    /* Of the thread that captures. */
    struct aside *first;
    struct aside *last;
    size_t n_values; /* laid aside */
    double n_told;   /* steps since 0 s, a whole number */
};

enum sh_status sh_live_wave_open(const struct sh_session *session,
                                 struct sh_live_wave **out,
                                 struct sh_error *err)
{
    struct sh_wave_config config = sh_wave_config_default();
    struct sh_live_wave *wave = calloc(1, sizeof *wave);
    if (wave == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t i = 0; i < session->n_streams; i++) {
        config.n_channels += session->streams[i].stream.n_channels;
    }
    (void)pthread_mutex_init(&wave->lock, NULL);
    enum sh_status status = sh_wave_open(&config, &wave->wave, err);
    if (status != SH_OK) {
        sh_live_wave_close(&wave);
        return status;
    }
    *out = wave;
    return SH_OK;
}

static void drop_first(struct sh_live_wave *wave)
{
    struct aside *aside = wave->first;
    wave->first = aside->next;
    wave->last = wave->first != NULL ? wave->last : NULL;
    wave->n_values -= aside->frames.n_frames * aside->frames.n_channels;
    free(aside);
}

void sh_live_wave_close(struct sh_live_wave **wave)
{
    if (wave == NULL || *wave == NULL) {
        return;
    }
    while ((*wave)->first != NULL) {
        drop_first(*wave);
    }
    sh_wave_close(&(*wave)->wave);
    (void)pthread_mutex_destroy(&(*wave)->lock);
    free(*wave);
    *wave = NULL;
}

static void lay_aside(struct sh_live_wave *wave, const struct sh_wave_frames *frames)
{
    const size_t n = frames->n_frames * frames->n_channels;
    struct aside *aside = wave->n_values + n <= SH_LIVE_WAVE_ASIDE_VALUES
                              ? malloc(sizeof *aside + n * sizeof(double))
                              : NULL;
    if (aside == NULL) {
        return;
    }
    aside->next = NULL;
    aside->frames = *frames;
    memcpy(aside->value, frames->value, n * sizeof(double));
    aside->frames.value = aside->value;
    if (wave->last != NULL) {
        wave->last->next = aside;
    } else {
        wave->first = aside;
    }
    wave->last = aside;
    wave->n_values += n;
}

/* What the wave cannot take (a time beyond its end) is left out of it. */
static void put_in(struct sh_live_wave *wave, const struct sh_wave_frames *frames)
{
    while (wave->first != NULL) {
        (void)sh_wave_push(wave->wave, &wave->first->frames);
        drop_first(wave);
    }
    (void)sh_wave_push(wave->wave, frames);
}

void sh_live_wave_push(struct sh_live_wave *wave, const struct sh_wave_frames *frames)
{
    if (pthread_mutex_trylock(&wave->lock) != 0) {
        lay_aside(wave, frames);
        return;
    }
    put_in(wave, frames);
    (void)pthread_mutex_unlock(&wave->lock);
}

/* With the lock held. */
static bool write_steps(const struct sh_live_wave *wave,
                        double from_s,
                        double until_s,
                        size_t n_points,
                        unsigned recording,
                        struct sh_text *text)
{
    struct sh_wave_window window;
    if (!(from_s < until_s) ||
        sh_wave_select(wave->wave, from_s, until_s, n_points, &window) != SH_OK) {
        return false;
    }
    sh_wave_format(wave->wave, &window, recording, text);
    return true;
}

bool sh_live_wave_write_next(struct sh_live_wave *wave,
                             unsigned recording,
                             struct sh_text *text)
{
    bool is_written = false;
    if (pthread_mutex_trylock(&wave->lock) != 0) {
        return false;
    }
    const double until_s = sh_wave_get_end_s(wave->wave) - BEHIND_S;
    const double end = fmax(0.0, floor(until_s / SH_LIVE_WAVE_STEP_S));
    const double first = fmax(wave->n_told, end - LATE_MAX_STEPS);
    if (end > first) {
        is_written = write_steps(wave, first * SH_LIVE_WAVE_STEP_S + EDGE_S,
                                 end * SH_LIVE_WAVE_STEP_S - EDGE_S, (size_t)(end - first),
                                 recording, text);
        wave->n_told = is_written ? end : wave->n_told;
    }
    (void)pthread_mutex_unlock(&wave->lock);
    return is_written;
}

bool sh_live_wave_write(struct sh_live_wave *wave,
                        double from_s,
                        double until_s,
                        size_t n_points,
                        unsigned recording,
                        struct sh_text *text)
{
    (void)pthread_mutex_lock(&wave->lock);
    const double end_s = fmin(until_s, sh_wave_get_end_s(wave->wave));
    const size_t n = n_points < SH_WAVE_STEPS_MAX ? n_points : SH_WAVE_STEPS_MAX - 1;
    const bool is_written = write_steps(wave, fmax(from_s, 0.0), end_s, n, recording, text);
    (void)pthread_mutex_unlock(&wave->lock);
    return is_written;
}
