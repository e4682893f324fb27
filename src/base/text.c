/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_FIRST_BYTES 1024u

void sh_text_init(struct sh_text *text, size_t limit_bytes)
{
    *text = (struct sh_text){.limit_bytes = limit_bytes};
}

void sh_text_close(struct sh_text *text)
{
    free(text->data);
    *text = (struct sh_text){.limit_bytes = text->limit_bytes};
}

void sh_text_reset(struct sh_text *text)
{
    text->n_bytes = 0;
    text->status = SH_OK;
    if (text->data != NULL) {
        text->data[0] = '\0';
    }
}

/* Makes room for n_bytes more and the closing NUL. */
static enum sh_status reserve(struct sh_text *text, size_t n_bytes)
{
    if (text->status != SH_OK) {
        return text->status;
    }
    size_t wanted = text->n_bytes + n_bytes + 1;
    if (text->limit_bytes != 0 && wanted > text->limit_bytes) {
        text->status = SH_ERR_FULL;
        return text->status;
    }
    if (wanted <= text->capacity_bytes) {
        return SH_OK;
    }
    size_t capacity = text->capacity_bytes != 0 ? text->capacity_bytes : TEXT_FIRST_BYTES;
    while (capacity < wanted) {
        capacity *= 2;
    }
    char *grown = realloc(text->data, capacity);
    if (grown == NULL) {
        text->status = SH_ERR_MEMORY;
        return text->status;
    }
    text->data = grown;
    text->capacity_bytes = capacity;
    return SH_OK;
}

void sh_text_write(struct sh_text *text, const char *bytes, size_t n_bytes)
{
    if (reserve(text, n_bytes) != SH_OK) {
        return;
    }
    memcpy(text->data + text->n_bytes, bytes, n_bytes);
    text->n_bytes += n_bytes;
    text->data[text->n_bytes] = '\0';
}

void sh_text_puts(struct sh_text *text, const char *string)
{
    sh_text_write(text, string, strlen(string));
}

void sh_text_printf(struct sh_text *text, const char *format, ...)
{
    va_list values;
    va_list again;
    va_start(values, format);
    va_copy(again, values);
    int n_bytes = vsnprintf(NULL, 0, format, values);
    va_end(values);
    if (n_bytes < 0) {
        text->status = text->status != SH_OK ? text->status : SH_ERR_ARGUMENT;
    } else if (reserve(text, (size_t)n_bytes) == SH_OK) {
        (void)vsnprintf(text->data + text->n_bytes, (size_t)n_bytes + 1, format, again);
        text->n_bytes += (size_t)n_bytes;
    }
    va_end(again);
}

void sh_text_put_markup(struct sh_text *text, const char *string)
{
    for (; *string != '\0'; string++) {
        switch (*string) {
        case '&':
            sh_text_puts(text, "&amp;");
            break;
        case '<':
            sh_text_puts(text, "&lt;");
            break;
        case '>':
            sh_text_puts(text, "&gt;");
            break;
        case '"':
            sh_text_puts(text, "&quot;");
            break;
        case '\'':
            sh_text_puts(text, "&#39;");
            break;
        default:
            sh_text_write(text, string, 1);
        }
    }
}
