/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_ORIGIN_H
#define SH_LIVE_ORIGIN_H

#include <stdbool.h>
#include <stddef.h>

/*
 * By which names this machine may be asked for, and whether a request comes from its own page.
 * A page from elsewhere whose name was pointed at this machine (DNS rebinding) still asks by
 * that name; one that writes across sites still says where it comes from.
 * Test: tests/live/test_origin.c.
 */
#define SH_ORIGIN_NAMES_MAX  24u
#define SH_ORIGIN_NAME_BYTES 80u
#define SH_ORIGIN_BYTES      (SH_ORIGIN_NAME_BYTES + 16u) /* "http://name:65535" */

struct sh_origin_names {
    char name[SH_ORIGIN_NAMES_MAX][SH_ORIGIN_NAME_BYTES];
    size_t n;
};

/*
 * Finds the names: "localhost" and "127.0.0.1"; with is_open also the machine's own IPv4
 * addresses now, its host name, and that with ".local". What finds no room is left out. Any
 * thread.
 */
void sh_origin_find_names(bool is_open, struct sh_origin_names *out);

/*
 * Is a request's Host (NULL: it has none) one of the names with this port? Port 80 may be left
 * out. Case does not count; everything else must be exact.
 */
bool sh_origin_is_host(const struct sh_origin_names *names, unsigned port, const char *host);

/* Is a request's Origin (NULL: it has none) "http://" and its Host? */
bool sh_origin_is_same(const char *origin, const char *host);

#endif
