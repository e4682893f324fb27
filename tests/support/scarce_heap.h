/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_SCARCE_HEAP_H
#define SH_TESTS_SUPPORT_SCARCE_HEAP_H

#include <stdbool.h>
#include <stddef.h>

/*
 * A heap that is out of memory when a test wants it to be: the linker sends malloc, calloc and
 * realloc of the program here (--wrap, with the library sh_scarce_heap), those of libraries
 * not. For one thread.
 */

/* From now on allocations are counted, and the one after n_before others fails, no other. */
void scarce_heap_begin(size_t n_before);

/* Until now: how many were asked for. */
size_t scarce_heap_end(void);

/* Counts an allocation that a test has sent here in another way; true where it is to fail. */
bool scarce_heap_fails_now(void);

#endif
