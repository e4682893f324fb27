/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/width_check.h"

#include <string.h>

#include "report/utf8.h"
#include "support/cmocka_all.h"

static void check_line(const char *line, size_t n_bytes, size_t n_columns)
{
    const size_t n = sh_utf8_get_columns(line, n_bytes);
    if (n > n_columns) {
        fail_msg("%zu columns, not %zu: %.*s", n, n_columns, (int)n_bytes, line);
    }
}

void width_check(const char *text, size_t n_columns)
{
    for (const char *line = text; *line != '\0';) {
        const size_t n_bytes = strcspn(line, "\n");
        check_line(line, n_bytes, n_columns);
        line += n_bytes + (line[n_bytes] == '\n' ? 1 : 0);
    }
}
