/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_NUMBER_TEXT_H
#define SH_LIVE_NUMBER_TEXT_H

#include <stddef.h>

#include "base/quantity.h"
#include "base/text.h"

/*
 * The small parts of JSON that the page's documents are made of, written straight into a text:
 * long lists of numbers are most of them. Failures stay in text->status. Any thread.
 * Test of all: tests/live/test_number_text.c.
 */

/* Appends a number with that many significant digits (1 to 17), null where it is not finite. */
void sh_number_text_put(struct sh_text *text, double value, int digits);

/* Appends a list of n of them. */
void sh_number_text_put_list(struct sh_text *text, const double *values, size_t n, int digits);

/* Appends the value of a quantity, null where it is unknown. */
void sh_number_text_put_quantity(struct sh_text *text,
                                 const struct sh_quantity *quantity,
                                 int digits);

/*
 * Appends a string as JSON, quotes included; bytes that are no UTF-8 become U+FFFD.
 */
void sh_number_text_put_string(struct sh_text *text, const char *string);

/* Appends a string as JSON, null where it is empty. */
void sh_number_text_put_name(struct sh_text *text, const char *string);

#endif
