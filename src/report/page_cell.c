/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_cell.h"

#include <stdbool.h>
#include <string.h>

#define PLUS_MINUS " \xC2\xB1"
#define TO         " to "
#define PART_BYTES 128u

/* Where the second part begins, behind a blank; NULL: it is one piece. */
static const char *find_second(const char *figure)
{
    const char *sign = strstr(figure, PLUS_MINUS);
    const char *to = strstr(figure, TO);
    if (sign != NULL) {
        return sign + 1;
    }
    return to != NULL ? to + strlen(TO) : NULL;
}

/* The cell's beginning. */
static void open_cell(struct sh_text *text, const char *label, bool is_two)
{
    sh_text_puts(text, is_two ? "<td class=\"two\"" : "<td");
    if (label != NULL) {
        sh_text_puts(text, " data-label=\"");
        sh_text_put_markup(text, label);
        sh_text_puts(text, "\"");
    }
    sh_text_puts(text, ">");
}

void sh_page_cell_put(struct sh_text *text, const char *label, const char *figure)
{
    char first[PART_BYTES];
    const char *second = find_second(figure);
    if (second == NULL || (size_t)(second - figure) > sizeof first) {
        open_cell(text, label, false);
        sh_text_put_markup(text, figure);
        sh_text_puts(text, "</td>");
        return;
    }
    const size_t n = (size_t)(second - figure) - 1;
    memcpy(first, figure, n);
    first[n] = '\0';
    open_cell(text, label, true);
    sh_text_puts(text, "<span>");
    sh_text_put_markup(text, first);
    sh_text_puts(text, "</span> <span>");
    sh_text_put_markup(text, second);
    sh_text_puts(text, "</span></td>");
}
