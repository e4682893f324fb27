/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/utf8.h"

#include <string.h>
#include <utf8proc.h>

#define REPLACEMENT "\xEF\xBF\xBD" /* U+FFFD */

/* Decodes one character of n_bytes > 0 bytes; -1 where there is none. *n_used is at least 1. */
static utf8proc_int32_t decode(const char *string, size_t n_bytes, size_t *n_used)
{
    utf8proc_int32_t point = -1;
    utf8proc_ssize_t used =
        utf8proc_iterate((const utf8proc_uint8_t *)string, (utf8proc_ssize_t)n_bytes, &point);
    *n_used = used > 0 ? (size_t)used : 1;
    return used > 0 ? point : -1;
}

static bool is_control(utf8proc_int32_t point)
{
    return point < 0x20 || (point >= 0x7F && point < 0xA0);
}

void sh_utf8_put(struct sh_text *text, const char *string, enum sh_utf8_control control)
{
    sh_utf8_put_bytes(text, string, strlen(string), control);
}

void sh_utf8_put_bytes(struct sh_text *text,
                       const char *bytes,
                       size_t n_bytes,
                       enum sh_utf8_control control)
{
    size_t n_used = 0;
    for (size_t i = 0; i < n_bytes; i += n_used) {
        utf8proc_int32_t point = decode(bytes + i, n_bytes - i, &n_used);
        if (point < 0 || (control == SH_UTF8_MASK_CONTROL && is_control(point))) {
            sh_text_puts(text, REPLACEMENT);
        } else {
            sh_text_write(text, bytes + i, n_used);
        }
    }
}

bool sh_utf8_is_valid(const char *string)
{
    size_t n_bytes = strlen(string);
    size_t n_used = 0;
    for (size_t i = 0; i < n_bytes; i += n_used) {
        if (decode(string + i, n_bytes - i, &n_used) < 0) {
            return false;
        }
    }
    return true;
}

size_t sh_utf8_get_columns(const char *string, size_t n_bytes)
{
    size_t n_columns = 0;
    size_t n_used = 0;
    for (size_t i = 0; i < n_bytes; i += n_used) {
        utf8proc_int32_t point = decode(string + i, n_bytes - i, &n_used);
        n_columns += point < 0 ? 1 : (size_t)utf8proc_charwidth(point);
    }
    return n_columns;
}
