/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_SAYS_H
#define SH_TESTS_SUPPORT_SAYS_H

#include <stdbool.h>

/* Fails the running cmocka test, and prints the text, unless words stand in it; if they do. */
#define assert_says(text, words) sh_says_check((text), (words), true, __FILE__, __LINE__)
#define assert_keeps_quiet(text, words)                                                        \
    sh_says_check((text), (words), false, __FILE__, __LINE__)

void sh_says_check(
    const char *text, const char *words, bool is_wanted, const char *file, int line);

#endif
