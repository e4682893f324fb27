/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SERVER_PARTS_H
#define SH_LIVE_SERVER_PARTS_H

#include <civetweb.h>
#include <pthread.h>
#include <semaphore.h>
#include <stdatomic.h>

#include "live/gate.h"
#include "live/link.h"
#include "live/origin.h"
#include "live/server.h"

/* What the server's own files share; nobody else includes this. */

struct sh_server {
    struct sh_server_config config;
    struct sh_server_content content;
    struct sh_room *room;
    struct mg_context *library;
    unsigned port;
    char cookie[32]; /* its name: the port is in it */
    atomic_bool has_started;
    char trouble[256]; /* what the library said first before */
    /* Of gate and names; held until all above is set. */
    pthread_mutex_t gate_lock;
    struct sh_gate gate;
    struct sh_origin_names names;
    double names_s;            /* when they were found */
    sem_t turns;               /* that content may be asked at once */
    pthread_mutex_t link_lock; /* of both below */
    bool is_closing;
    struct sh_link *link[SH_ROOM_VIEWERS_MAX]; /* NULL: none */
};

/* Seconds of the monotonic clock. */
double sh_server_now_s(void);

/*
 * A hello for a viewer (0: for none yet), to be freed by sh_text_close. *seq: what it says is
 * up to this logged message.
 */
void sh_server_put_hello(struct sh_server *server,
                         unsigned viewer,
                         struct sh_text *text,
                         uint64_t *seq);

#endif
