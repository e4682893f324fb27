/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_REQUEST_H
#define SH_LIVE_REQUEST_H

/*
 * One request, from its check to its answer; the library's own ways of serving are never
 * reached. Test: tests/live/test_server.c.
 */
struct mg_connection;

/*
 * The library's callback for every request: 0 lets it go on to the WebSocket handshake, which
 * has been allowed; else the status that was sent.
 */
int sh_request_begin(struct mg_connection *connection);

/* The library's callback for what it refuses by itself: 0, the answer has been sent. */
int sh_request_fail(struct mg_connection *connection, int status, const char *message);

#endif
