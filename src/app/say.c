/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/say.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>

#include "recording/atomic_file.h"

enum sh_exit sh_say_error(const struct sh_error *err, enum sh_exit status)
{
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(err, line);
    (void)fprintf(stderr, "stringhand: %s\n", line);
    return status;
}

/* The text's own failure, as a line; SH_OK where it is complete. */
static enum sh_status check_text(const struct sh_text *text, struct sh_error *err)
{
    if (text->status == SH_OK) {
        return SH_OK;
    }
    return sh_error_set(err, text->status, NULL, NULL, "%s", sh_status_text(text->status));
}

enum sh_exit sh_say_text(struct sh_text *text)
{
    struct sh_error err = {0};
    enum sh_status status = check_text(text, &err);
    if (status == SH_OK && text->n_bytes > 0) {
        bool is_written = fwrite(text->data, 1, text->n_bytes, stdout) == text->n_bytes &&
                          fflush(stdout) == 0;
        if (!is_written) {
            status = sh_error_set_os(&err, errno, "standard output", NULL, "cannot write");
        }
    }
    sh_text_close(text);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

enum sh_exit sh_say_file(struct sh_text *text, const char *path)
{
    struct sh_error err = {0};
    enum sh_status status = check_text(text, &err);
    if (status == SH_OK) {
        status = sh_atomic_file_write(path, text->data, text->n_bytes, &err);
    }
    sh_text_close(text);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}
