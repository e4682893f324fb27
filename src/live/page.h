/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_PAGE_H
#define SH_LIVE_PAGE_H

#include <stddef.h>

/*
 * The files of the live page, bundled when the program was built and held in it. Built without
 * the page (no npm, or SH_PAGE off) there is one file, "/", which says so.
 */

/* One file. All static: never freed, never changed. */
struct sh_page_file {
    const char *path; /* as in the address: "/", "/page.js" */
    const char *type; /* its media type: "text/html; charset=utf-8" */
    const unsigned char *bytes;
    size_t n_bytes;
};

/*
 * The file at a path, exactly as written; NULL where there is none. Any thread. Cost: O(files).
 * Test: tests/live/test_page.c.
 */
const struct sh_page_file *sh_page_find(const char *path);

#endif
