/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shown.h"

#include <errno.h>
#include <stdio.h>

enum sh_status sh_shown_print(const char *folder,
                              const struct sh_format *format,
                              const struct sh_analysis *shown,
                              struct sh_error *err)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    if (format == NULL) {
        sh_text_printf(&text, "%s\n", folder);
    } else {
        (void)format->write(shown, &text);
    }
    enum sh_status status = text.status;
    if (status != SH_OK) {
        (void)sh_error_set(err, status, folder, NULL, "its shots cannot be printed: %s",
                           sh_status_text(status));
    } else if (fwrite(text.data, 1, text.n_bytes, stdout) != text.n_bytes ||
               fflush(stdout) != 0) {
        status = sh_error_set_os(err, errno, "standard output", NULL, "cannot write");
    }
    sh_text_close(&text);
    return status;
}
