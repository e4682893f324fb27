/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/page_address.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "app/desktop.h"

#define PORT_MAX      65535ul
#define ADDRESSES_MAX 8u

enum sh_status sh_page_address_read_port(const char *where,
                                         const char *word,
                                         struct sh_server_config *config,
                                         struct sh_error *err)
{
    char *end = NULL;
    errno = 0;
    const unsigned long port = strtoul(word, &end, 10);
    if (word[0] < '0' || word[0] > '9' || *end != '\0' || errno != 0 || port > PORT_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, where, "give 0 to 65535", "'%s' is no port",
                            word);
    }
    config->port = (unsigned)port;
    return SH_OK;
}

void sh_page_address_say(const struct sh_server *server, bool is_open, bool is_shown)
{
    char address[ADDRESSES_MAX][SH_SERVER_ADDRESS_BYTES];
    const size_t n = sh_server_get_addresses(server, address, ADDRESSES_MAX);
    for (size_t i = 0; i < n; i++) {
        printf("%s\n", address[i]);
    }
    (void)fflush(stdout);
    if (is_open) {
        (void)fprintf(stderr, "Others on this network can read what the page shows: "
                              "it is sent as plain text.\n");
    }
    if (is_shown && n > 0) {
        (void)sh_desktop_open(address[0]);
    }
}
