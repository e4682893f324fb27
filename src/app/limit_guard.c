/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_guard.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/day.h"
#include "report/load_words.h"

struct sh_limit_guard {
    struct sh_limit_guard_config config;
    struct sh_limit_watch *watch;
    char athlete[SH_SESSION_NAME_BYTES];
    char date[SH_DAY_BYTES];
    bool has_begun;
    bool has_rating;
    double rating; /* the last one */
    struct sh_text list;
};

/* A limit in force as the recording has it. */
static struct sh_mark make_mark(const struct sh_person_limit *limit,
                                const struct sh_limit_plan *plan)
{
    struct sh_mark mark = {.kind = SH_MARK_LIMIT};
    const struct sh_mark_number value = {true, plan->value};
    *(limit->most.is_given ? &mark.most : &mark.least) = value;
    (void)snprintf(mark.what, sizeof mark.what, "%s", limit->what);
    (void)snprintf(mark.finger, sizeof mark.finger, "%s", limit->finger);
    (void)snprintf(mark.per, sizeof mark.per, "%s", limit->per);
    (void)snprintf(mark.set_by, sizeof mark.set_by, "%s", limit->set_by);
    (void)snprintf(mark.from, sizeof mark.from, "%s", limit->from);
    (void)snprintf(mark.until, sizeof mark.until, "%s", limit->until);
    return mark;
}

static void
list_limit(struct sh_text *list, const struct sh_person_limit *limit, struct sh_limit_plan plan)
{
    const struct sh_load_sheet_limit entry = {.limit = limit, .plan = plan};
    sh_text_puts(list, "limit: ");
    sh_load_words_put_limit(list, &entry);
    sh_text_puts(list, "\n");
}

static enum sh_status copy_limits(struct sh_limit_guard *guard,
                                  const struct sh_limit_store_query *query,
                                  struct sh_error *err)
{
    const struct sh_person *person = &query->diary->person;
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(query->diary);
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < person->n_limits && status == SH_OK; i++) {
        struct sh_limit_plan plan;
        sh_limit_plan_find(&person->limits[i], &history, query->day, &plan);
        if (!plan.is_in_force) {
            continue;
        }
        struct sh_mark mark = make_mark(&person->limits[i], &plan);
        sh_limit_store_fill(query, &mark);
        list_limit(&guard->list, &person->limits[i], plan);
        status = sh_session_add_mark(guard->config.session, &mark);
    }
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, person->name, NULL, "%s", sh_status_text(status));
}

static enum sh_status read_person(struct sh_limit_guard *guard,
                                  int day,
                                  struct sh_text *warnings,
                                  struct sh_error *err)
{
    const struct sh_limit_guard_config *config = &guard->config;
    const struct sh_diary_config reading = {.home = config->home,
                                            .athlete = guard->athlete,
                                            .with_draws = true,
                                            .may_analyze = config->may_analyze,
                                            .is_one_day = true,
                                            .day = day,
                                            .skip = config->skip,
                                            .n_skip = config->n_skip};
    struct sh_diary diary;
    enum sh_status status = sh_diary_read(&reading, &diary, err);
    if (status == SH_OK) {
        const struct sh_limit_store_query query = {.diary = &diary,
                                                   .store = config->store,
                                                   .athlete = guard->athlete,
                                                   .session = config->session->session,
                                                   .day = day};
        guard->has_rating = sh_limit_store_find_rating(&query, &guard->rating);
        status = copy_limits(guard, &query, err);
        bool has_limits = config->session->n_marks > 0;
        if (has_limits && diary.warnings.data != NULL) {
            sh_text_puts(warnings, diary.warnings.data);
        }
    }
    sh_diary_close(&diary);
    return status;
}

static void clear_marks(struct sh_session *session)
{
    free(session->marks);
    session->marks = NULL;
    session->n_marks = 0;
}

enum sh_status sh_limit_guard_open(const struct sh_limit_guard_config *config,
                                   struct sh_limit_guard **out,
                                   struct sh_text *warnings,
                                   struct sh_error *err)
{
    struct sh_limit_guard *guard = calloc(1, sizeof *guard);
    int day = 0;
    clear_marks(config->session);
    if (guard == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    guard->config = *config;
    sh_text_init(&guard->list, 0);
    (void)snprintf(guard->athlete, sizeof guard->athlete, "%s", config->session->athlete);
    enum sh_status status = SH_OK;
    if (sh_day_parse_instant(config->session->started, config->session->utc_offset_min, &day)) {
        sh_day_format(day, guard->date);
    }
    if (guard->athlete[0] != '\0') {
        status = read_person(guard, day, warnings, err);
    }
    if (status == SH_OK) {
        const struct sh_limit_watch_config watching = {
            .session = config->session, .date = guard->date, .sink = config->sink};
        status = sh_limit_watch_open(&watching, &guard->watch, err);
    }
    if (status == SH_OK) {
        *out = guard;
    } else {
        clear_marks(config->session);
        sh_text_close(&guard->list);
        free(guard);
    }
    return status;
}

void sh_limit_guard_close(struct sh_limit_guard **guard)
{
    if (guard == NULL || *guard == NULL) {
        return;
    }
    struct sh_limit_store_take take = {.tally = *sh_limit_watch_get_tally((*guard)->watch),
                                       .has_rating = (*guard)->has_rating,
                                       .rating = (*guard)->rating};
    (void)snprintf(take.athlete, sizeof take.athlete, "%s", (*guard)->athlete);
    /* without memory the store says so: what was before is then unknown */
    (void)sh_limit_store_add((*guard)->config.store, &take);
    sh_limit_watch_close(&(*guard)->watch);
    sh_text_close(&(*guard)->list);
    free(*guard);
    *guard = NULL;
}

void sh_limit_guard_list(const struct sh_limit_guard *guard, struct sh_text *text)
{
    if (guard->list.status == SH_OK && guard->list.data != NULL) {
        sh_text_puts(text, guard->list.data);
    }
}

enum sh_status sh_limit_guard_push(struct sh_limit_guard *guard,
                                   const struct sh_block *block,
                                   double first_s,
                                   double step_s,
                                   struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (!guard->has_begun) {
        guard->has_begun = true;
        status = sh_limit_watch_begin(guard->watch, err);
    }
    return status == SH_OK ? sh_limit_watch_push(guard->watch, block, first_s, step_s, err)
                           : status;
}

enum sh_status sh_limit_guard_take(struct sh_limit_guard *guard,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err)
{
    return sh_limit_watch_take(guard->watch, record, err);
}

enum sh_status sh_limit_guard_amend(struct sh_limit_guard *guard,
                                    const struct sh_shot_record *records,
                                    size_t n,
                                    struct sh_error *err)
{
    return sh_limit_watch_amend(guard->watch, records, n, err);
}

enum sh_limit_state sh_limit_guard_get_state(const struct sh_limit_guard *guard,
                                             const struct sh_mark *limit)
{
    return sh_limit_watch_get_state(guard->watch, limit);
}

bool sh_limit_guard_is_quiet(const struct sh_limit_guard *guard)
{
    return sh_limit_watch_is_quiet(guard->watch);
}

struct sh_limit_guard_cautions sh_limit_guard_rate(struct sh_limit_guard *guard,
                                                   const struct sh_mark *mark)
{
    const double rating = mark->rating.value;
    const struct sh_limit_guard_cautions cautions = {
        .has_stop = rating > 0.0 && strcmp(mark->when, "during") == 0,
        .has_ask = guard->has_rating && rating > guard->rating};
    guard->has_rating = true;
    guard->rating = rating;
    return cautions;
}

/* A text cut to fit, at the border of a character. */
static void copy_text(const char *from, char to[SH_MARK_TEXT_BYTES])
{
    size_t n_bytes = strlen(from);
    if (n_bytes >= SH_MARK_TEXT_BYTES) {
        n_bytes = SH_MARK_TEXT_BYTES - 1;
        while (n_bytes > 0 && ((unsigned char)from[n_bytes] & 0xC0u) == 0x80u) {
            n_bytes--;
        }
    }
    memcpy(to, from, n_bytes);
    to[n_bytes] = '\0';
}

struct sh_mark sh_limit_guard_make_mark(const struct sh_limit_event *event)
{
    struct sh_mark mark = {.t_s = event->t_s,
                           .kind = event->kind == SH_LIMIT_EVENT_REACHED ? SH_MARK_LIMIT_REACHED
                                                                         : SH_MARK_WARNING};
    (void)snprintf(mark.what, sizeof mark.what, "%s", event->limit->what);
    (void)snprintf(mark.finger, sizeof mark.finger, "%s", event->limit->finger);
    (void)snprintf(mark.per, sizeof mark.per, "%s", event->limit->per);
    copy_text(event->text, mark.text);
    return mark;
}
