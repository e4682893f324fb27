/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/scarce_heap.h"

#include <stdint.h>

/* The linker sends the program's calls here (--wrap); the counts are the test's own state. */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables) */
static size_t n_left;
static size_t n_seen;
static bool is_counting;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

void *__real_malloc(size_t n_bytes);
void *__real_calloc(size_t n, size_t n_bytes);
void *__real_realloc(void *old, size_t n_bytes);
void *__wrap_malloc(size_t n_bytes);
void *__wrap_calloc(size_t n, size_t n_bytes);
void *__wrap_realloc(void *old, size_t n_bytes);

void *__wrap_malloc(size_t n_bytes)
{
    return scarce_heap_fails_now() ? NULL : __real_malloc(n_bytes);
}

void *__wrap_calloc(size_t n, size_t n_bytes)
{
    return scarce_heap_fails_now() ? NULL : __real_calloc(n, n_bytes);
}

void *__wrap_realloc(void *old, size_t n_bytes)
{
    return scarce_heap_fails_now() ? NULL : __real_realloc(old, n_bytes);
}

/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

void scarce_heap_begin(size_t n_before)
{
    n_left = n_before;
    n_seen = 0;
    is_counting = true;
}

size_t scarce_heap_end(void)
{
    is_counting = false;
    return n_seen;
}

bool scarce_heap_fails_now(void)
{
    n_seen += is_counting ? 1 : 0;
    return is_counting && n_left-- == 0;
}
