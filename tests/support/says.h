/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_SAYS_H
#define SH_TESTS_SUPPORT_SAYS_H

/* Fails the running cmocka test, and prints the text, unless words stand in it. */
#define assert_says(text, words) sh_says_check((text), (words), __FILE__, __LINE__)

void sh_says_check(const char *text, const char *words, const char *file, int line);

#endif
