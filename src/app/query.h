/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_QUERY_H
#define SH_APP_QUERY_H

#include <stdbool.h>
#include <stddef.h>

/*
 * The query of an address, "from=1.5&points=200": values by their keys, as sent. Whatever it
 * holds is a stranger's. No state, any thread. Test of all: tests/app/test_query.c.
 */
#define SH_QUERY_WORD_BYTES 32u

/* The value of the first key of that name. False: there is none (word is untouched), or it is
 * too long (word is ""). */
bool sh_query_find_word(const char *query, const char *key, char word[SH_QUERY_WORD_BYTES]);

/* A number; fallback where the key is not there, NaN where it is no number. May be infinite. */
double sh_query_get_number(const char *query, const char *key, double fallback);

/* A whole number from 1 to 999,999, the rest behind its point cut off; 0: it is none. */
size_t sh_query_get_count(const char *query, const char *key, double fallback);

#endif
