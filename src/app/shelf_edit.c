/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/analysis_store.h"
#include "app/correction.h"
#include "app/edit_json.h"
#include "app/passes.h"
#include "app/recording_edit.h"
#include "app/shelf_inside.h"
#include "app/wide_stack.h"
#include "recording/session_json.h"
#include "series/rating.h"

#define SCORE_MAX 10.0
#define BEHIND_S  0.05 /* a mark about an arrow stands so long behind its release */
#define END_S     0.1  /* the mark of an end a little later */

struct kind;

/* What is to be changed, and what has to be known of the recording. */
struct edit {
    struct sh_shelf *shelf;
    const json_t *object;
    unsigned id;
    char folder[SH_HOME_PATH_BYTES];
    double duration_s;
    double last_s; /* of the last shot; NaN: none */
    bool has_shot;
    struct sh_shot shot; /* that it is about */
    double shot_s;
    struct sh_mark mark; /* to be added */
    struct sh_tag tag;   /* to be set; value "": removed */
    enum sh_event event; /* whose last correction is taken back */
    enum sh_status (*apply)(void *context, struct sh_session *session, struct sh_error *err);
    bool is_analysed; /* what was found may change by it */
    const struct kind *kind;
    struct sh_error *err;
    enum sh_status status;
};

static enum sh_status refuse(struct sh_error *err, const char *what, const char *todo)
{
    return sh_error_set(err, SH_ERR_ARGUMENT, NULL, todo, "%s", what);
}

/* A number of the object between two limits; false where it is not there or no such number. */
static bool find_number(const json_t *value, double least, double most, double *out)
{
    if (!json_is_number(value)) {
        return false;
    }
    *out = json_number_value(value);
    return *out >= least && *out <= most;
}

/* A text of the object that fits, its NUL included; empty where missing. False: too long. */
static bool copy_text(const json_t *object, const char *key, char *out, size_t n_bytes)
{
    const char *text = json_string_value(json_object_get(object, key));
    out[0] = '\0';
    if (text == NULL || strlen(text) >= n_bytes) {
        return text == NULL;
    }
    memcpy(out, text, strlen(text) + 1);
    return true;
}

static enum sh_status add_mark(void *context, struct sh_session *session, struct sh_error *err)
{
    const struct edit *edit = context;
    enum sh_status status = sh_session_add_mark(session, &edit->mark);
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, edit->folder, NULL, "%s", sh_status_text(status));
}

static enum sh_status set_tag(void *context, struct sh_session *session, struct sh_error *err)
{
    const struct edit *edit = context;
    enum sh_status status = sh_session_set_tag(session, &edit->tag);
    return status == SH_OK ? SH_OK
                           : sh_error_set(err, status, edit->folder, "take one away first",
                                          "there are %u tags already", SH_SESSION_TAGS_MAX);
}

static enum sh_status take_back(void *context, struct sh_session *session, struct sh_error *err)
{
    const struct edit *edit = context;
    const size_t index =
        sh_correction_find_last(session->marks, session->n_marks, &edit->shot, edit->event);
    return index < session->n_marks
               ? sh_session_remove_mark(session, index)
               : sh_error_set(err, SH_ERR_NOT_FOUND, edit->folder, NULL,
                              "the %s of draw %u has no correction to take back",
                              sh_shot_event_title(edit->event), edit->shot.n);
}

static enum sh_status read_score(struct edit *edit, struct sh_error *err)
{
    edit->mark.kind = SH_MARK_ARROW;
    edit->mark.score.is_given = find_number(json_object_get(edit->object, "score"), 0.0,
                                            SCORE_MAX, &edit->mark.score.value);
    if (!edit->mark.score.is_given || !edit->has_shot) {
        return refuse(err, "no score of an arrow", "give shot and a score of 0 to 10");
    }
    edit->mark.t_s = edit->shot_s + BEHIND_S;
    return SH_OK;
}

static enum sh_status read_end(struct edit *edit, struct sh_error *err)
{
    const json_t *scores = json_object_get(edit->object, "scores");
    size_t n = json_array_size(scores);
    double after_s = edit->has_shot ? edit->shot_s : edit->last_s;
    edit->mark.kind = SH_MARK_END;
    edit->mark.shot.is_given = false;
    edit->mark.t_s = isfinite(after_s) ? after_s + END_S : edit->duration_s;
    for (size_t i = 0; i < n && n <= SH_MARK_SCORES_MAX; i++) {
        edit->mark.n_scores +=
            find_number(json_array_get(scores, i), 0.0, SCORE_MAX, &edit->mark.scores[i]) ? 1
                                                                                          : 0;
    }
    return n > 0 && edit->mark.n_scores == n
               ? SH_OK
               : refuse(err, "no scores of an end", "give 1 to 72 scores of 0 to 10");
}

static enum sh_status read_note(struct edit *edit, struct sh_error *err)
{
    edit->mark.kind = SH_MARK_NOTE;
    edit->mark.t_s = edit->has_shot ? edit->shot_s + BEHIND_S : edit->duration_s;
    bool fits = copy_text(edit->object, "text", edit->mark.text, sizeof edit->mark.text);
    return fits && edit->mark.text[0] != '\0'
               ? SH_OK
               : refuse(err, "no note", "give a text of up to 255 bytes");
}

static enum sh_status read_tag(struct edit *edit, struct sh_error *err)
{
    edit->apply = set_tag;
    return sh_edit_json_read_tag(edit->object, &edit->tag, err);
}

static enum sh_status read_pain(struct edit *edit, struct sh_error *err)
{
    edit->mark.kind = SH_MARK_PAIN;
    edit->mark.shot.is_given = false;
    edit->mark.rating.is_given = find_number(json_object_get(edit->object, "rating"), 0.0,
                                             SH_RATING_MAX, &edit->mark.rating.value);
    bool fits = copy_text(edit->object, "when", edit->mark.when, sizeof edit->mark.when);
    enum sh_rating_when when = SH_RATING_AFTER;
    bool is_when = fits && sh_rating_when_find(edit->mark.when, &when);
    edit->mark.t_s = when == SH_RATING_BEFORE ? 0.0 : edit->duration_s;
    return is_when && edit->mark.rating.is_given
               ? SH_OK
               : refuse(err, "no rating of pain",
                        "give when (before, during, after) and 0 to 10");
}

static enum sh_status read_event(struct edit *edit, struct sh_error *err)
{
    edit->is_analysed = true;
    return edit->has_shot ? sh_edit_json_read_event(edit->object, &edit->event, err)
                          : refuse(err, "no event of a draw", "give shot and event");
}

/* Whether the new correction would be used as the draw now stands. */
static enum sh_status check_correction(const struct edit *edit, struct sh_error *err)
{
    struct sh_corrections corrections;
    struct sh_shot corrected = edit->shot;
    enum sh_status status = sh_corrections_open(&edit->mark, 1, &corrections);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    sh_corrections_apply(&corrections, &corrected);
    bool is_used = corrections.n == 1 && corrections.list[0].state == SH_CORRECTION_USED;
    sh_corrections_close(&corrections);
    return is_used ? SH_OK
                   : sh_error_set(err, SH_ERR_ARGUMENT, edit->folder,
                                  "put it between the events beside it",
                                  "a %s there does not go with the other events of draw %u",
                                  sh_shot_event_title(edit->event), edit->shot.n);
}

static enum sh_status read_correct(struct edit *edit, struct sh_error *err)
{
    enum sh_status status = read_event(edit, err);
    if (status == SH_OK) {
        status = sh_edit_json_read_correction(edit->object, edit->shot.n, edit->shot_s,
                                              &edit->mark, err);
    }
    return status == SH_OK ? check_correction(edit, err) : status;
}

static enum sh_status read_undo(struct edit *edit, struct sh_error *err)
{
    edit->apply = take_back;
    return read_event(edit, err);
}

static const struct kind {
    const char *name;
    enum sh_status (*read)(struct edit *edit, struct sh_error *err);
} kinds[] = {
    {"score", read_score}, {"end", read_end},   {"note", read_note},       {"tag", read_tag},
    {"pain", read_pain},   {"undo", read_undo}, {"correct", read_correct},
};

static const struct kind *find_kind(const json_t *object)
{
    const char *name = json_string_value(json_object_get(object, "do"));
    for (size_t i = 0; name != NULL && i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(kinds[i].name, name) == 0) {
            return &kinds[i];
        }
    }
    return NULL;
}

bool sh_shelf_is_edit(const json_t *object)
{
    return find_kind(object) != NULL;
}

/* What is known of the recording and of the shot that is named. With the lock held. */
static enum sh_status
look_up(struct edit *edit, const struct sh_shelf_book *book, struct sh_error *err)
{
    const json_t *shot = json_object_get(edit->object, "shot");
    const struct sh_analysis *analysis = &book->analysis;
    double n = 0.0;
    memcpy(edit->folder, book->folder, sizeof edit->folder);
    edit->duration_s = analysis->duration_s;
    edit->last_s = analysis->n_shots > 0
                       ? sh_analysis_get_time_s(&analysis->shots[analysis->n_shots - 1])
                       : (double)NAN;
    if (book->is_running) {
        return sh_error_set(err, SH_ERR_BUSY, book->name, "wait for its end",
                            "the recording still runs");
    }
    if (shot == NULL || json_is_null(shot)) {
        return SH_OK;
    }
    const struct sh_shot_record *record = find_number(shot, 1.0, SH_ANALYSIS_SHOTS_MAX, &n)
                                              ? sh_shelf_find_shot(book, (unsigned)n)
                                              : NULL;
    if (record == NULL) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, book->name, NULL, "there is no such draw");
    }
    edit->has_shot = true;
    edit->shot = record->shot;
    edit->shot_s = sh_analysis_get_time_s(record);
    edit->mark.shot = (struct sh_mark_number){true, record->shot.n};
    return SH_OK;
}

/* A copy of what the shelf has; it is to be closed whatever comes back. */
static enum sh_status copy_analysis(struct edit *edit, struct sh_analysis *out)
{
    enum sh_status status = SH_ERR_BUSY;
    (void)pthread_mutex_lock(&edit->shelf->lock);
    const struct sh_shelf_book *book = sh_shelf_find(edit->shelf, edit->id);
    if (book->has_analysis) {
        const struct sh_analysis *from = &book->analysis;
        status = SH_OK;
        sh_analysis_init(out, from->recording, from->athlete);
        out->duration_s = from->duration_s;
        memcpy(out->quality, from->quality, sizeof out->quality);
        out->n_quality = from->n_quality;
        for (size_t i = 0; i < from->n_history && status == SH_OK; i++) {
            status = sh_analysis_add_history(out, from->history[i]);
        }
        for (size_t i = 0; i < from->n_shots && status == SH_OK; i++) {
            status = sh_analysis_add(out, &from->shots[i]);
        }
    }
    (void)pthread_mutex_unlock(&edit->shelf->lock);
    return status;
}

/* After the change: what is found now, kept on the shelf and beside the samples. */
static enum sh_status renew(struct edit *edit, struct sh_error *err)
{
    struct sh_analysis analysis = {.n_shots = 0};
    struct sh_session session = {.n_streams = 0};
    const struct sh_passes_config config = {.thresholds = &edit->shelf->thresholds};
    enum sh_status status = SH_OK;
    if (edit->is_analysed || copy_analysis(edit, &analysis) != SH_OK) {
        sh_analysis_close(&analysis);
        status = sh_passes_run(edit->folder, &config, &analysis, err);
    }
    if (status == SH_OK) {
        status = sh_session_json_read(edit->folder, &session, NULL, err);
    }
    if (status == SH_OK) {
        /* what cannot be written is worked out again the next time */
        struct sh_error unwritten = {.status = SH_OK};
        (void)sh_analysis_store_write(edit->folder, &analysis, &unwritten);
        (void)pthread_mutex_lock(&edit->shelf->lock);
        sh_shelf_install(edit->shelf, sh_shelf_find(edit->shelf, edit->id), &analysis,
                         &session);
        (void)pthread_mutex_unlock(&edit->shelf->lock);
    }
    sh_analysis_close(&analysis);
    sh_session_close(&session);
    return status;
}

static enum sh_status run(struct edit *edit, struct sh_error *err)
{
    enum sh_status status = sh_shelf_load(edit->shelf, edit->id, err);
    if (status != SH_OK) {
        return status;
    }
    (void)pthread_mutex_lock(&edit->shelf->lock);
    status = look_up(edit, sh_shelf_find(edit->shelf, edit->id), err);
    (void)pthread_mutex_unlock(&edit->shelf->lock);
    if (status == SH_OK) {
        status = edit->kind->read(edit, err);
    }
    if (status == SH_OK) {
        const struct sh_recording_edit change = {edit->apply, edit};
        status = sh_recording_edit_run(edit->folder, &change, err);
    }
    return status == SH_OK ? renew(edit, err) : status;
}

static void run_edit(void *context)
{
    struct edit *edit = context;
    edit->status = run(edit, edit->err);
}

enum sh_status
sh_shelf_edit(struct sh_shelf *shelf, unsigned id, const json_t *object, struct sh_error *err)
{
    const struct kind *kind = find_kind(object);
    if (kind == NULL) {
        return refuse(err, "not understood",
                      "do one of score, end, note, tag, pain, correct, undo");
    }
    struct edit *edit = calloc(1, sizeof *edit);
    if (edit == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    edit->shelf = shelf;
    edit->id = id;
    edit->object = object;
    edit->apply = add_mark;
    edit->kind = kind;
    edit->err = err;
    (void)pthread_mutex_lock(&shelf->edit_lock);
    enum sh_status status = sh_wide_stack_run(run_edit, edit);
    status = status == SH_OK ? edit->status
                             : sh_error_set(err, status, NULL, "try again", "out of memory");
    (void)pthread_mutex_unlock(&shelf->edit_lock);
    free(edit);
    return status;
}
