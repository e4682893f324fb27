/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv_text.h"

#include <string.h>

#include "report/utf8.h"

void sh_csv_text_put(struct sh_text *text, const char *string)
{
    if (string[strcspn(string, ",\"\r\n")] == '\0') {
        sh_utf8_put(text, string, SH_UTF8_KEEP_CONTROL);
        return;
    }
    sh_text_puts(text, "\"");
    for (const char *rest = string; *rest != '\0';) {
        size_t n_plain = strcspn(rest, "\"");
        sh_utf8_put_bytes(text, rest, n_plain, SH_UTF8_KEEP_CONTROL);
        rest += n_plain;
        if (*rest == '"') {
            sh_text_puts(text, "\"\"");
            rest++;
        }
    }
    sh_text_puts(text, "\"");
}
