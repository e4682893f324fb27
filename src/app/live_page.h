/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_PAGE_H
#define SH_APP_LIVE_PAGE_H

#include "app/capture.h"
#include "live/server.h"

/*
 * A capture's front on a page: a server that shows it, and takes commands from whoever is in
 * control. Recordings of the capture that have ended are analysed meanwhile and can be looked
 * at and edited. Test: tests/live/test_evening.py.
 */
struct sh_live_page;

struct sh_live_page_config {
    struct sh_capture_setup *setup; /* kept; only who captures changes it */
    struct sh_server_config server;
    bool is_measured; /* for benches, see sh_live_page_say_measures */
};

/* Starts the server. Statuses of sh_server_open and sh_shelf_open. Gives *out. */
enum sh_status sh_live_page_open(const struct sh_live_page_config *config,
                                 struct sh_live_page **out,
                                 struct sh_error *err);

/*
 * Analyses what is still to be analysed, ends the server, sets *page to NULL. Takes NULL
 * inside. The first failure of an analysis.
 */
enum sh_status sh_live_page_close(struct sh_live_page **page, struct sh_error *err);

/* The front; keeps page. */
struct sh_capture_front sh_live_page_get_front(struct sh_live_page *page);

/* The server, for its addresses. */
const struct sh_server *sh_live_page_get_server(const struct sh_live_page *page);

/*
 * Says on standard error, where is_measured: from the sample that completed a release to the
 * mark that a page had painted, ms; and the processor time of this thread, of what the page
 * takes of it, and of all others, as seconds and as a share of the time that passed. To be
 * called by the thread that captured, before the page is closed.
 */
void sh_live_page_say_measures(struct sh_live_page *page);

#endif
