/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_REPORT_TABLE_CHECK_H
#define SH_TESTS_REPORT_TABLE_CHECK_H

#include <stddef.h>

/*
 * Fails the running test unless each number in the cells of a page's tables has its unit, in
 * the cell or its column's head, and its uncertainty: "±", an interval "from to" or, for a
 * bound, "over", "under", "at least"; a plain 0 (of a day of rest) needs none. Heads (as text,
 * their unit behind a blank) are told by the lists, each ended by NULL: plain ones hold counts
 * and probabilities, worked_out ones what follows from a measure's scatter and has a unit
 * alone. Gives the number of cells with a number.
 */
size_t table_check(const char *page, const char *const *plain, const char *const *worked_out);

#endif
