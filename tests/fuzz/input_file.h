/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_FUZZ_INPUT_FILE_H
#define SH_TESTS_FUZZ_INPUT_FILE_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

#define INPUT_FILE_PATH_BYTES 64u

/* Puts bytes into a file without a name, for readers that take a path. To be closed. */
static inline int
input_file_open(const uint8_t *bytes, size_t n_bytes, char path[INPUT_FILE_PATH_BYTES])
{
    const int file = memfd_create("input", MFD_CLOEXEC);
    if (file < 0 || (n_bytes > 0 && write(file, bytes, n_bytes) != (ssize_t)n_bytes)) {
        abort();
    }
    (void)snprintf(path, INPUT_FILE_PATH_BYTES, "/proc/self/fd/%d", file);
    return file;
}

#endif
