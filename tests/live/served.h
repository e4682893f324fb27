/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TESTS_LIVE_SERVED_H
#define TESTS_LIVE_SERVED_H

#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>

#include "live/server.h"

/* A server with little behind it, and a client that may say anything. Failures end the test. */
#define SERVED_ANSWER_BYTES 65536u

/* An app that says little, and keeps what it was told. */
struct served {
    struct sh_server *server;
    pthread_mutex_t lock;
    char code[16];
    char wish[64];
    unsigned viewer;
};

/* Starts it on a port that is free; to be closed. */
struct served *served_open(bool is_open);
void served_close(struct served *app);

/* Monotonic time, s. */
double served_now_s(void);

/* A connection with 20 s of patience; bytes over it. */
int served_dial(const struct served *app);
void served_send(int end, const char *bytes, size_t n_bytes);

/* Sends a request as it is and gives the status; answer (may be NULL) gets all of it. */
int served_ask(const struct served *app, const char *request, char *answer);

/* Fills in this server: each '#' of a pattern becomes "127.0.0.1:PORT". */
void served_fill_in(const struct served *app,
                    const char *pattern,
                    char request[SERVED_ANSWER_BYTES]);
int served_ask_here(const struct served *app, const char *pattern, char *answer);

#define GET(path, more) "GET " path " HTTP/1.1\r\nHost: #\r\n" more "\r\n"

#define UPGRADE(query, origin)                                                                 \
    "GET /ws" query " HTTP/1.1\r\nHost: #\r\nUpgrade: websocket\r\nConnection: "               \
    "Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: "        \
    "13\r\nSec-WebSocket-Extensions: permessage-deflate\r\nOrigin: " origin "\r\n\r\n"

#endif
