/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_reader.h"

#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <time.h>

#define US_PER_S  1000000
#define US_PER_MS 1000
#define NS_PER_US 1000
#define NS_PER_S  1000000000L

struct sh_port_reader {
    struct sh_port *port; /* the thread's alone while it runs */
    const char *address;
    int64_t timeout_us; /* of the port's reads */
    bool may_lose;
    bool has_thread;
    pthread_t thread;
    bool has_lock;
    pthread_mutex_t lock;
    pthread_cond_t changed; /* a piece, the end; room; the wish to stop */
    /* under the lock */
    struct sh_piece_queue queue;
    bool should_stop;
    bool has_ended;
    enum sh_status status;
    struct sh_error failure;
    int64_t host_us; /* of the last reading, whatever it brought */
    int64_t listened_us;
    bool has_lost; /* since the last piece that was kept */
    uint64_t n_lost_bytes;
    /* the thread's alone */
    uint8_t bytes[SH_PORT_READER_PIECE_BYTES];
};

struct sh_port_reader_config sh_port_reader_config_default(void)
{
    return (struct sh_port_reader_config){.port = sh_port_config_default(),
                                          .buffer_bytes = SH_PORT_READER_BUFFER_BYTES};
}

static int64_t now_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * US_PER_S + now.tv_nsec / NS_PER_US;
}

/* Under the lock: keeps a piece, waits for room, or lets it go. */
static void keep(struct sh_port_reader *reader, const struct sh_port_reading *reading)
{
    const struct sh_piece piece = {.n_bytes = reading->n_bytes,
                                   .host_time_us = reading->host_time_us,
                                   .listened_us = reader->listened_us,
                                   .follows_loss = reader->has_lost};
    while (!reader->may_lose && !reader->should_stop &&
           !sh_piece_queue_has_room(&reader->queue, piece.n_bytes)) {
        (void)pthread_cond_wait(&reader->changed, &reader->lock);
    }
    if (sh_piece_queue_push(&reader->queue, &piece, reader->bytes) == SH_OK) {
        reader->has_lost = false;
        (void)pthread_cond_broadcast(&reader->changed);
    } else {
        reader->has_lost = true;
        reader->n_lost_bytes += piece.n_bytes;
    }
}

/* Reads once and notes what came; false: the thread has done its work. */
static bool read_once(struct sh_port_reader *reader)
{
    struct sh_port_reading reading;
    struct sh_error failure = {0};
    const int64_t begin_us = now_us();
    enum sh_status status =
        sh_port_read(reader->port, reader->bytes, sizeof reader->bytes, &reading, &failure);
    const int64_t passed_us = now_us() - begin_us;
    (void)pthread_mutex_lock(&reader->lock);
    reader->listened_us += passed_us < reader->timeout_us ? passed_us : reader->timeout_us;
    if (status != SH_OK) {
        reader->status = status;
        reader->failure = failure;
    } else {
        reader->host_us = reading.host_time_us;
    }
    if (status == SH_OK && reading.answer == SH_PORT_DATA) {
        keep(reader, &reading);
    }
    reader->has_ended = status != SH_OK || reading.answer == SH_PORT_END;
    if (reader->has_ended) {
        (void)pthread_cond_broadcast(&reader->changed);
    }
    const bool goes_on = !reader->has_ended && !reader->should_stop;
    (void)pthread_mutex_unlock(&reader->lock);
    return goes_on;
}

static void *run(void *context)
{
    struct sh_port_reader *reader = context;
    while (read_once(reader)) {
    }
    sh_port_close(&reader->port);
    return NULL;
}

static enum sh_status open_lock(struct sh_port_reader *reader, struct sh_error *err)
{
    pthread_condattr_t attributes;
    int os_number = pthread_mutex_init(&reader->lock, NULL);
    if (os_number == 0) {
        (void)pthread_condattr_init(&attributes);
        (void)pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
        os_number = pthread_cond_init(&reader->changed, &attributes);
        (void)pthread_condattr_destroy(&attributes);
        reader->has_lock = os_number == 0;
        if (!reader->has_lock) {
            (void)pthread_mutex_destroy(&reader->lock);
        }
    }
    return reader->has_lock
               ? SH_OK
               : sh_error_set_os(err, os_number, reader->address, NULL, "no lock can be had");
}

/* Signals go to the threads that were there before. */
static enum sh_status start(struct sh_port_reader *reader, struct sh_error *err)
{
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    int os_number = pthread_create(&reader->thread, NULL, run, reader);
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    reader->has_thread = os_number == 0;
    return reader->has_thread ? SH_OK
                              : sh_error_set_os(err, os_number, reader->address,
                                                "see how many threads the system allows",
                                                "no thread can be had to read the port");
}

static enum sh_status check_config(const struct sh_port_reader_config *config,
                                   struct sh_error *err)
{
    if (config->buffer_bytes >= SH_PORT_READER_PIECE_BYTES + SH_PIECE_QUEUE_HEAD_BYTES) {
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, config->port.address,
                        "give room for a piece and its head", "a buffer of %zu bytes",
                        config->buffer_bytes);
}

static enum sh_status open_port(struct sh_port_reader *reader,
                                const struct sh_port_reader_config *config,
                                struct sh_error *err)
{
    if (config->opened == NULL || *config->opened == NULL) {
        return sh_port_open(&config->port, &reader->port, err);
    }
    reader->port = *config->opened;
    *config->opened = NULL;
    sh_port_resume(reader->port, &config->port);
    return SH_OK;
}

enum sh_status sh_port_reader_open(const struct sh_port_reader_config *config,
                                   struct sh_port_reader **out,
                                   struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_port_reader *reader = calloc(1, sizeof *reader);
    if (reader == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, config->port.address, NULL, "out of memory");
    }
    reader->address = config->port.address;
    reader->timeout_us = (int64_t)config->port.timeout_ms * US_PER_MS;
    status = sh_piece_queue_open(&reader->queue, config->buffer_bytes);
    if (status != SH_OK) {
        (void)sh_error_set(err, status, config->port.address, NULL, "out of memory");
        goto out;
    }
    status = open_lock(reader, err);
    if (status != SH_OK) {
        goto out;
    }
    status = open_port(reader, config, err);
    if (status != SH_OK) {
        goto out;
    }
    reader->host_us = now_us();
    reader->may_lose = !config->is_patient && sh_port_is_terminal(reader->port);
    status = start(reader, err);
out:
    if (status == SH_OK) {
        *out = reader;
    } else {
        sh_port_reader_close(&reader);
    }
    return status;
}

/* Under the lock: until there is something to take, or so long. */
static void await(struct sh_port_reader *reader, int timeout_ms)
{
    struct timespec until = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &until);
    long ns = until.tv_nsec + (long)(timeout_ms % 1000) * US_PER_MS * NS_PER_US;
    until.tv_sec += timeout_ms / 1000 + ns / NS_PER_S;
    until.tv_nsec = ns % NS_PER_S;
    int answer = 0;
    while (answer == 0 && reader->queue.n_used_bytes == 0 && !reader->has_ended) {
        answer = pthread_cond_timedwait(&reader->changed, &reader->lock, &until);
    }
}

/* Under the lock: what there is to tell where no piece waits. */
static enum sh_status tell_no_piece(const struct sh_port_reader *reader,
                                    struct sh_port_reader_reading *reading,
                                    struct sh_error *err)
{
    reading->piece =
        (struct sh_piece){.host_time_us = reader->host_us, .listened_us = reader->listened_us};
    reading->answer = reader->has_ended ? SH_PORT_END : SH_PORT_NOTHING_YET;
    if (reader->status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = reader->failure;
    }
    return reader->status;
}

enum sh_status sh_port_reader_read(struct sh_port_reader *reader,
                                   uint8_t *bytes,
                                   size_t n_bytes_max,
                                   int timeout_ms,
                                   struct sh_port_reader_reading *reading,
                                   struct sh_error *err)
{
    *reading = (struct sh_port_reader_reading){.answer = SH_PORT_NOTHING_YET};
    if (n_bytes_max == 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, reader->address, NULL,
                            "no room to read into");
    }
    enum sh_status status = SH_OK;
    (void)pthread_mutex_lock(&reader->lock);
    if (timeout_ms > 0) {
        await(reader, timeout_ms);
    }
    if (sh_piece_queue_find(&reader->queue, bytes, n_bytes_max, &reading->piece)) {
        reading->answer = SH_PORT_DATA;
        if (!reader->may_lose) {
            (void)pthread_cond_broadcast(&reader->changed); /* there is room */
        }
    } else {
        status = tell_no_piece(reader, reading, err);
    }
    (void)pthread_mutex_unlock(&reader->lock);
    return status;
}

uint64_t sh_port_reader_get_lost_bytes(struct sh_port_reader *reader)
{
    (void)pthread_mutex_lock(&reader->lock);
    const uint64_t n_bytes = reader->n_lost_bytes;
    (void)pthread_mutex_unlock(&reader->lock);
    return n_bytes;
}

void sh_port_reader_close(struct sh_port_reader **reader)
{
    if (*reader == NULL) {
        return;
    }
    struct sh_port_reader *closing = *reader;
    if (closing->has_thread) {
        (void)pthread_mutex_lock(&closing->lock);
        closing->should_stop = true;
        (void)pthread_cond_broadcast(&closing->changed);
        (void)pthread_mutex_unlock(&closing->lock);
        (void)pthread_join(closing->thread, NULL);
    }
    if (closing->has_lock) {
        (void)pthread_cond_destroy(&closing->changed);
        (void)pthread_mutex_destroy(&closing->lock);
    }
    sh_port_close(&closing->port);
    sh_piece_queue_close(&closing->queue);
    free(closing);
    *reader = NULL;
}
