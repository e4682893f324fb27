/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_PAGE_ADDRESS_H
#define SH_APP_PAGE_ADDRESS_H

#include "live/server.h"

/* Where a page is served: what the commands that serve one have in common. Test of all:
 * tests/loop/test_review.c. */

/* Reads --http-port, 0 to 65535; where names it in err ("live --http-port"). SH_ERR_ARGUMENT.
 */
enum sh_status sh_page_address_read_port(const char *where,
                                         const char *word,
                                         struct sh_server_config *config,
                                         struct sh_error *err);

/*
 * Prints the page's addresses on standard output, a line each, and on standard error who else
 * can read it where it is open; shows it in the browser where is_shown and there is a desktop.
 */
void sh_page_address_say(const struct sh_server *server, bool is_open, bool is_shown);

#endif
