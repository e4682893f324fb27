/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/status.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *sh_status_name(enum sh_status status)
{
    switch (status) {
#define X(name, value, text)                                                                   \
    case name:                                                                                 \
        return #name;
        SH_STATUS_LIST(X)
#undef X
    }
    return "SH_ERR_UNKNOWN";
}

const char *sh_status_text(enum sh_status status)
{
    switch (status) {
#define X(name, value, text)                                                                   \
    case name:                                                                                 \
        return text;
        SH_STATUS_LIST(X)
#undef X
    }
    return "unknown error";
}

static void keep_one_line(char *text)
{
    for (; *text != '\0'; text++) {
        unsigned char byte = (unsigned char)*text;
        if (byte < 0x20 || byte == 0x7f) {
            *text = '?';
        }
    }
}

static void copy_text(char *to, size_t size_bytes, const char *from)
{
    (void)snprintf(to, size_bytes, "%s", from != NULL ? from : "");
    keep_one_line(to);
}

static void
fill(struct sh_error *err, enum sh_status status, const char *where, const char *todo)
{
    err->status = status;
    copy_text(err->where, sizeof err->where, where);
    copy_text(err->todo, sizeof err->todo, status == SH_ERR_MEMORY ? NULL : todo);
    if (status == SH_ERR_MEMORY) {
        copy_text(err->what, sizeof err->what, sh_status_text(status));
    }
    keep_one_line(err->what);
}

enum sh_status sh_error_set(struct sh_error *err,
                            enum sh_status status,
                            const char *where,
                            const char *todo,
                            const char *what,
                            ...)
{
    if (err == NULL || err->status != SH_OK) {
        return status;
    }
    va_list values;
    va_start(values, what);
    (void)vsnprintf(err->what, sizeof err->what, what, values);
    va_end(values);
    fill(err, status, where, todo);
    return status;
}

static enum sh_status status_of_os(int os_number)
{
    switch (os_number) {
    case ENOENT:
    case ENODEV:
    case ENXIO:
        return SH_ERR_NOT_FOUND;
    case EACCES:
    case EPERM:
        return SH_ERR_PERMISSION;
    case ENOMEM:
        return SH_ERR_MEMORY;
    case EBUSY:
        return SH_ERR_BUSY;
    case EEXIST:
    case ENOTEMPTY:
        return SH_ERR_EXISTS;
    default:
        return SH_ERR_IO;
    }
}

enum sh_status sh_error_set_os(struct sh_error *err,
                               int os_number,
                               const char *where,
                               const char *todo,
                               const char *what,
                               ...)
{
    enum sh_status status = status_of_os(os_number);
    if (err == NULL || err->status != SH_OK) {
        return status;
    }
    va_list values;
    va_start(values, what);
    (void)vsnprintf(err->what, sizeof err->what, what, values);
    va_end(values);
    size_t used = strlen(err->what);
    (void)snprintf(err->what + used, sizeof err->what - used, ": %s", strerror(os_number));
    err->os_number = os_number;
    fill(err, status, where, todo);
    return status;
}

void sh_error_format(const struct sh_error *err, char line[SH_ERROR_LINE_BYTES])
{
    const char *what = err->what[0] != '\0' ? err->what : sh_status_text(err->status);
    (void)snprintf(line, SH_ERROR_LINE_BYTES, "%s%s%s%s%s", err->where,
                   err->where[0] != '\0' ? ": " : "", what, err->todo[0] != '\0' ? "; " : "",
                   err->todo);
}
