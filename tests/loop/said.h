/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_SAID_H
#define SH_TESTS_LOOP_SAID_H

#include <stddef.h>
#include <stdint.h>

#include "loop/program.h"

/* What a program that could not do its work has said, and what it must have left alone. */

/*
 * Fails unless the program ended with exit status 1, said nothing on standard output and
 * n_lines on standard error, the last of them "stringhand: where: what; what to do" with says
 * in it.
 */
void said_check(const struct program *program, int status, size_t n_lines, const char *says);

/* A sum over the names and bytes of a folder's files, or of one file; 0 if there is none. */
uint64_t said_sum(const char *path);

#endif
