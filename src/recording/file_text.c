/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/file_text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <sys/stat.h>
#include <unistd.h>

#define PART_BYTES 65536u

/* Answers 0 or the errno of the read that failed; what text could not hold is in its status. */
static int read_all(int file, struct sh_text *text)
{
    char part[PART_BYTES];
    while (text->status == SH_OK) {
        ssize_t n = read(file, part, sizeof part);
        if (n == 0) {
            break;
        }
        if (n > 0) {
            sh_text_write(text, part, (size_t)n);
        } else if (errno != EINTR) {
            return errno;
        }
    }
    return 0;
}

enum sh_status sh_file_text_read(const char *path,
                                 const char *todo,
                                 struct sh_text *text,
                                 struct sh_error *err)
{
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0) {
        return sh_error_set_os(err, errno, path, todo, "the file cannot be opened");
    }
    enum sh_status status = SH_OK;
    struct stat about;
    int failure = fstat(file, &about) != 0 ? errno : 0;
    bool is_regular = failure == 0 && S_ISREG(about.st_mode);
    if (is_regular) {
        failure = read_all(file, text);
    }
    (void)close(file);
    if (failure != 0) {
        status = sh_error_set_os(err, failure, path, NULL, "the file cannot be read");
    } else if (!is_regular) {
        status = sh_error_set(err, SH_ERR_FORMAT, path, todo, "this is no file");
    } else if (text->status == SH_ERR_FULL) {
        status = sh_error_set(err, SH_ERR_FULL, path, NULL, "the file is larger than %zu bytes",
                              text->limit_bytes);
    } else if (text->status != SH_OK) {
        status =
            sh_error_set(err, text->status, path, NULL, "%s", sh_status_text(text->status));
    }
    return status;
}
