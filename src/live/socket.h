/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SOCKET_H
#define SH_LIVE_SOCKET_H

#include <stddef.h>

#include "base/status.h"

/*
 * The sockets behind the web library's connections, which it does not give out: without them a
 * write to a viewer that stands still could not be ended, and the system would pile up minutes
 * of old messages for a slow one. Test: tests/live/test_link.c.
 */

/*
 * The connected IPv4 socket of this process whose other end is address (dotted) and port; -1:
 * there is none. It stays the library's: valid as long as its connection. Cost: a system call a
 * descriptor.
 */
int sh_socket_find(const char *address, unsigned port);

/* The listening socket of this process at a port; -1: there is none. The library's, too. */
int sh_socket_find_listening(unsigned port);

/*
 * Reads what has come, up to n_max bytes, and waits for it up to patience_ms. *n 0: nothing
 * came. SH_ERR_IO: the connection has ended, or there is none (-1).
 */
enum sh_status
sh_socket_read(int socket, int patience_ms, unsigned char *bytes, size_t n_max, size_t *n);

/* Lets the system hold at most n_bytes of what is not yet sent. Does nothing with -1. */
void sh_socket_set_buffer(int socket, int n_bytes);

/* Ends it one way: what is still to come is not read. Does nothing with -1. */
void sh_socket_end_reading(int socket);

/* Ends it both ways, so that reads and writes that wait come back. Does nothing with -1. */
void sh_socket_end(int socket);

#endif
