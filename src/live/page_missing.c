/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "live/page.h"

/* Stands in for the bundled page where there was none to bundle. */

static const unsigned char text[] =
    "<!doctype html>\n"
    "<html lang=\"en\">\n"
    "<meta charset=\"utf-8\">\n"
    "<title>stringhand</title>\n"
    "<h1>This program was built without its page</h1>\n"
    "<p>Recording goes on. For the page, install nodejs and npm, and build the program "
    "again.</p>\n"
    "</html>\n";

static const struct sh_page_file file = {"/", "text/html; charset=utf-8", text,
                                         sizeof text - 1};

const struct sh_page_file *sh_page_find(const char *path)
{
    return strcmp(path, file.path) == 0 ? &file : NULL;
}
