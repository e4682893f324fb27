/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/paragraph.h"

#include <string.h>

#include "report/utf8.h"

void sh_paragraph_init(struct sh_paragraph *paragraph,
                       struct sh_text *text,
                       size_t n_columns,
                       const char *lead,
                       size_t n_indent)
{
    *paragraph = (struct sh_paragraph){
        .text = text, .n_columns = n_columns, .n_indent = n_indent, .is_at_start = true};
    sh_text_puts(text, lead);
    paragraph->column = sh_utf8_get_columns(lead, strlen(lead));
}

static void break_line(struct sh_paragraph *paragraph)
{
    sh_text_printf(paragraph->text, "\n%*s", (int)paragraph->n_indent, "");
    paragraph->column = paragraph->n_indent;
    paragraph->is_at_start = true;
}

static void put_word(struct sh_paragraph *paragraph, const char *word, size_t n_bytes)
{
    size_t n_columns = sh_utf8_get_columns(word, n_bytes);
    if (!paragraph->is_at_start && paragraph->column + 1 + n_columns > paragraph->n_columns) {
        break_line(paragraph);
    }
    if (!paragraph->is_at_start) {
        sh_text_puts(paragraph->text, " ");
        paragraph->column++;
    }
    sh_utf8_put_bytes(paragraph->text, word, n_bytes, SH_UTF8_MASK_CONTROL);
    paragraph->column += n_columns;
    paragraph->is_at_start = false;
}

void sh_paragraph_put(struct sh_paragraph *paragraph, const char *string)
{
    for (const char *at = string + strspn(string, " "); *at != '\0'; at += strspn(at, " ")) {
        size_t n_bytes = strcspn(at, " ");
        put_word(paragraph, at, n_bytes);
        at += n_bytes;
    }
}

void sh_paragraph_end(struct sh_paragraph *paragraph)
{
    sh_text_puts(paragraph->text, "\n");
    paragraph->column = 0;
}
