/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/say.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>

#include "recording/atomic_file.h"
#include "report/load_words.h"

#define N_CAUTIONS 2u /* the first: what it is not, and to stop on pain */

/* What to do where the place that failed could not know better. */
static const char *advise(enum sh_status status)
{
    switch (status) {
    case SH_OK:
        return "";
    case SH_ERR_ARGUMENT:
        return "give another value";
    case SH_ERR_MEMORY:
        return "end other programs and try again";
    case SH_ERR_IO:
        return "check the disk or the cable";
    case SH_ERR_NOT_FOUND:
        return "check the name, and that it is there";
    case SH_ERR_PERMISSION:
        return "have its owner allow it, or choose another place";
    case SH_ERR_FORMAT:
    case SH_ERR_NOT_FINITE:
        return "correct it, or take one that is whole";
    case SH_ERR_SHORT:
    case SH_ERR_SINGULAR:
        return "take one that holds more samples";
    case SH_ERR_FULL:
        return "take a smaller one";
    case SH_ERR_UNSUPPORTED:
        return "take another kind";
    case SH_ERR_BUSY:
        return "end what uses it and try again";
    case SH_ERR_EXISTS:
        return "choose another name";
    }
    return "";
}

enum sh_exit sh_say_error(const struct sh_error *err, enum sh_exit status)
{
    char line[SH_ERROR_LINE_BYTES];
    struct sh_error told = *err;
    if (told.todo[0] == '\0') {
        (void)snprintf(told.todo, sizeof told.todo, "%s", advise(told.status));
    }
    sh_error_format(&told, line);
    (void)fprintf(stderr, "stringhand: %s\n", line);
    return status;
}

void sh_say_unread(void *context, const struct sh_error *failure)
{
    (void)context;
    (void)sh_say_error(failure, SH_EXIT_INPUT);
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

void sh_say_cautions(void)
{
    for (size_t i = 0; i < N_CAUTIONS; i++) {
        (void)fprintf(stderr, "%s\n", sh_load_words_get_caution(i));
    }
}
