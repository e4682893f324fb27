/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SERVER_H
#define SH_LIVE_SERVER_H

#include <jansson.h>
#include <stdbool.h>

#include "base/text.h"
#include "live/room.h"

/*
 * The local web server: the page's files, JSON on request, and a WebSocket to each viewer.
 * What is told and answered is the app's (struct sh_server_content); who may ask, how much and
 * how often is decided in here. docs/live.md has the addresses and the messages.
 *
 * It listens on this machine alone, or with is_open on the local network, where nothing but the
 * page's files is given without the code (live/gate.h). Requests under a strange Host, across
 * sites, too large, too slow or for anything not listed are refused.
 *
 * Test: tests/live/test_server.c, tests/live/test_link.c, tests/live/test_attack.py.
 */
struct sh_server;

/*
 * What the app brings. All may be called from several of the server's threads at once, and
 * during the app's own calls of sh_server_tell: lock what they share.
 */
struct sh_server_content {
    /* Appends the members of a hello that are the app's, each after a comma. */
    void (*hello)(void *context, struct sh_text *text);
    /*
     * Answers GET of a path under "/api/" (as sent, not decoded; query "" where there is none):
     * appends JSON and returns 200; or returns another HTTP status, with {"error": ...} or
     * nothing appended. SH_SERVER_TURNS at once, others wait.
     */
    int (*get)(void *context, const char *path, const char *query, struct sh_text *text);
    /*
     * A viewer in control wants something: object is borrowed, "do" in it a string. To be
     * answered now or later by sh_server_reply with this viewer and id.
     */
    void (*command)(void *context, unsigned viewer, json_int_t id, const json_t *object);
    /* The page has painted a release (see is_measured); NULL: not wanted. */
    void (*painted)(void *context, double sample_ms);
    /* The code to come in with is another one. Called once from sh_server_open, too. */
    void (*code)(void *context, const char *code);
    void *context;
};

#define SH_SERVER_TURNS 4u

struct sh_server_config {
    unsigned port; /* 0: any that is free */
    bool is_open;  /* to the local network */
};

/*
 * Starts the server and its threads. Copies content, keeps its context. SH_ERR_BUSY: the port
 * is taken; SH_ERR_IO: it could not be started for another reason; SH_ERR_MEMORY. From the main
 * thread; ignores SIGPIPE and SIGCHLD from now on. Gives *out.
 */
enum sh_status sh_server_open(const struct sh_server_config *config,
                              const struct sh_server_content *content,
                              struct sh_server **out,
                              struct sh_error *err);

/* Ends all connections, waits for all threads, sets *server to NULL. Takes NULL inside. Not
 * from within content's functions. */
void sh_server_close(struct sh_server **server);

/* The port it listens on. */
unsigned sh_server_get_port(const struct sh_server *server);

#define SH_SERVER_ADDRESS_BYTES 112u

/*
 * The addresses it can be reached by, "http://…/": first the machine's own, then, where it is
 * open, those of the local network. Returns how many were written, n_max at the most.
 */
size_t sh_server_get_addresses(const struct sh_server *server,
                               char (*address)[SH_SERVER_ADDRESS_BYTES],
                               size_t n_max);

/* Tells viewers (see sh_room_tell); takes some microseconds a viewer, never waits. Any thread.
 */
enum sh_status
sh_server_tell(struct sh_server *server, enum sh_room_audience audience, const char *text);

/* Answers a command: fine where error is NULL, else error is one line for a person. Any thread.
 */
void sh_server_reply(struct sh_server *server,
                     unsigned viewer,
                     json_int_t id,
                     const char *error);

/* Does somebody watch the sensors? Any thread. */
bool sh_server_is_watched(const struct sh_server *server);

#endif
