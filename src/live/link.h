/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_LINK_H
#define SH_LIVE_LINK_H

#include <stddef.h>

/*
 * A WebSocket and the viewer behind it: the web library's four callbacks, and what is kept
 * between them. Text messages of up to SH_LINK_MESSAGE_BYTES are commands; anything else ends
 * the connection. Test: tests/live/test_server.c.
 */
struct mg_connection;
struct sh_link;

#define SH_LINK_MESSAGE_BYTES 16384u

/* The library's callbacks; context is the struct sh_server. */
void sh_link_begin(struct mg_connection *connection, void *context);
int sh_link_take(
    struct mg_connection *connection, int bits, char *bytes, size_t n_bytes, void *context);
void sh_link_end(const struct mg_connection *connection, void *context);

/* Makes its connection end soon. Any thread, as long as it is in the server's list. */
void sh_link_cut(struct sh_link *link);

#endif
