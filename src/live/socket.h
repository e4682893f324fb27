/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SOCKET_H
#define SH_LIVE_SOCKET_H

/*
 * The sockets behind the web library's connections, which it does not give out: without them a
 * write to a viewer that stands still could not be ended, and the system would pile up minutes
 * of old messages for a slow one. Test: tests/live/test_server.c.
 */

/*
 * The connected IPv4 socket of this process whose other end is address (dotted) and port; -1:
 * there is none. It stays the library's: valid as long as its connection. Cost: a system call a
 * descriptor.
 */
int sh_socket_find(const char *address, unsigned port);

/* The listening socket of this process at a port; -1: there is none. The library's, too. */
int sh_socket_find_listening(unsigned port);

/* Lets the system hold at most n_bytes of what is not yet sent. Does nothing with -1. */
void sh_socket_set_buffer(int socket, int n_bytes);

/* Ends it both ways, so that reads and writes that wait come back. Does nothing with -1. */
void sh_socket_end(int socket);

#endif
