/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/capture_inside.h"

#define COUNTS_US 1000000
#define US_PER_S  1000000
#define NS_PER_US 1000

int64_t sh_capture_get_host_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * US_PER_S + now.tv_nsec / NS_PER_US;
}

static double since_start_s(const struct sh_capture *capture)
{
    return (double)(sh_capture_get_host_us() - capture->start_us) / US_PER_S;
}

double sh_capture_find_now_s(const struct sh_capture *capture)
{
    return capture->setup->is_replay ? sh_clocks_get_now_s(&capture->clocks)
                                     : since_start_s(capture);
}

static enum sh_status
put_clock_mark(void *context, const struct sh_mark *mark, struct sh_error *err)
{
    struct sh_capture *capture = context;
    struct sh_mark kept = *mark;
    if (mark->kind != SH_MARK_OVERRUN) {
        capture->has_clock = mark->kind == SH_MARK_CLOCK;
        capture->clock = *mark;
    }
    kept.t_s = fmax(mark->t_s - capture->take_begin_s, 0.0);
    return sh_capture_keep_mark(capture, &kept, err);
}

/* What the clock, limits and ratings have to say. */
static void say(void *context, const char *line)
{
    struct sh_capture *capture = context;
    sh_capture_fronts_say(&capture->fronts, line);
}

static void hear_clock(void *context, const struct sh_shooting_clock_event *event)
{
    struct sh_capture *capture = context;
    sh_clock_voice_hear(&capture->clock_voice, event);
    if (event->n_signals > 0) {
        sh_capture_fronts_signal(&capture->fronts, event->n_signals,
                                 sh_clock_voice_is_before_draws(event));
    }
}

static void ring(void *context)
{
    struct sh_capture *capture = context;
    sh_capture_fronts_ring(&capture->fronts);
}

static enum sh_status
put_limit_mark(void *context, const struct sh_mark *mark, struct sh_error *err)
{
    return sh_capture_keep_mark(context, mark, err);
}

static enum sh_status
add_mark(struct sh_capture *capture, struct sh_mark *mark, struct sh_error *err)
{
    mark->t_s = sh_capture_find_now_s(capture) - capture->take_begin_s;
    sh_limit_voice_rate(&capture->voice, mark);
    if (mark->kind == SH_MARK_ARROW) {
        mark->shot = (struct sh_mark_number){capture->last_shot > 0, capture->last_shot};
    }
    return sh_capture_keep_mark(capture, mark, err);
}

enum sh_status
sh_capture_obey(struct sh_capture *capture, struct sh_entry *entry, struct sh_error *err)
{
    const double now_s = sh_capture_find_now_s(capture);
    switch (entry->kind) {
    case SH_ENTRY_NOTHING:
        break;
    case SH_ENTRY_MARK:
        return sh_entry_is_of_clock(entry)
                   ? sh_capture_clock_obey(&capture->shooting, entry, now_s, err)
                   : add_mark(capture, &entry->mark, err);
    case SH_ENTRY_CLOCK:
        return sh_capture_clock_obey(&capture->shooting, entry, now_s, err);
    case SH_ENTRY_ARCHER:
        return sh_capture_change_archer(capture, entry->athlete, err);
    case SH_ENTRY_END:
        capture->has_ended = true;
        break;
    }
    return SH_OK;
}

static void get_state(const struct sh_capture *capture, struct sh_segmenter_state *out)
{
    *out = (struct sh_segmenter_state){0};
    if (capture->take != NULL) {
        sh_take_get_state(capture->take, out);
    }
}

void sh_capture_get_view(const struct sh_capture *capture, struct sh_capture_view *out)
{
    *out = (struct sh_capture_view){.athlete = capture->setup->session->athlete,
                                    .now_s =
                                        sh_capture_find_now_s(capture) - capture->take_begin_s,
                                    .counts = sh_intake_set_add_up(&capture->intakes),
                                    .is_pulled = !sh_intake_set_is_whole(&capture->intakes),
                                    .is_idle = capture->take == NULL};
    get_state(capture, &out->state);
}

void sh_capture_put_clock(const struct sh_capture *capture, struct sh_text *text)
{
    sh_capture_clock_put_left(&capture->shooting, sh_capture_find_now_s(capture), text);
}

enum sh_limit_state sh_capture_get_limit(const struct sh_capture *capture,
                                         const struct sh_mark *limit)
{
    return sh_limit_voice_get_state(&capture->voice, limit);
}

bool sh_capture_find_clock(const struct sh_capture *capture,
                           struct sh_shooting_clock_view *view,
                           const struct sh_round_format **format)
{
    return sh_capture_clock_find_view(&capture->shooting, sh_capture_find_now_s(capture), view,
                                      format);
}

bool sh_capture_is_recording(const struct sh_capture *capture)
{
    return capture->take != NULL;
}

bool sh_capture_has_format(const struct sh_capture *capture)
{
    return capture->shooting.format != NULL;
}

enum sh_status sh_capture_choose_clock(struct sh_capture *capture,
                                       const struct sh_round_format *format,
                                       struct sh_error *err)
{
    if (sh_capture_clock_runs(&capture->shooting)) {
        return sh_error_set(err, SH_ERR_BUSY, NULL, "stop it first", "the clock runs");
    }
    capture->chosen = *format;
    capture->shooting.format = &capture->chosen;
    return SH_OK;
}

static enum sh_status push_clock(struct sh_capture *capture, struct sh_error *err)
{
    struct sh_segmenter_state state;
    get_state(capture, &state);
    return sh_capture_clock_push(&capture->shooting, sh_capture_find_now_s(capture), &state,
                                 err);
}

/* The clock's signals, by the host's time: a replay's pass as fast as it comes. */
static void ring_clock(struct sh_capture *capture)
{
    struct sh_segmenter_state state;
    get_state(capture, &state);
    if (sh_clock_voice_take(&capture->clock_voice, &state,
                            (double)sh_capture_get_host_us() / US_PER_S)) {
        ring(capture);
    }
}

/* Once while it runs; how much it was in all is told at the end. */
static void tell_loss(struct sh_capture *capture)
{
    if (!capture->has_told_loss && sh_intake_set_get_lost_bytes(&capture->intakes) > 0) {
        capture->has_told_loss = true;
        sh_capture_fronts_say(&capture->fronts,
                              "warning: this machine was held up for so long that bytes of a "
                              "sensor found no room; the samples in them are lost\n");
    }
}

/* What no one has to see at once. */
static void tend(struct sh_capture *capture)
{
    sh_limit_voice_ring(&capture->voice);
    ring_clock(capture);
    if (capture->take != NULL && sh_capture_get_host_us() - capture->counted_us >= COUNTS_US) {
        capture->counted_us = sh_capture_get_host_us();
        sh_capture_pass_counts(capture);
        tell_loss(capture);
    }
}

static enum sh_status run_loop(struct sh_capture *capture,
                               const volatile sig_atomic_t *should_end,
                               struct sh_error *err)
{
    enum sh_status status = SH_OK;
    while (status == SH_OK && !capture->has_ended && *should_end == 0) {
        bool can_go_on = true;
        status = sh_capture_step_sensors(capture, &can_go_on, err);
        if (status == SH_OK) {
            status = sh_capture_fronts_step(&capture->fronts, capture, err);
        }
        if (status == SH_OK) {
            status = push_clock(capture, err);
        }
        tend(capture);
        double seconds = capture->setup->seconds;
        bool is_over = seconds > 0.0 && since_start_s(capture) >= seconds;
        capture->has_ended = capture->has_ended || is_over || !can_go_on;
    }
    return status;
}

static void close_all(struct sh_capture *capture)
{
    sh_intake_set_close(&capture->intakes);
    sh_take_close(&capture->take);
    sh_limit_voice_close(&capture->voice);
    sh_analysis_close(&capture->shown);
    sh_clocks_close(&capture->clocks);
}

void sh_capture_result_close(struct sh_capture_result *result)
{
    free(result->folder);
    *result = (struct sh_capture_result){0};
}

static void open_voices(struct sh_capture *capture)
{
    const struct sh_capture_setup *setup = capture->setup;
    const struct sh_capture_clock_sink marks = {put_clock_mark, say, hear_clock, capture};
    memcpy(capture->tags, setup->session->tags, sizeof capture->tags);
    capture->n_tags = setup->session->n_tags;
    capture->voice.sink = (struct sh_limit_voice_sink){put_limit_mark, say, ring, capture};
    capture->voice.has_sound = setup->has_sound;
    sh_clock_voice_init(&capture->clock_voice, setup->clock_voice);
    sh_capture_clock_init(&capture->shooting, setup->has_clock ? &setup->clock : NULL, &marks);
}

/* From the sensors' opening to their end. */
static enum sh_status run_sensors(struct sh_capture *capture,
                                  const volatile sig_atomic_t *should_end,
                                  struct sh_error *err)
{
    enum sh_status status = sh_capture_open_sensors(capture, err);
    if (status != SH_OK) {
        return status;
    }
    status = run_loop(capture, should_end, err);
    const bool was_recording = capture->take != NULL;
    enum sh_status ended = sh_capture_end_sensors(capture, status == SH_OK ? err : NULL);
    status = status != SH_OK ? status : ended;
    if (status == SH_OK && was_recording && capture->n_good_frames == 0) {
        status = sh_error_set(err, SH_ERR_FORMAT, capture->setup->address[0],
                              "check the port, its baud rate and the profile's columns",
                              "not one good frame came");
    }
    if (status == SH_OK && capture->failure.status != SH_OK) {
        *err = capture->failure;
        status = err->status;
    }
    return status;
}

enum sh_status sh_capture_run(struct sh_capture_setup *setup,
                              const struct sh_capture_front *fronts,
                              size_t n_fronts,
                              const volatile sig_atomic_t *should_end,
                              struct sh_capture_result *result,
                              struct sh_error *err)
{
    struct sh_capture capture = {.setup = setup,
                                 .result = result,
                                 .fronts = {fronts, n_fronts},
                                 .start_us = sh_capture_get_host_us()};
    *result = (struct sh_capture_result){0};
    open_voices(&capture);
    enum sh_status status = run_sensors(&capture, should_end, err);
    close_all(&capture);
    return status;
}
