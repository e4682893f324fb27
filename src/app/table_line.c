/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/table_line.h"

#include <stdio.h>
#include <string.h>

#include "recording/file_text.h"

#define BLANKS " \t\r"

char *sh_table_line_trim(char *text)
{
    text += strspn(text, BLANKS);
    size_t n = strlen(text);
    while (n > 0 && strchr(BLANKS, text[n - 1]) != NULL) {
        text[--n] = '\0';
    }
    return text;
}

char *sh_table_line_cut(char *text)
{
    char *end = strpbrk(text, ",;");
    if (end != NULL) {
        *end++ = '\0';
    }
    return end;
}

enum sh_status sh_table_line_read(const char *path,
                                  const char *todo,
                                  const struct sh_table_line_sink *sink,
                                  struct sh_error *err)
{
    struct sh_text text;
    char where[SH_ERROR_WHERE_BYTES];
    sh_text_init(&text, SH_TABLE_LINE_FILE_BYTES);
    enum sh_status status = sh_file_text_read(path, todo, &text, err);
    char *at = text.data;
    for (unsigned line = 1; status == SH_OK && at != NULL; line++) {
        char *end = strchr(at, '\n');
        if (end != NULL) {
            *end++ = '\0';
        }
        at[strcspn(at, "#")] = '\0';
        at = sh_table_line_trim(at);
        if (at[0] != '\0') {
            (void)snprintf(where, sizeof where, "%s:%u", path, line);
            status = sink->take(sink->context, at, where, err);
        }
        at = end;
    }
    sh_text_close(&text);
    return status;
}
