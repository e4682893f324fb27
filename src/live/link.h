/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_LINK_H
#define SH_LIVE_LINK_H

#include <stddef.h>

/*
 * A WebSocket and the viewer behind it: the web library's callbacks, and what is kept between
 * them. Text messages of up to SH_WEB_FRAME_BYTES are commands; anything else ends the
 * connection. The library shakes hands and writes; reading is done here, since it has no bound
 * for what a client may send (live/web_frame.h). Test: tests/live/test_link.c.
 */
struct mg_connection;
struct sh_link;

/*
 * The library's callbacks; context is the struct sh_server. Begin returns when the connection
 * has ended, so that take only ever gets what came along with the handshake: it ends the rest.
 */
void sh_link_begin(struct mg_connection *connection, void *context);
int sh_link_take(
    struct mg_connection *connection, int bits, char *bytes, size_t n_bytes, void *context);
void sh_link_end(const struct mg_connection *connection, void *context);

/* Makes its connection end soon. Any thread, as long as it is in the server's list. */
void sh_link_cut(struct sh_link *link);

#endif
