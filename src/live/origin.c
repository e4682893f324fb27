/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/origin.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#define SCHEME    "http://"
#define HTTP_PORT 80u

static void add_name(struct sh_origin_names *names, const char *name, const char *ending)
{
    const size_t n_bytes = strlen(name) + strlen(ending);
    if (names->n < SH_ORIGIN_NAMES_MAX && name[0] != '\0' && n_bytes < SH_ORIGIN_NAME_BYTES) {
        (void)snprintf(names->name[names->n++], SH_ORIGIN_NAME_BYTES, "%s%s", name, ending);
    }
}

static void add_addresses(struct sh_origin_names *names)
{
    struct ifaddrs *list = NULL;
    if (getifaddrs(&list) != 0) {
        return;
    }
    for (const struct ifaddrs *at = list; at != NULL; at = at->ifa_next) {
        char text[INET_ADDRSTRLEN];
        struct sockaddr_in address;
        if (at->ifa_addr == NULL || at->ifa_addr->sa_family != AF_INET) {
            continue;
        }
        memcpy(&address, at->ifa_addr, sizeof address);
        if (inet_ntop(AF_INET, &address.sin_addr, text, sizeof text) != NULL) {
            add_name(names, text, "");
        }
    }
    freeifaddrs(list);
}

void sh_origin_find_names(bool is_open, struct sh_origin_names *out)
{
    char host[SH_ORIGIN_NAME_BYTES] = {0};
    *out = (struct sh_origin_names){0};
    add_name(out, "localhost", "");
    add_name(out, "127.0.0.1", "");
    if (!is_open) {
        return;
    }
    if (gethostname(host, sizeof host - 1) == 0) {
        add_name(out, host, "");
        add_name(out, host, ".local");
    }
    add_addresses(out);
}

bool sh_origin_is_host(const struct sh_origin_names *names, unsigned port, const char *host)
{
    char full[SH_ORIGIN_BYTES];
    for (size_t i = 0; host != NULL && i < names->n; i++) {
        (void)snprintf(full, sizeof full, "%s:%u", names->name[i], port);
        const bool is_bare = port == HTTP_PORT && strcasecmp(host, names->name[i]) == 0;
        if (is_bare || strcasecmp(host, full) == 0) {
            return true;
        }
    }
    return false;
}

bool sh_origin_is_same(const char *origin, const char *host)
{
    const size_t n_scheme = strlen(SCHEME);
    return origin != NULL && host != NULL && strncasecmp(origin, SCHEME, n_scheme) == 0 &&
           strcasecmp(origin + n_scheme, host) == 0;
}
