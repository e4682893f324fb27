/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/scratch.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/cmocka_all.h"

void scratch_open(struct scratch *scratch)
{
    const char *base = getenv("TMPDIR");
    int n = snprintf(scratch->folder, sizeof scratch->folder, "%s/sh_test_XXXXXX",
                     base != NULL ? base : "/tmp");
    assert_in_range(n, 1, sizeof scratch->folder - 1);
    assert_non_null(mkdtemp(scratch->folder));
}

static int remove_entry(const char *path, const struct stat *entry, int kind, struct FTW *where)
{
    (void)entry;
    (void)kind;
    (void)where;
    return remove(path);
}

void scratch_close(struct scratch *scratch)
{
    assert_int_equal(nftw(scratch->folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS), 0);
}

int scratch_set_up(void **state)
{
    struct scratch *scratch = malloc(sizeof *scratch);
    assert_non_null(scratch);
    scratch_open(scratch);
    *state = scratch;
    return 0;
}

int scratch_tear_down(void **state)
{
    scratch_close(*state);
    free(*state);
    return 0;
}

void scratch_path(const struct scratch *scratch,
                  const char *name,
                  char path[SCRATCH_PATH_BYTES])
{
    int n = snprintf(path, SCRATCH_PATH_BYTES, "%s/%s", scratch->folder, name);
    assert_in_range(n, 1, SCRATCH_PATH_BYTES - 1);
}

void scratch_write(const char *path, const char *bytes, size_t n_bytes)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n_bytes, file), n_bytes);
    assert_int_equal(fclose(file), 0);
}

char *scratch_read(const char *path, size_t *n_bytes)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    long size = ftell(file);
    assert_true(size >= 0);
    rewind(file);
    char *bytes = malloc((size_t)size + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, (size_t)size, file), (size_t)size);
    bytes[size] = '\0';
    (void)fclose(file);
    if (n_bytes != NULL) {
        *n_bytes = (size_t)size;
    }
    return bytes;
}

bool scratch_exists(const char *path)
{
    return access(path, F_OK) == 0;
}
