/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/said.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "support/cmocka_all.h"

#define FNV_BASIS 14695981039346656037u /* Fowler, Noll, Vo: FNV-1a, 64 bits, RFC 9923 */
#define FNV_PRIME 1099511628211u

static size_t count_lines(const char *text)
{
    size_t n = 0;
    for (; *text != '\0'; text++) {
        n += *text == '\n' ? 1 : 0;
    }
    return n;
}

void said_check(const struct program *program, int status, size_t n_lines, const char *says)
{
    char *out = program_read_out(program);
    char *err = program_read_err(program);
    const char *last = err;
    for (const char *at = err; at[0] != '\0' && at[1] != '\0'; at++) {
        last = *at == '\n' ? at + 1 : last;
    }
    bool is_good = status == 1 && out[0] == '\0' && count_lines(err) == n_lines &&
                   strncmp(last, "stringhand: ", 12) == 0 && strstr(last, "; ") != NULL &&
                   strstr(last, says) != NULL;
    if (!is_good) {
        fail_msg("wanted '%s', got status %d: %s%s", says, status, out, err);
    }
    free(out);
    free(err);
}

static uint64_t add_bytes(uint64_t sum, const char *bytes, size_t n_bytes)
{
    for (size_t i = 0; i < n_bytes; i++) {
        sum = (sum ^ (unsigned char)bytes[i]) * FNV_PRIME;
    }
    return sum;
}

static uint64_t sum_file(const char *path, const char *name)
{
    struct stat about;
    uint64_t sum = add_bytes(FNV_BASIS, name, strlen(name));
    if (stat(path, &about) == 0 && S_ISREG(about.st_mode)) {
        size_t n_bytes = 0;
        char *bytes = scratch_read(path, &n_bytes);
        sum = add_bytes(sum, bytes, n_bytes);
        free(bytes);
    }
    return sum;
}

uint64_t said_sum(const char *path)
{
    DIR *folder = opendir(path);
    if (folder == NULL) {
        return scratch_exists(path) ? sum_file(path, "") : 0;
    }
    uint64_t sum = 0; /* of files in any order */
    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        char file[2 * SCRATCH_PATH_BYTES];
        (void)snprintf(file, sizeof file, "%s/%s", path, entry->d_name);
        sum += sum_file(file, entry->d_name);
    }
    (void)closedir(folder);
    return sum;
}
