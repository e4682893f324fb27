/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_REFERENCE_H
#define SH_TESTS_SUPPORT_REFERENCE_H

#include <stddef.h>

/*
 * Values from elsewhere, and the table of how near the program comes to them.
 */

/*
 * Prints one row "REF | check | source | expected | got | tolerance | ok" (or "OFF") and fails
 * the running cmocka test where |got - expected| > tolerance, or got is not a number. The row
 * is also kept, parts separated by tabs, in the file that the environment's STRINGHAND_ROWS
 * names: begun anew by each program, read by tests/reference/checks_page.py. Check and source
 * hold no tab, no bar; a program uses no pair of them twice.
 */
void sh_reference_row(
    const char *check, const char *source, double expected, double got, double tolerance);

/*
 * The same for a whole series: one row with the largest |got[i] - expected[i]| over the largest
 * |expected[i]|, against 0. n at least 1. An expected series of zeros only is compared as it
 * is.
 */
void sh_reference_series(const char *check,
                         const char *source,
                         const double *expected,
                         const double *got,
                         size_t n,
                         double tolerance);

/*
 * A file of named arrays, tests/reference/values/NAME.txt: lines "array NAME COUNT" followed by
 * COUNT numbers, one a line; '#' begins a comment. Fails the running test, with the file's
 * name, where it is missing or malformed.
 */
struct sh_reference_file;
struct sh_reference_file *sh_reference_open(const char *name);
void sh_reference_close(struct sh_reference_file **file);

/* The array of that name; *n its length (n may be NULL). Fails the test where there is none. */
const double *
sh_reference_get(const struct sh_reference_file *file, const char *name, size_t *n);

#endif
