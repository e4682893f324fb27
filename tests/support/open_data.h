/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_OPEN_DATA_H
#define SH_TESTS_SUPPORT_OPEN_DATA_H

#include <stddef.h>
#include <stdio.h>

/*
 * Opens FOLDER/name, FOLDER being what the environment's STRINGHAND_OPEN_DATA names. Skips the
 * running test by name where it names none; fails it where the file is missing.
 */
FILE *sh_open_data_file(const char *name);

/*
 * Reads the fields, separated by commas, of the next line into row, at most n; how many there
 * were, 0 at the end of the file. A field that is no number gives NAN.
 */
size_t sh_open_data_read_row(FILE *stream, double *row, size_t n);

#endif
