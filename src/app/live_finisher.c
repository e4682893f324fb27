/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_finisher.h"

#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "app/analysis_store.h"
#include "app/home.h"
#include "app/passes.h"
#include "app/wide_stack.h"

struct job {
    struct job *next;
    unsigned id;
    char folder[SH_HOME_PATH_BYTES]; /* a second pass; "": none */
    struct sh_remeasure *measuring;  /* owned; NULL: none */
    struct sh_live_command command;  /* else an edit */
};

struct sh_live_finisher {
    struct sh_live_finisher_config config;
    pthread_t worker;
    pthread_mutex_t lock; /* of all below */
    pthread_cond_t has_changed;
    struct job *first; /* owned */
    struct job *last;
    size_t n;
    bool is_closing;
    struct sh_error err; /* the first */
};

static void tell_final(const struct sh_live_finisher *finisher, unsigned id)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shelf_write_event(finisher->config.shelf, id, "final", &text);
    if (text.status == SH_OK && text.data != NULL) {
        (void)sh_server_tell(finisher->config.server, SH_ROOM_LOGGED, text.data);
    }
    sh_text_close(&text);
}

static enum sh_status
run_passes(const struct sh_live_finisher *finisher, const char *folder, struct sh_error *err)
{
    const struct sh_passes_config config = {.thresholds = finisher->config.thresholds};
    struct sh_analysis analysis = {0};
    struct sh_error refused = {.status = SH_OK};
    enum sh_status status = sh_passes_run(folder, &config, &analysis, &refused);
    if (status == SH_ERR_SHORT) {
        return SH_OK; /* no sample came: there is nothing to find */
    }
    if (status != SH_OK) {
        *err = refused;
        return status;
    }
    status = sh_analysis_store_write(folder, &analysis, err);
    sh_analysis_close(&analysis);
    return status;
}

static void finish(struct sh_live_finisher *finisher, const struct job *job)
{
    struct sh_error err = {.status = SH_OK};
    if (run_passes(finisher, job->folder, &err) != SH_OK) {
        (void)pthread_mutex_lock(&finisher->lock);
        if (finisher->err.status == SH_OK) {
            finisher->err = err;
        }
        (void)pthread_mutex_unlock(&finisher->lock);
    }
    sh_shelf_end(finisher->config.shelf, job->id);
    tell_final(finisher, job->id);
}

static void edit(struct sh_live_finisher *finisher, const struct job *job)
{
    const struct sh_live_command *command = &job->command;
    struct sh_error err = {.status = SH_OK};
    char line[SH_ERROR_LINE_BYTES];
    if (sh_shelf_edit(finisher->config.shelf, job->id, command->object, &err) != SH_OK) {
        sh_error_format(&err, line);
        sh_server_reply(finisher->config.server, command->viewer, command->id, line);
        return;
    }
    sh_server_reply(finisher->config.server, command->viewer, command->id, NULL);
    tell_final(finisher, job->id);
}

/* The next job, taken out; NULL: it is over. */
static struct job *await_job(struct sh_live_finisher *finisher)
{
    struct job *job = NULL;
    (void)pthread_mutex_lock(&finisher->lock);
    while (finisher->n == 0 && !finisher->is_closing) {
        (void)pthread_cond_wait(&finisher->has_changed, &finisher->lock);
    }
    if (finisher->n > 0) {
        job = finisher->first;
        finisher->first = job->next;
        finisher->last = finisher->first != NULL ? finisher->last : NULL;
        finisher->n--;
    }
    (void)pthread_mutex_unlock(&finisher->lock);
    return job;
}

static void *work(void *context)
{
    struct sh_live_finisher *finisher = context;
    struct job *job = NULL;
    while ((job = await_job(finisher)) != NULL) {
        if (job->measuring != NULL) {
            sh_remeasure_run(job->measuring);
            finisher->config.measured(finisher->config.context, job->measuring);
        } else if (job->folder[0] != '\0') {
            finish(finisher, job);
        } else {
            edit(finisher, job);
        }
        sh_live_command_close(&job->command);
        free(job);
    }
    return NULL;
}

static int start(struct sh_live_finisher *finisher)
{
    pthread_attr_t attributes;
    sigset_t all;
    sigset_t before;
    if (pthread_attr_init(&attributes) != 0) {
        return -1;
    }
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    int failure = pthread_attr_setstacksize(&attributes, SH_WIDE_STACK_BYTES);
    failure =
        failure == 0 ? pthread_create(&finisher->worker, &attributes, work, finisher) : failure;
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    (void)pthread_attr_destroy(&attributes);
    return failure;
}

enum sh_status sh_live_finisher_open(const struct sh_live_finisher_config *config,
                                     struct sh_live_finisher **out,
                                     struct sh_error *err)
{
    struct sh_live_finisher *finisher = calloc(1, sizeof *finisher);
    if (finisher == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    finisher->config = *config;
    (void)pthread_mutex_init(&finisher->lock, NULL);
    (void)pthread_cond_init(&finisher->has_changed, NULL);
    if (start(finisher) != 0) {
        (void)pthread_cond_destroy(&finisher->has_changed);
        (void)pthread_mutex_destroy(&finisher->lock);
        free(finisher);
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "there is no thread to be had");
    }
    *out = finisher;
    return SH_OK;
}

enum sh_status sh_live_finisher_close(struct sh_live_finisher **finisher, struct sh_error *err)
{
    if (finisher == NULL || *finisher == NULL) {
        return SH_OK;
    }
    struct sh_live_finisher *closing = *finisher;
    (void)pthread_mutex_lock(&closing->lock);
    closing->is_closing = true;
    (void)pthread_cond_broadcast(&closing->has_changed);
    (void)pthread_mutex_unlock(&closing->lock);
    (void)pthread_join(closing->worker, NULL);
    const enum sh_status status = closing->err.status;
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = closing->err;
    }
    (void)pthread_cond_destroy(&closing->has_changed);
    (void)pthread_mutex_destroy(&closing->lock);
    free(closing);
    *finisher = NULL;
    return status;
}

/* False: there are n_max already. */
static bool put_job(struct sh_live_finisher *finisher, struct job *job, size_t n_max)
{
    (void)pthread_mutex_lock(&finisher->lock);
    const bool has_room = finisher->n < n_max;
    if (has_room) {
        if (finisher->last != NULL) {
            finisher->last->next = job;
        } else {
            finisher->first = job;
        }
        finisher->last = job;
        finisher->n++;
        (void)pthread_cond_signal(&finisher->has_changed);
    }
    (void)pthread_mutex_unlock(&finisher->lock);
    return has_room;
}

void sh_live_finisher_end(struct sh_live_finisher *finisher, unsigned id, const char *folder)
{
    struct job *job = calloc(1, sizeof *job);
    if (job == NULL) {
        (void)pthread_mutex_lock(&finisher->lock);
        (void)sh_error_set(&finisher->err, SH_ERR_MEMORY, folder, "analyze it",
                           "out of memory");
        (void)pthread_mutex_unlock(&finisher->lock);
        return;
    }
    job->id = id;
    (void)snprintf(job->folder, sizeof job->folder, "%s", folder);
    (void)put_job(finisher, job, SIZE_MAX);
}

bool sh_live_finisher_edit(struct sh_live_finisher *finisher,
                           unsigned id,
                           struct sh_live_command *command)
{
    struct job *job = calloc(1, sizeof *job);
    if (job == NULL) {
        return false;
    }
    job->id = id;
    job->command = *command;
    if (!put_job(finisher, job, SH_LIVE_FINISHER_EDITS_MAX)) {
        free(job);
        return false;
    }
    *command = (struct sh_live_command){.object = NULL};
    return true;
}

bool sh_live_finisher_measure(struct sh_live_finisher *finisher, struct sh_remeasure *measuring)
{
    struct job *job = calloc(1, sizeof *job);
    if (job == NULL) {
        return false;
    }
    job->measuring = measuring;
    (void)pthread_mutex_lock(&finisher->lock);
    job->next = finisher->first;
    finisher->first = job;
    finisher->last = finisher->last != NULL ? finisher->last : job;
    finisher->n++;
    (void)pthread_cond_signal(&finisher->has_changed);
    (void)pthread_mutex_unlock(&finisher->lock);
    return true;
}
