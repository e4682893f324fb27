/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/viewer.h"

#include <pthread.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>

struct sh_viewer {
    struct sh_viewer_sink sink;
    pthread_t writer;
    pthread_mutex_t lock; /* of all below */
    pthread_cond_t has_some;
    struct sh_message *queue[SH_VIEWER_QUEUE_MAX]; /* a ring */
    size_t first;
    size_t n;
    size_t n_bytes;
    bool is_cut;
};

static struct sh_message *pop(struct sh_viewer *viewer)
{
    struct sh_message *message = viewer->queue[viewer->first];
    viewer->first = (viewer->first + 1) % SH_VIEWER_QUEUE_MAX;
    viewer->n--;
    viewer->n_bytes -= message->n_bytes;
    return message;
}

/* The next message, once there is one; NULL: cut off. */
static struct sh_message *await_message(struct sh_viewer *viewer)
{
    struct sh_message *message = NULL;
    (void)pthread_mutex_lock(&viewer->lock);
    while (viewer->n == 0 && !viewer->is_cut) {
        (void)pthread_cond_wait(&viewer->has_some, &viewer->lock);
    }
    if (!viewer->is_cut) {
        message = pop(viewer);
    }
    (void)pthread_mutex_unlock(&viewer->lock);
    return message;
}

/* Ends it, once; the lock is held. */
static void cut(struct sh_viewer *viewer)
{
    while (viewer->n > 0) {
        sh_message_drop(pop(viewer));
    }
    if (!viewer->is_cut) {
        viewer->is_cut = true;
        viewer->sink.cut(viewer->sink.context);
        (void)pthread_cond_signal(&viewer->has_some);
    }
}

static void *write_all(void *context)
{
    struct sh_viewer *viewer = context;
    struct sh_message *message = NULL;
    while ((message = await_message(viewer)) != NULL) {
        enum sh_status status =
            viewer->sink.write(viewer->sink.context, message->text, message->n_bytes);
        sh_message_drop(message);
        if (status != SH_OK) {
            (void)pthread_mutex_lock(&viewer->lock);
            cut(viewer);
            (void)pthread_mutex_unlock(&viewer->lock);
        }
    }
    return NULL;
}

/* Signals are for the main thread. */
static int start_writer(struct sh_viewer *viewer)
{
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    int failure = pthread_create(&viewer->writer, NULL, write_all, viewer);
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    return failure;
}

enum sh_status sh_viewer_open(const struct sh_viewer_sink *sink, struct sh_viewer **out)
{
    struct sh_viewer *viewer = calloc(1, sizeof *viewer);
    if (viewer == NULL) {
        return SH_ERR_MEMORY;
    }
    viewer->sink = *sink;
    (void)pthread_mutex_init(&viewer->lock, NULL);
    (void)pthread_cond_init(&viewer->has_some, NULL);
    if (start_writer(viewer) != 0) {
        (void)pthread_cond_destroy(&viewer->has_some);
        (void)pthread_mutex_destroy(&viewer->lock);
        free(viewer);
        return SH_ERR_IO;
    }
    *out = viewer;
    return SH_OK;
}

void sh_viewer_close(struct sh_viewer **viewer)
{
    if (viewer == NULL || *viewer == NULL) {
        return;
    }
    struct sh_viewer *closing = *viewer;
    (void)pthread_mutex_lock(&closing->lock);
    cut(closing);
    (void)pthread_mutex_unlock(&closing->lock);
    (void)pthread_join(closing->writer, NULL);
    (void)pthread_cond_destroy(&closing->has_some);
    (void)pthread_mutex_destroy(&closing->lock);
    free(closing);
    *viewer = NULL;
}

enum sh_status sh_viewer_push(struct sh_viewer *viewer, struct sh_message *message)
{
    enum sh_status status = SH_ERR_FULL;
    (void)pthread_mutex_lock(&viewer->lock);
    if (!viewer->is_cut && viewer->n < SH_VIEWER_QUEUE_MAX &&
        viewer->n_bytes + message->n_bytes <= SH_VIEWER_QUEUE_BYTES) {
        viewer->queue[(viewer->first + viewer->n) % SH_VIEWER_QUEUE_MAX] =
            sh_message_hold(message);
        viewer->n++;
        viewer->n_bytes += message->n_bytes;
        status = SH_OK;
        (void)pthread_cond_signal(&viewer->has_some);
    } else {
        cut(viewer);
    }
    (void)pthread_mutex_unlock(&viewer->lock);
    return status;
}
