/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Linked into the program with --wrap (tests/loop/CMakeLists.txt): the allocation of number
 * HEAP_FAILS_AT, counted from 0, and no other finds no memory. HEAP_COUNT_TO names a file that
 * gets how many there were. What libraries take for themselves is not counted.
 */
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables) */
static atomic_ulong n_seen;
static unsigned long fails_at;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

void *__real_malloc(size_t n_bytes);
void *__real_calloc(size_t n, size_t n_bytes);
void *__real_realloc(void *old, size_t n_bytes);
char *__real_strdup(const char *text);
void *__wrap_malloc(size_t n_bytes);
void *__wrap_calloc(size_t n, size_t n_bytes);
void *__wrap_realloc(void *old, size_t n_bytes);
char *__wrap_strdup(const char *text);

__attribute__((constructor)) static void read_wish(void)
{
    const char *word = getenv("HEAP_FAILS_AT");
    fails_at = word != NULL ? strtoul(word, NULL, 10) : (unsigned long)-1;
}

__attribute__((destructor)) static void write_count(void)
{
    const char *path = getenv("HEAP_COUNT_TO");
    FILE *file = path != NULL ? fopen(path, "w") : NULL;
    if (file != NULL) {
        (void)fprintf(file, "%lu\n", atomic_load(&n_seen));
        (void)fclose(file);
    }
}

static bool fails_now(void)
{
    return atomic_fetch_add(&n_seen, 1) == fails_at;
}

void *__wrap_malloc(size_t n_bytes)
{
    return fails_now() ? NULL : __real_malloc(n_bytes);
}

void *__wrap_calloc(size_t n, size_t n_bytes)
{
    return fails_now() ? NULL : __real_calloc(n, n_bytes);
}

void *__wrap_realloc(void *old, size_t n_bytes)
{
    return fails_now() ? NULL : __real_realloc(old, n_bytes);
}

char *__wrap_strdup(const char *text)
{
    return fails_now() ? NULL : __real_strdup(text);
}

/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
