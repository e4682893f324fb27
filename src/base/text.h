/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_TEXT_H
#define SH_BASE_TEXT_H

#include <stddef.h>

#include "base/status.h"

/*
 * A text that grows while it is written. The first failure (memory, or the limit) is kept in
 * status and all later writes are ignored, so that only the end has to be checked.
 *
 *     struct sh_text text;
 *     sh_text_init(&text, limit_bytes);
 *     sh_text_printf(&text, ...);
 *     if (text.status == SH_OK) use(text.data);
 *     sh_text_close(&text);
 */
struct sh_text {
    char *data; /* NUL-terminated once anything was written; NULL before */
    size_t n_bytes;
    size_t capacity_bytes;
    size_t limit_bytes;
    enum sh_status status;
};

/* An empty text that refuses to grow over limit_bytes (0: no limit) with SH_ERR_FULL. */
void sh_text_init(struct sh_text *text, size_t limit_bytes);

/* Frees what the text holds. Takes a closed text. */
void sh_text_close(struct sh_text *text);

/* Empties the text and forgets its failure; keeps the memory. */
void sh_text_reset(struct sh_text *text);

/* Appends bytes, a string, or a formatted string (borrows all of them). */
void sh_text_write(struct sh_text *text, const char *bytes, size_t n_bytes);
void sh_text_puts(struct sh_text *text, const char *string);
void sh_text_printf(struct sh_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Appends a string with & < > " ' escaped as HTML and XML want it in text and attributes. */
void sh_text_put_markup(struct sh_text *text, const char *string);

#endif
