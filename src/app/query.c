/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/query.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COUNT_END 1e6

/* The value's first byte and its length; NULL: there is no such key. */
static const char *find_value(const char *query, const char *key, size_t *n_bytes)
{
    const size_t n_key = strlen(key);
    while (*query != '\0') {
        const size_t n = strcspn(query, "&");
        if (n > n_key && strncmp(query, key, n_key) == 0 && query[n_key] == '=') {
            *n_bytes = n - n_key - 1;
            return query + n_key + 1;
        }
        query += n + (query[n] == '&' ? 1 : 0);
    }
    return NULL;
}

bool sh_query_find_word(const char *query, const char *key, char word[SH_QUERY_WORD_BYTES])
{
    size_t n = 0;
    const char *value = find_value(query, key, &n);
    const bool fits = n < SH_QUERY_WORD_BYTES;
    if (value == NULL) {
        return false;
    }
    memcpy(word, value, fits ? n : 0);
    word[fits ? n : 0] = '\0';
    return fits;
}

double sh_query_get_number(const char *query, const char *key, double fallback)
{
    char word[SH_QUERY_WORD_BYTES];
    char *end = NULL;
    size_t n = 0;
    if (find_value(query, key, &n) == NULL) {
        return fallback;
    }
    if (!sh_query_find_word(query, key, word)) {
        return (double)NAN;
    }
    const double value = strtod(word, &end);
    return end != word && *end == '\0' ? value : (double)NAN;
}

size_t sh_query_get_count(const char *query, const char *key, double fallback)
{
    const double value = sh_query_get_number(query, key, fallback);
    return value >= 1.0 && value < COUNT_END ? (size_t)value : 0;
}
