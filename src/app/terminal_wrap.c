/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/terminal_wrap.h"

#include <string.h>

#include "report/utf8.h"

#define HANGING 2u

/* Bytes of a line up to the last blank at which it can be parted; all of them where it fits or
 * cannot be parted. The first n_lead bytes are its indent. */
static size_t find_part(const char *line, size_t n_bytes, size_t n_lead, size_t n_columns)
{
    size_t part = n_bytes;
    if (sh_utf8_get_columns(line, n_bytes) <= n_columns) {
        return n_bytes;
    }
    for (size_t i = n_lead; i < n_bytes; i++) {
        if (line[i] != ' ') {
            continue;
        }
        if (part < n_bytes && sh_utf8_get_columns(line, i) > n_columns) {
            break;
        }
        part = i;
    }
    return part;
}

static void wrap_line(const char *line, size_t n_bytes, size_t n_columns, struct sh_text *out)
{
    size_t n_lead = strspn(line, " ");
    n_lead = n_lead < n_bytes ? n_lead : n_bytes;
    if (sh_utf8_get_columns(line, n_bytes) <= n_columns) {
        sh_text_write(out, line, n_bytes);
        return;
    }
    while (n_bytes > n_lead && line[n_bytes - 1] == ' ') {
        n_bytes--;
    }
    const bool has_room = n_lead + HANGING < n_columns / 2;
    const size_t n_next = has_room ? n_lead + HANGING : 0;
    size_t part = find_part(line, n_bytes, n_lead, n_columns);
    sh_text_write(out, line, part);
    while (part < n_bytes) {
        line += part;
        n_bytes -= part;
        const size_t n_blanks = strspn(line, " "); /* something is behind them */
        line += n_blanks;
        n_bytes -= n_blanks;
        part = find_part(line, n_bytes, 0, n_columns - n_next);
        sh_text_printf(out, "\n%*s", (int)n_next, "");
        sh_text_write(out, line, part);
    }
}

void sh_terminal_wrap(const char *text, size_t n_columns, struct sh_text *out)
{
    while (*text != '\0') {
        const size_t n_bytes = strcspn(text, "\n");
        wrap_line(text, n_bytes, n_columns, out);
        text += n_bytes;
        if (*text == '\n') {
            sh_text_puts(out, "\n");
            text++;
        }
    }
}
