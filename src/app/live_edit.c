/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "app/correction.h"
#include "app/edit_json.h"
#include "app/live_inside.h"

#define DIGEST_FIRST 14695981039346656037u /* FNV-1a, 64 bits */
#define DIGEST_PRIME 1099511628211u
#define LATER_S      1.0 /* a release so long behind a draw's is another draw's */

/* One change being made. */
struct change {
    struct sh_live_page *page;
    struct sh_capture *capture;
    const struct sh_live_command *command;
    struct sh_error *refused;
    struct sh_error *err;
};

static enum sh_status refuse(const struct change *change, const char *what, const char *todo)
{
    (void)sh_error_set(change->refused, SH_ERR_ARGUMENT, NULL, todo, "%s", what);
    return SH_OK;
}

static void reply(struct sh_live_page *page,
                  const struct sh_live_waiting *waiting,
                  const struct sh_error *refused)
{
    char line[SH_ERROR_LINE_BYTES] = "";
    if (refused->status != SH_OK) {
        sh_error_format(refused, line);
    }
    sh_server_reply(page->server, waiting->viewer, waiting->id,
                    refused->status == SH_OK ? NULL : line);
}

/* Everybody who waits for figures. */
static void reply_all(struct sh_live_page *page, const struct sh_error *refused)
{
    for (size_t i = 0; i < page->n_waiting; i++) {
        reply(page, &page->waiting[i], refused);
    }
    page->n_waiting = 0;
}

/* Has the draws measured whose corrections are not in their figures; one job at a time. Who
 * waits is answered where there is nothing to be done. */
static void reconcile(struct sh_live_page *page)
{
    struct sh_error refused = {.status = SH_OK};
    struct sh_remeasure *job = NULL;
    if (page->is_measuring) {
        return;
    }
    if (sh_live_draws_plan(&page->draws, &job) == SH_OK && job == NULL) {
        reply_all(page, &refused);
        return;
    }
    if (job != NULL) {
        job->id = page->id;
        memcpy(job->folder, page->folder, sizeof job->folder);
        page->is_measuring = sh_live_finisher_measure(page->finisher, job);
    }
    if (!page->is_measuring) {
        sh_remeasure_close(&job);
        (void)sh_error_set(&refused, SH_ERR_MEMORY, NULL,
                           "it is kept, and counts at the recording's end", "out of memory");
        reply_all(page, &refused);
    }
}

static uint64_t digest_bytes(uint64_t digest, const void *bytes, size_t n)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < n; i++) {
        digest = (digest ^ at[i]) * DIGEST_PRIME;
    }
    return digest;
}

/* Of what judging may change in a draw. */
static uint64_t digest_findings(const struct sh_shot_record *record)
{
    uint64_t digest = digest_bytes(DIGEST_FIRST, record->quality, sizeof record->quality);
    for (size_t i = 0; i < record->n_findings; i++) {
        const struct sh_finding *finding = &record->findings[i];
        digest = digest_bytes(digest, &finding->code, sizeof finding->code);
        digest = digest_bytes(digest, finding->text, strlen(finding->text));
    }
    return digest;
}

static bool is_measured_in(const struct sh_remeasure *job, unsigned n)
{
    size_t i = 0;
    while (i < job->n && job->draws[i].shot.n != n) {
        i++;
    }
    return i < job->n;
}

/* What the last draw's fingers bore at most is shown until the next draw. */
static void show_peaks(struct sh_live_page *page, const struct sh_remeasure *job)
{
    const struct sh_analysis *shots = &page->shots;
    const struct sh_shot_record *last = &shots->shots[shots->n_shots - 1];
    const bool is_later = page->released_s > sh_analysis_get_time_s(last) + LATER_S;
    if (is_later || !is_measured_in(job, last->shot.n)) {
        return;
    }
    for (size_t i = 0; i < SH_LIVE_FORCE_FINGERS; i++) {
        sh_live_force_set_peak(&page->force, i,
                               sh_catalog_get(&last->measures, SH_MEASURE_FINGER_PEAK, i));
    }
}

/* Puts what was measured in its place, judges all draws, and tells those that have changed.
 * What could not be done is refused; the status is other than SH_OK only where the capture
 * itself cannot go on. */
static enum sh_status put_measured(struct sh_live_page *page,
                                   struct sh_capture *capture,
                                   const struct sh_remeasure *job,
                                   struct sh_error *refused,
                                   struct sh_error *err)
{
    struct sh_analysis *shots = &page->shots;
    uint64_t *before = calloc(shots->n_shots + 1, sizeof *before);
    if (before == NULL) {
        (void)sh_error_set(refused, SH_ERR_MEMORY, NULL,
                           "it is kept, and counts at the recording's end", "out of memory");
        return SH_OK;
    }
    for (size_t i = 0; i < shots->n_shots; i++) {
        before[i] = digest_findings(&shots->shots[i]);
    }
    sh_live_draws_put(&page->draws, job, shots);
    const enum sh_status status = sh_capture_amend(capture, shots->shots, shots->n_shots, err);
    show_peaks(page, job);
    for (size_t i = 0; i < shots->n_shots; i++) {
        const struct sh_shot_record *record = &shots->shots[i];
        if (is_measured_in(job, record->shot.n) || digest_findings(record) != before[i]) {
            (void)sh_shelf_replace_shot(page->shelf, page->id, record);
            sh_live_tell_shot(page, record->shot.n);
        }
    }
    free(before);
    return status;
}

void sh_live_edit_take_measured(void *context, struct sh_remeasure *job)
{
    struct sh_live_page *page = context;
    (void)pthread_mutex_lock(&page->lock);
    page->measured = job; /* one at a time: the last has been taken out */
    (void)pthread_mutex_unlock(&page->lock);
}

enum sh_status
sh_live_edit_step(struct sh_live_page *page, struct sh_capture *capture, struct sh_error *err)
{
    struct sh_error refused = {.status = SH_OK};
    enum sh_status status = SH_OK;
    (void)pthread_mutex_lock(&page->lock);
    struct sh_remeasure *job = page->measured;
    page->measured = NULL;
    (void)pthread_mutex_unlock(&page->lock);
    if (job == NULL) {
        return SH_OK;
    }
    page->is_measuring = false;
    if (job->id == page->id) {
        refused = job->err;
        if (job->status == SH_OK) {
            status = put_measured(page, capture, job, &refused, err);
        }
    }
    if (refused.status != SH_OK) {
        reply_all(page, &refused);
    } else {
        reconcile(page);
    }
    sh_remeasure_close(&job);
    return status;
}

void sh_live_edit_end(struct sh_live_page *page)
{
    const struct sh_error done = {.status = SH_OK};
    reply_all(page, &done);
    sh_live_draws_close(&page->draws);
}

/* The record of the draw that is named; NULL: there is none. */
static const struct sh_shot_record *find_record(const struct change *change)
{
    const json_t *value = json_object_get(change->command->object, "shot");
    const struct sh_analysis *shots = &change->page->shots;
    for (size_t i = 0; json_is_integer(value) && i < shots->n_shots; i++) {
        if (json_integer_value(value) == (json_int_t)shots->shots[i].shot.n) {
            return &shots->shots[i];
        }
    }
    return NULL;
}

/* The marks have changed: the draws are corrected by them, measured, and the viewer answered
 * after that. */
static enum sh_status follow_marks(const struct change *change)
{
    struct sh_live_page *page = change->page;
    const struct sh_session *session = sh_capture_get_session(change->capture);
    page->waiting[page->n_waiting++] =
        (struct sh_live_waiting){change->command->viewer, change->command->id};
    if (sh_live_draws_correct(&page->draws, session->marks, session->n_marks) != SH_OK) {
        struct sh_error refused = {.status = SH_OK};
        (void)sh_error_set(&refused, SH_ERR_MEMORY, NULL,
                           "it is kept, and counts at the recording's end", "out of memory");
        reply_all(page, &refused);
        return SH_OK;
    }
    reconcile(page);
    return SH_OK;
}

/* Whether something about a draw can be changed now; said where not. */
static bool can_change(const struct change *change, const struct sh_shot_record **record)
{
    const struct sh_live_page *page = change->page;
    *record = find_record(change);
    if (*record == NULL || page->id == 0) {
        (void)refuse(change, "there is no such shot in this recording", NULL);
        return false;
    }
    if (page->n_waiting == SH_LIVE_WAITING_MAX) {
        (void)refuse(change, "too much at once", "wait a second");
        return false;
    }
    return true;
}

static enum sh_status correct(const struct change *change)
{
    const struct sh_shot_record *record = NULL;
    struct sh_mark mark;
    if (!can_change(change, &record)) {
        return SH_OK;
    }
    if (change->page->n_marks >= SH_LIVE_MARKS_MAX) {
        return refuse(change, "this recording has 2000 entries", "end it with finish");
    }
    const struct sh_session *session = sh_capture_get_session(change->capture);
    if (sh_edit_json_read_correction(change->command->object, record->shot.n,
                                     sh_analysis_get_time_s(record), &mark,
                                     change->refused) != SH_OK ||
        sh_live_draws_check(&change->page->draws, session->marks, session->n_marks, &mark,
                            change->refused) != SH_OK) {
        return SH_OK;
    }
    enum sh_status status = sh_capture_keep_mark(change->capture, &mark, change->err);
    return status == SH_OK ? follow_marks(change) : status;
}

/* The page's own list forgets the mark, and viewers are told. */
static void forget_mark(struct sh_live_page *page, const struct sh_mark *mark)
{
    for (size_t i = page->n_marks; i-- > 0;) {
        const struct sh_mark *own = &page->marks[i];
        const bool is_elsewhere = own->t_s < mark->t_s || own->t_s > mark->t_s;
        if (own->kind == mark->kind && !is_elsewhere && strcmp(own->event, mark->event) == 0) {
            sh_live_tell_mark(page, "unmark", own);
            page->n_marks--;
            memmove(&page->marks[i], &page->marks[i + 1],
                    (page->n_marks - i) * sizeof *page->marks);
            return;
        }
    }
}

static enum sh_status undo(const struct change *change)
{
    const struct sh_shot_record *record = NULL;
    enum sh_event event = SH_EVENT_COUNT;
    if (!can_change(change, &record) ||
        sh_edit_json_read_event(change->command->object, &event, change->refused) != SH_OK) {
        return SH_OK;
    }
    const struct sh_session *session = sh_capture_get_session(change->capture);
    const size_t index =
        sh_correction_find_last(session->marks, session->n_marks, &record->shot, event);
    if (index == session->n_marks) {
        (void)sh_error_set(change->refused, SH_ERR_NOT_FOUND, NULL, NULL,
                           "the %s of draw %u has no correction to take back",
                           sh_shot_event_title(event), record->shot.n);
        return SH_OK;
    }
    const struct sh_mark mark = session->marks[index];
    enum sh_status status = sh_capture_remove_mark(change->capture, index, change->err);
    if (status != SH_OK) {
        return status;
    }
    forget_mark(change->page, &mark);
    return follow_marks(change);
}

static enum sh_status set_tag(const struct change *change)
{
    struct sh_live_page *page = change->page;
    struct sh_error failed = {.status = SH_OK};
    const struct sh_live_waiting waiting = {change->command->viewer, change->command->id};
    struct sh_tag tag;
    if (page->session == NULL) {
        return refuse(change, "nothing is being recorded", NULL);
    }
    if (sh_edit_json_read_tag(change->command->object, &tag, change->refused) != SH_OK) {
        return SH_OK;
    }
    enum sh_status status = sh_capture_set_tag(change->capture, &tag, &failed);
    if (status == SH_ERR_FULL) {
        (void)sh_error_set(change->refused, status, NULL, "take one away first",
                           "there are %u tags already", SH_SESSION_TAGS_MAX);
        return SH_OK;
    }
    if (status != SH_OK) {
        *change->err = failed;
        return status;
    }
    sh_live_tell_tags(page, sh_capture_get_session(change->capture));
    reply(page, &waiting, change->refused);
    return SH_OK;
}

static const struct {
    const char *name;
    enum sh_status (*make)(const struct change *change);
} changes[] = {{"tag", set_tag}, {"correct", correct}, {"undo", undo}};

#define N_CHANGES (sizeof changes / sizeof changes[0])

/* Its place among changes; N_CHANGES: it is none of them. */
static size_t find_change(const json_t *object)
{
    const char *name = json_string_value(json_object_get(object, "do"));
    size_t i = 0;
    while (i < N_CHANGES && (name == NULL || strcmp(changes[i].name, name) != 0)) {
        i++;
    }
    return i;
}

bool sh_live_edit_is_edit(const json_t *object)
{
    return find_change(object) < N_CHANGES;
}

enum sh_status sh_live_edit_run(struct sh_live_page *page,
                                struct sh_capture *capture,
                                const struct sh_live_command *command,
                                struct sh_error *err)
{
    struct sh_error refused = {.status = SH_OK};
    const struct change change = {page, capture, command, &refused, err};
    const struct sh_live_waiting waiting = {command->viewer, command->id};
    enum sh_status status = changes[find_change(command->object)].make(&change);
    if (status == SH_OK && refused.status != SH_OK) {
        reply(page, &waiting, &refused);
    }
    return status;
}
