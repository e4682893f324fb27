/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/live_clock.h"
#include "app/live_inside.h"
#include "app/shot_sentence.h"
#include "finding/limit_kind.h"
#include "live/limit_words.h"
#include "live/number_text.h"
#include "live/shot_document.h"
#include "series/arrow.h"

#define MOVING_S     0.05 /* between two states while something moves, */
#define STILL_S      0.5  /* and while nothing does */
#define WAVE_S       0.05
#define SENSOR_S     0.25
#define AFTER_S      3.0 /* a release is shown as just now */
#define TIME_DIGITS  9
#define FORCE_DIGITS 5
#define MS_PER_S     1e3
#define MS_DIGITS    15

void sh_live_tell(struct sh_live_page *page,
                  enum sh_room_audience audience,
                  struct sh_text *text)
{
    if (text->status == SH_OK && text->n_bytes > 0) {
        (void)sh_server_tell(page->server, audience, text->data);
    }
    sh_text_close(text);
}

static void say_shot(const struct sh_shot_record *record, struct sh_text *text)
{
    sh_shot_sentence_format(record, text);
}

void sh_live_tell_shot(struct sh_live_page *page, unsigned n)
{
    const size_t n_shots = page->shots.n_shots;
    struct sh_arrow *arrows = calloc(n_shots + 1, sizeof *arrows);
    struct sh_text text;
    sh_text_init(&text, 0);
    if (arrows != NULL) {
        sh_arrow_find_all(&page->shots, page->marks, page->n_marks, arrows);
    }
    for (size_t i = 0; arrows != NULL && i < n_shots; i++) {
        if (page->shots.shots[i].shot.n != n) {
            continue;
        }
        const struct sh_shot_document document = {.record = &page->shots.shots[i],
                                                  .has_score = arrows[i].has_score,
                                                  .score = arrows[i].score,
                                                  .marks = page->marks,
                                                  .n_marks = page->n_marks,
                                                  .say = say_shot};
        sh_text_printf(&text, "{\"type\":\"shot\",\"recording\":%u,\"shot\":", page->id);
        sh_shot_document_write(&document, &text);
        sh_text_puts(&text, "}");
    }
    free(arrows);
    sh_live_tell(page, SH_ROOM_LOGGED, &text);
}

void sh_live_tell_mark(struct sh_live_page *page, const char *type, const struct sh_mark *mark)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_printf(&text, "{\"type\":\"%s\",\"recording\":%u,\"mark\":", type, page->id);
    if (sh_shot_document_write_mark(mark, &text)) {
        sh_text_puts(&text, "}");
        sh_live_tell(page, SH_ROOM_LOGGED, &text);
    } else {
        sh_text_close(&text);
    }
}

void sh_live_tell_tags(struct sh_live_page *page, const struct sh_session *session)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_printf(&text, "{\"type\":\"tags\",\"recording\":%u,\"tags\":", page->id);
    sh_shot_document_write_tags(session, &text);
    sh_text_puts(&text, "}");
    sh_live_tell(page, SH_ROOM_LOGGED, &text);
}

void sh_live_tell_warning(struct sh_live_page *page, const char *kind, const char *line)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_printf(&text, "{\"type\":\"warning\",\"kind\":\"%s\",\"text\":", kind);
    sh_number_text_put_string(&text, line);
    sh_text_puts(&text, "}");
    sh_live_tell(page, SH_ROOM_LOGGED, &text);
}

static void put_number(struct sh_text *text, const char *key, double value, int digits)
{
    sh_text_printf(text, ",\"%s\":", key);
    sh_number_text_put(text, value, digits);
}

void sh_live_tell_release(struct sh_live_page *page,
                          double t_s,
                          double hold_s,
                          double sample_ms)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_puts(&text, "{\"type\":\"release\"");
    put_number(&text, "t_s", t_s, TIME_DIGITS);
    put_number(&text, "hold_s", hold_s, FORCE_DIGITS);
    put_number(&text, "sample_ms", sample_ms, MS_DIGITS);
    put_number(&text, "sent_ms", MS_PER_S * sh_live_now_s(), MS_DIGITS);
    sh_text_puts(&text, "}");
    sh_live_tell(page, SH_ROOM_ALL, &text);
}

static bool is_after(const struct sh_live_page *page, const struct sh_capture_view *view)
{
    return view->state.phase == SH_SEGMENTER_REST && isfinite(page->released_s) &&
           view->state.now_s - page->released_s < AFTER_S;
}

static const char *get_phase(const struct sh_live_page *page,
                             const struct sh_capture_view *view)
{
    switch (view->state.phase) {
    case SH_SEGMENTER_DRAWING:
        return "drawing";
    case SH_SEGMENTER_HOLD:
        return "hold";
    case SH_SEGMENTER_UNKNOWN:
    case SH_SEGMENTER_REST:
        break;
    }
    return is_after(page, view) ? "after" : "rest";
}

static void put_fingers(const struct sh_live_page *page, struct sh_text *text)
{
    const struct sh_live_force *force = &page->force;
    if (!sh_live_force_has_fingers(force)) {
        sh_text_puts(text, ",\"fingers_n\":null");
        return;
    }
    sh_text_puts(text, ",\"fingers_n\":[");
    for (size_t i = 0; i < SH_LIVE_FORCE_FINGERS; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text,
                           force->finger[i].has_value ? force->finger[i].force_n : (double)NAN,
                           FORCE_DIGITS);
    }
    sh_text_puts(text, "]");
}

/* Where the hold that runs stands to the target band; "": there is none. */
static const char *find_where(struct sh_live_page *page, double hold_s)
{
    const char *where = "";
    (void)pthread_mutex_lock(&page->lock);
    if (page->goal.is_set && isfinite(hold_s)) {
        where = sh_goal_band_get_word(sh_goal_band_judge(&page->goal.band, hold_s));
    }
    (void)pthread_mutex_unlock(&page->lock);
    return where;
}

/* True where a clock runs. */
static bool put_clock(const struct sh_capture *capture, struct sh_text *text)
{
    struct sh_shooting_clock_view view;
    const struct sh_round_format *format = NULL;
    const bool is_there = sh_capture_find_clock(capture, &view, &format);
    sh_live_clock_put(is_there ? &view : NULL, format, text);
    return is_there && (view.state == SH_SHOOTING_CLOCK_LINE_UP ||
                        view.state == SH_SHOOTING_CLOCK_SHOOTING);
}

void sh_live_tell_signal(void *context, unsigned n_strokes, bool is_before_draws)
{
    struct sh_live_page *page = context;
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_printf(&text, "{\"type\":\"signal\",\"strokes\":%u,\"is_before_draws\":%s}",
                   n_strokes, is_before_draws ? "true" : "false");
    sh_live_tell(page, SH_ROOM_ALL, &text);
}

/* The finger's peak of this draw or the last one; NaN for all other limits: not watched here.
 */
static double find_limit_value(const struct sh_live_page *page, const struct sh_mark *limit)
{
    enum sh_finger finger = SH_FINGER_NONE;
    if (strcmp(limit->what, "finger_peak_n") != 0 ||
        !sh_channel_finger_find(limit->finger, &finger) || finger == SH_FINGER_NONE) {
        return (double)NAN;
    }
    const struct sh_live_force_finger *found =
        &page->force.finger[(size_t)finger - (size_t)SH_FINGER_INDEX];
    return found->has_value && page->force.is_present ? found->peak_n : (double)NAN;
}

static const char *get_limit_name(enum sh_limit_state state)
{
    static const char *const names[] = {[SH_LIMIT_UNKNOWN] = "unknown",
                                        [SH_LIMIT_INSIDE] = "inside",
                                        [SH_LIMIT_NEAR] = "near",
                                        [SH_LIMIT_REACHED] = "reached"};
    return names[state];
}

/* Its state is that of the watch which also warns: a page has no opinion of its own. */
static void put_limit(const struct sh_live_page *page,
                      const struct sh_capture *capture,
                      const struct sh_mark *limit,
                      struct sh_text *text)
{
    const double value = find_limit_value(page, limit);
    const struct sh_limit_words words = {limit->what,   limit->finger, limit->per,
                                         limit->set_by, &limit->most,  &limit->least};
    struct sh_limit_kind kind = {.title = limit->what, .unit = "", .factor = 1.0};
    (void)sh_limit_kind_find(limit->what, &kind);
    sh_text_puts(text, "{\"what\":");
    sh_number_text_put_string(text, limit->what);
    sh_text_puts(text, ",\"finger\":");
    sh_number_text_put_name(text, limit->finger);
    put_number(text, "value", value * kind.factor, FORCE_DIGITS);
    put_number(text, "most",
               limit->most.is_given ? limit->most.value * kind.factor : (double)NAN,
               FORCE_DIGITS);
    put_number(text, "least",
               limit->least.is_given ? limit->least.value * kind.factor : (double)NAN,
               FORCE_DIGITS);
    sh_text_puts(text, ",\"unit\":");
    sh_number_text_put_string(text, kind.unit);
    sh_text_printf(text, ",\"state\":\"%s\",\"text\":",
                   get_limit_name(sh_capture_get_limit(capture, limit)));
    sh_limit_words_put(&words, text);
    sh_text_puts(text, "}");
}

static void put_limits(const struct sh_live_page *page,
                       const struct sh_capture *capture,
                       struct sh_text *text)
{
    const char *comma = "";
    sh_text_puts(text, ",\"limits\":[");
    for (size_t i = 0; page->session != NULL && i < page->session->n_marks; i++) {
        if (page->session->marks[i].kind == SH_MARK_LIMIT) {
            sh_text_puts(text, comma);
            put_limit(page, capture, &page->session->marks[i], text);
            comma = ",";
        }
    }
    sh_text_puts(text, "]");
}

/* True where something moves: it will be told again soon. */
static bool put_state(struct sh_live_page *page,
                      const struct sh_capture *capture,
                      const struct sh_capture_view *view,
                      struct sh_text *text)
{
    const struct sh_segmenter_state *state = &view->state;
    const bool is_held = state->phase == SH_SEGMENTER_HOLD;
    const double hold_s =
        is_held ? state->now_s - state->since_s + SH_RELEASE_WATCH_HOLD_LAG_S : (double)NAN;
    const bool has_force = state->phase != SH_SEGMENTER_UNKNOWN;
    sh_text_puts(text, "{\"type\":\"state\"");
    put_number(text, "t_s", state->now_s, TIME_DIGITS);
    sh_text_printf(text, ",\"phase\":\"%s\"", get_phase(page, view));
    put_number(text, "force_n", has_force ? state->force_n : (double)NAN, FORCE_DIGITS);
    put_number(text, "hold_s", hold_s, FORCE_DIGITS);
    put_fingers(page, text);
    sh_text_puts(text, ",\"where\":");
    sh_number_text_put_name(text, find_where(page, hold_s));
    const bool runs = put_clock(capture, text);
    put_limits(page, capture, text);
    put_number(text, "lost", (double)view->counts.lost, MS_DIGITS);
    put_number(text, "damaged", (double)view->counts.damaged, MS_DIGITS);
    sh_text_printf(text, ",\"is_pulled\":%s,\"hearing\":\"%s\"}",
                   view->is_pulled ? "true" : "false", page->hearing);
    const bool is_pulled = has_force && state->force_n > SH_CLOCK_VOICE_PULLED_N;
    return runs || is_held || is_pulled || state->phase == SH_SEGMENTER_DRAWING ||
           is_after(page, view);
}

static void
tell_state(struct sh_live_page *page, const struct sh_capture *capture, double now_s)
{
    struct sh_capture_view view;
    struct sh_text text;
    sh_capture_get_view(capture, &view);
    sh_text_init(&text, 0);
    page->is_moving = put_state(page, capture, &view, &text);
    page->state_s = now_s;
    sh_live_tell(page, SH_ROOM_ALL, &text);
}

static void tell_wave(struct sh_live_page *page, double now_s)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    if (page->wave != NULL && page->id != 0) {
        (void)sh_live_wave_write_next(page->wave, page->id, &text);
    }
    page->wave_s = now_s + WAVE_S;
    sh_live_tell(page, SH_ROOM_ALL, &text);
}

static void tell_sensor(struct sh_live_page *page, double now_s)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    if (page->session != NULL && sh_server_is_watched(page->server)) {
        sh_live_sensor_write(&page->sensor, &text);
    }
    page->sensor_s = now_s + SENSOR_S;
    sh_live_tell(page, SH_ROOM_WATCHERS, &text);
}

void sh_live_tell_due(struct sh_live_page *page, const struct sh_capture *capture)
{
    const double now_s = sh_live_now_s();
    const bool is_drawn = page->force.is_present && page->force.watch.detector.is_drawn;
    if (now_s - page->state_s >= (is_drawn || page->is_moving ? MOVING_S : STILL_S)) {
        tell_state(page, capture, now_s);
    }
    if (now_s >= page->wave_s) {
        tell_wave(page, now_s);
    }
    if (now_s >= page->sensor_s) {
        sh_live_choose_hear(page, capture);
        tell_sensor(page, now_s);
    }
}
