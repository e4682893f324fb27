/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/says.h"

#include <string.h>

#include "support/cmocka_all.h"

void sh_says_check(
    const char *text, const char *words, bool is_wanted, const char *file, int line)
{
    if ((strstr(text, words) != NULL) != is_wanted) {
        print_error("'%s' is %s in: %s\n", words, is_wanted ? "not said" : "said", text);
        _fail(file, line);
    }
}
