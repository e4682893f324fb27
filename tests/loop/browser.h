/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_BROWSER_H
#define SH_TESTS_LOOP_BROWSER_H

#include <jansson.h>

/*
 * What a browser says to the page's server on this machine, and no more: GET, and a WebSocket
 * with short text messages. All fail the running test where they cannot.
 */

/* The port in an address, "http://127.0.0.1:4711/". */
unsigned browser_find_port(const char *address);

/* GET of a path: the JSON that comes (the caller's reference), its status checked. */
json_t *browser_get(unsigned port, const char *path, int status);

/* Opens /ws; its descriptor, for the caller to close. */
int browser_open_socket(unsigned port);

/* Sends a text of up to 125 bytes. */
void browser_say(int socket, const char *text);

/* The next message of a type; others are passed over. The caller's reference. */
json_t *browser_hear(int socket, const char *type);

#endif
