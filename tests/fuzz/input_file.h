/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_FUZZ_INPUT_FILE_H
#define SH_TESTS_FUZZ_INPUT_FILE_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define INPUT_FILE_PATH_BYTES 64u

/* Puts bytes into a file without a name, for readers that take a path (Linux's /proc). */
static inline FILE *
input_file_open(const uint8_t *bytes, size_t n_bytes, char path[INPUT_FILE_PATH_BYTES])
{
    FILE *file = tmpfile();
    if (file == NULL || (n_bytes > 0 && fwrite(bytes, 1, n_bytes, file) != n_bytes) ||
        fflush(file) != 0) {
        abort();
    }
    (void)snprintf(path, INPUT_FILE_PATH_BYTES, "/proc/self/fd/%d", fileno(file));
    return file;
}

#endif
