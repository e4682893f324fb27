/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PARAGRAPH_H
#define SH_REPORT_PARAGRAPH_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/*
 * Running text in a terminal: words are put one after another and break into lines of a width,
 * which is counted in columns (report/utf8.h). The state of a line lives in the struct.
 *
 * Test of all: tests/report/test_paragraph.c.
 */
struct sh_paragraph {
    struct sh_text *text; /* keeps */
    size_t n_columns;     /* of a line */
    size_t n_indent;      /* of each line after the first */
    size_t column;        /* where the line stands */
    bool is_at_start;     /* no word has been put on this line */
};

/* Begins a paragraph; the first line begins with lead, the others with n_indent blanks. */
void sh_paragraph_init(struct sh_paragraph *paragraph,
                       struct sh_text *text,
                       size_t n_columns,
                       const char *lead,
                       size_t n_indent);

/*
 * Puts the words of a string, apart by blanks. A word that does not fit begins a new line; one
 * that is wider than a line stands alone. Control characters and bytes that are not UTF-8
 * become U+FFFD.
 */
void sh_paragraph_put(struct sh_paragraph *paragraph, const char *string);

/* Ends the line. */
void sh_paragraph_end(struct sh_paragraph *paragraph);

#endif
