/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/says.h"

#include <string.h>

#include "support/cmocka_all.h"

void sh_says_check(const char *text, const char *words, const char *file, int line)
{
    if (strstr(text, words) == NULL) {
        print_error("'%s' is not said in: %s\n", words, text);
        _fail(file, line);
    }
}
