/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "app/live_clock.h"
#include "app/live_inside.h"

#define SCORE_MAX 10.0
#define PAIN_MAX  10.0
#define BEHIND_S  0.05 /* a mark about an arrow stands so long behind its release */
#define LEAST_S   2.0  /* a recording lasts, before it is ended from here */

/* One command being done. */
struct wish {
    struct sh_live_page *page;
    struct sh_capture *capture;
    const json_t *object;
    struct sh_error *refused;
    struct sh_error *err;
};

static enum sh_status refuse(const struct wish *wish, const char *what, const char *todo)
{
    (void)sh_error_set(wish->refused, SH_ERR_ARGUMENT, NULL, todo, "%s", what);
    return SH_OK;
}

static bool find_number(const json_t *value, double least, double most, double *out)
{
    if (!json_is_number(value)) {
        return false;
    }
    *out = json_number_value(value);
    return *out >= least && *out <= most;
}

/* A text that is there, not empty, and fits with its NUL. */
static bool copy_text(const struct wish *wish, const char *key, char *to, size_t n_bytes)
{
    const json_t *value = json_object_get(wish->object, key);
    const size_t n = json_string_length(value);
    if (!json_is_string(value) || n == 0 || n >= n_bytes ||
        strlen(json_string_value(value)) != n) {
        return false;
    }
    memcpy(to, json_string_value(value), n + 1);
    return true;
}

static bool is_said(const struct wish *wish, const char *key, const char *word)
{
    const char *text = json_string_value(json_object_get(wish->object, key));
    return text != NULL && strcmp(text, word) == 0;
}

/* The shot that is named; NULL: none is, or there is no such shot (*is_wrong). */
static const struct sh_shot *find_shot(const struct wish *wish, bool *is_wrong)
{
    const json_t *value = json_object_get(wish->object, "shot");
    const struct sh_analysis *shots = &wish->page->shots;
    *is_wrong = value != NULL && !json_is_null(value);
    for (size_t i = 0; *is_wrong && i < shots->n_shots; i++) {
        if (json_is_integer(value) && json_integer_value(value) == shots->shots[i].shot.n) {
            *is_wrong = false;
            return &shots->shots[i].shot;
        }
    }
    return NULL;
}

/* A mark about a shot stands where it belongs; one about none is of now. */
static enum sh_status put_mark(const struct wish *wish, struct sh_mark *mark)
{
    bool is_wrong = false;
    const struct sh_shot *shot = find_shot(wish, &is_wrong);
    if (wish->page->n_marks >= SH_LIVE_MARKS_MAX) {
        return refuse(wish, "this recording has 2000 entries", "end it with finish");
    }
    if (is_wrong) {
        return refuse(wish, "there is no such shot in this recording", NULL);
    }
    if (shot == NULL) {
        struct sh_entry entry = {.kind = SH_ENTRY_MARK, .mark = *mark};
        return sh_capture_obey(wish->capture, &entry, wish->err);
    }
    const struct sh_quantity *release = &shot->event_s[SH_EVENT_RELEASE];
    struct sh_capture_view view;
    sh_capture_get_view(wish->capture, &view);
    mark->t_s = sh_quantity_is_known(release) ? release->value + BEHIND_S : view.now_s;
    mark->shot = (struct sh_mark_number){true, (double)shot->n};
    return sh_capture_keep_mark(wish->capture, mark, wish->err);
}

static enum sh_status put_score(const struct wish *wish)
{
    struct sh_mark mark = {.kind = SH_MARK_ARROW, .score = {.is_given = true}};
    if (!find_number(json_object_get(wish->object, "score"), 0.0, SCORE_MAX,
                     &mark.score.value)) {
        return refuse(wish, "this is no score", "give 0 to 10");
    }
    return put_mark(wish, &mark);
}

static enum sh_status put_end(const struct wish *wish)
{
    const json_t *scores = json_object_get(wish->object, "scores");
    struct sh_mark mark = {.kind = SH_MARK_END, .n_scores = json_array_size(scores)};
    if (mark.n_scores == 0 || mark.n_scores > SH_MARK_SCORES_MAX) {
        return refuse(wish, "these are no scores of an end", "give 1 to 72 of them");
    }
    for (size_t i = 0; i < mark.n_scores; i++) {
        if (!find_number(json_array_get(scores, i), 0.0, SCORE_MAX, &mark.scores[i])) {
            return refuse(wish, "these are no scores of an end", "give 0 to 10 for each arrow");
        }
    }
    return put_mark(wish, &mark);
}

static enum sh_status put_note(const struct wish *wish)
{
    struct sh_mark mark = {.kind = SH_MARK_NOTE};
    if (!copy_text(wish, "text", mark.text, sizeof mark.text)) {
        return refuse(wish, "this is no note", "write up to 255 bytes");
    }
    return put_mark(wish, &mark);
}

static enum sh_status put_pain(const struct wish *wish)
{
    struct sh_mark mark = {.kind = SH_MARK_PAIN, .rating = {.is_given = true}};
    const bool is_when = is_said(wish, "when", "before") || is_said(wish, "when", "during") ||
                         is_said(wish, "when", "after");
    if (!is_when || !copy_text(wish, "when", mark.when, sizeof mark.when) ||
        !find_number(json_object_get(wish->object, "rating"), 0.0, PAIN_MAX,
                     &mark.rating.value)) {
        return refuse(wish, "this is no rating", "give before, during or after, and 0 to 10");
    }
    return put_mark(wish, &mark);
}

/* Somebody who ends one recording after the other would soon find no more names for them. */
static bool has_just_begun(const struct wish *wish)
{
    struct sh_capture_view view;
    sh_capture_get_view(wish->capture, &view);
    return wish->page->id != 0 && view.now_s < LEAST_S;
}

static bool is_string_pulled(const struct wish *wish)
{
    struct sh_capture_view view;
    sh_capture_get_view(wish->capture, &view);
    return view.state.phase == SH_SEGMENTER_DRAWING || view.state.phase == SH_SEGMENTER_HOLD;
}

static enum sh_status change_archer(const struct wish *wish)
{
    struct sh_entry entry = {.kind = SH_ENTRY_ARCHER};
    char name[SH_SESSION_NAME_BYTES];
    if (has_just_begun(wish)) {
        return refuse(wish, "this recording has just begun", "wait two seconds");
    }
    if (!copy_text(wish, "name", name, sizeof name)) {
        return refuse(wish, "this is no name", "write up to 127 bytes");
    }
    memcpy(entry.athlete, name, sizeof name);
    return sh_capture_obey(wish->capture, &entry, wish->err);
}

/* The recording ends, the next one of the same archer begins with the next frames. */
static enum sh_status finish(const struct wish *wish)
{
    struct sh_entry entry = {.kind = SH_ENTRY_ARCHER};
    struct sh_capture_view view;
    if (wish->page->id == 0) {
        return refuse(wish, "nothing has been recorded yet", NULL);
    }
    if (has_just_begun(wish)) {
        return refuse(wish, "this recording has just begun", "wait two seconds");
    }
    sh_capture_get_view(wish->capture, &view);
    memcpy(entry.athlete, view.athlete, strlen(view.athlete) + 1);
    return sh_capture_obey(wish->capture, &entry, wish->err);
}

static enum sh_status choose_format(const struct wish *wish)
{
    struct sh_round_format format;
    if (sh_live_clock_choose(wish->page->config.setup, wish->object, &format, wish->refused) ==
        SH_OK) {
        (void)sh_capture_choose_clock(wish->capture, &format, wish->refused);
    }
    return SH_OK;
}

static enum sh_status set_clock(const struct wish *wish)
{
    static const struct {
        const char *action;
        enum sh_entry_clock clock;
    } actions[] = {{"start", SH_ENTRY_CLOCK_START},
                   {"start-other", SH_ENTRY_CLOCK_START_OTHER},
                   {"halt", SH_ENTRY_CLOCK_HALT},
                   {"hand-over", SH_ENTRY_CLOCK_OTHER_SHOT}};
    struct sh_entry stop = {.kind = SH_ENTRY_MARK, .mark = {.kind = SH_MARK_CLOCK_STOP}};
    if (is_said(wish, "action", "format")) {
        return choose_format(wish);
    }
    if (is_said(wish, "action", "stop")) {
        return sh_capture_obey(wish->capture, &stop, wish->err);
    }
    for (size_t i = 0; i < sizeof actions / sizeof actions[0]; i++) {
        struct sh_entry entry = {.kind = SH_ENTRY_CLOCK, .clock = actions[i].clock};
        if (!is_said(wish, "action", actions[i].action)) {
            continue;
        }
        return i < 2 && !sh_capture_has_format(wish->capture)
                   ? refuse(wish, "no clock has been chosen", "choose its format first")
                   : sh_capture_obey(wish->capture, &entry, wish->err);
    }
    return refuse(wish, "the clock cannot do that",
                  "start, start-other, halt, stop, hand-over or format");
}

static enum sh_status set_sound(const struct wish *wish)
{
    struct sh_live_page *page = wish->page;
    (void)pthread_mutex_lock(&page->lock);
    page->has_sound = json_is_true(json_object_get(wish->object, "on"));
    page->is_in_charge = json_is_true(json_object_get(wish->object, "in_charge"));
    (void)pthread_mutex_unlock(&page->lock);
    return SH_OK;
}

/* Kept in the person's file, as `goals` keeps it. */
static enum sh_status set_goal(const struct wish *wish)
{
    struct sh_live_page *page = wish->page;
    struct sh_hold_goal goal = {.is_set = !json_is_true(json_object_get(wish->object, "clear")),
                                .set_by = "at the line"};
    const char *home = page->config.setup->home;
    struct sh_capture_view view;
    sh_capture_get_view(wish->capture, &view);
    if (goal.is_set && (!find_number(json_object_get(wish->object, "lo_s"), 0.0,
                                     SH_HOLD_GOAL_MAX_S, &goal.band.least_s) ||
                        !find_number(json_object_get(wish->object, "hi_s"), 0.0,
                                     SH_HOLD_GOAL_MAX_S, &goal.band.most_s))) {
        return refuse(wish, "this is no band", "give seconds from and to, up to 60");
    }
    if (sh_hold_goal_write(home, view.athlete, &goal, wish->refused) != SH_OK) {
        return SH_OK;
    }
    (void)pthread_mutex_lock(&page->lock);
    page->goal = goal;
    (void)pthread_mutex_unlock(&page->lock);
    (void)sh_server_tell(page->server, SH_ROOM_LOGGED, "{\"type\":\"reload\"}");
    return SH_OK;
}

/*
 * The stream's forces, all or none, read 0 where they stand now, or where their profile says. A
 * recording keeps the zero it began with: it ends (it holds a copy), and the next one begins
 * with the new zero.
 */
static enum sh_status set_zero(const struct wish *wish)
{
    double zero[SH_STREAM_CHANNELS_MAX] = {0.0};
    size_t s = 0;
    if (!sh_live_zero_find_stream(wish->page, wish->object, &s)) {
        return refuse(wish, "there is no such stream", NULL);
    }
    if (is_string_pulled(wish)) {
        return refuse(wish, "the string is pulled", "let it rest for two seconds");
    }
    if (wish->page->id == 0 || has_just_begun(wish)) {
        return refuse(wish, "this recording has just begun", "wait two seconds");
    }
    enum sh_status status = is_said(wish, "to", "profile")
                                ? sh_live_zero_read_own(wish->page, s, zero, wish->refused)
                                : sh_live_zero_read(wish->page, s, zero, wish->refused);
    if (status != SH_OK) {
        return SH_OK;
    }
    sh_live_zero_put(wish->page, s, zero);
    return finish(wish);
}

/* Other sensors, as another archer: the recording ends, the next begins. */
static enum sh_status choose_sensor(const struct wish *wish)
{
    if (is_string_pulled(wish)) {
        return refuse(wish, "the string is pulled", "let it rest for two seconds");
    }
    if (has_just_begun(wish)) {
        return refuse(wish, "this recording has just begun", "wait two seconds");
    }
    return sh_live_choose(wish->page, wish->capture, wish->object, wish->refused, wish->err);
}

/* What makes sense while nothing is recorded. */
static bool is_for_idle(const struct wish *wish)
{
    static const char *const names[] = {"archer", "clock", "sound", "goal", "sensor"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (is_said(wish, "do", names[i])) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_live_obey(struct sh_live_page *page,
                            struct sh_capture *capture,
                            const json_t *object,
                            struct sh_error *refused,
                            struct sh_error *err)
{
    static const struct {
        const char *name;
        enum sh_status (*obey)(const struct wish *wish);
    } wishes[] = {{"score", put_score}, {"end", put_end},          {"note", put_note},
                  {"pain", put_pain},   {"archer", change_archer}, {"finish", finish},
                  {"clock", set_clock}, {"sound", set_sound},      {"goal", set_goal},
                  {"zero", set_zero},   {"sensor", choose_sensor}};
    const struct wish wish = {page, capture, object, refused, err};
    if (!sh_capture_is_recording(capture) && !is_for_idle(&wish)) {
        return refuse(&wish, "nothing is being recorded", "choose a sensor under Setting up");
    }
    for (size_t i = 0; i < sizeof wishes / sizeof wishes[0]; i++) {
        if (is_said(&wish, "do", wishes[i].name)) {
            return wishes[i].obey(&wish);
        }
    }
    return refuse(&wish, "this command is not known", NULL);
}
