/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/scarce_disk.h"

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <sys/types.h>

#define WRITE_MAX_BYTES 100u

/* The linker sends the program's calls here (--wrap); the count-down is the test's own state.
 */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static size_t n_left = SIZE_MAX;

ssize_t __real_write(int file, const void *bytes, size_t n_bytes);
int __real_fsync(int file);
int __real_rename(const char *from, const char *to);
ssize_t __wrap_write(int file, const void *bytes, size_t n_bytes);
int __wrap_fsync(int file);
int __wrap_rename(const char *from, const char *to);

static bool fails_now(void)
{
    if (n_left-- == 0) {
        errno = ENOSPC;
        return true;
    }
    return false;
}

ssize_t __wrap_write(int file, const void *bytes, size_t n_bytes)
{
    return fails_now() ? -1
                       : __real_write(file, bytes,
                                      n_bytes < WRITE_MAX_BYTES ? n_bytes : WRITE_MAX_BYTES);
}

int __wrap_fsync(int file)
{
    return fails_now() ? -1 : __real_fsync(file);
}

int __wrap_rename(const char *from, const char *to)
{
    return fails_now() ? -1 : __real_rename(from, to);
}
/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

void scarce_disk_begin(size_t n_before)
{
    n_left = n_before;
}

void scarce_disk_end(void)
{
    n_left = SIZE_MAX;
}
