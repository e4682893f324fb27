/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/code.h"

#include <string.h>

#define NAME(name, text, title)  [name] = (text),
#define TITLE(name, text, title) [name] = (title),

static const char *const names[] = {SH_CODE_LIST(NAME)};
static const char *const titles[] = {SH_CODE_LIST(TITLE)};
static const char *const basis_names[] = {"fixed", "user", "history"};
static const char *const quality_names[] = {SH_CODE_QUALITY_LIST(NAME)};
static const char *const quality_titles[] = {SH_CODE_QUALITY_LIST(TITLE)};

const char *sh_code_name(enum sh_code code)
{
    return names[code];
}

const char *sh_code_title(enum sh_code code)
{
    return titles[code];
}

const char *sh_code_basis_name(enum sh_code_basis basis)
{
    return basis_names[basis];
}

const char *sh_code_quality_name(enum sh_code_quality quality)
{
    return quality_names[quality];
}

const char *sh_code_quality_title(enum sh_code_quality quality)
{
    return quality_titles[quality];
}

bool sh_code_find(const char *name, enum sh_code *out)
{
    for (int i = 0; i < SH_CODE_COUNT; i++) {
        if (strcmp(names[i], name) == 0) {
            *out = (enum sh_code)i;
            return true;
        }
    }
    return false;
}
