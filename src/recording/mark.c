/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/mark.h"

#include <string.h>

static const char *const kind_names[] = {
    [SH_MARK_CLOCK] = "clock",
    [SH_MARK_CLOCK_STOP] = "clock-stop",
    [SH_MARK_OVERRUN] = "overrun",
    [SH_MARK_ARROW] = "arrow",
    [SH_MARK_END] = "end",
    [SH_MARK_NOTE] = "note",
    [SH_MARK_CORRECTION] = "correction",
    [SH_MARK_PAIN] = "pain",
    [SH_MARK_LIMIT] = "limit",
    [SH_MARK_LIMIT_REACHED] = "limit-reached",
    [SH_MARK_WARNING] = "warning",
    [SH_MARK_OTHER] = "",
};

const char *sh_mark_kind_name(enum sh_mark_kind kind)
{
    return kind_names[kind];
}

enum sh_mark_kind sh_mark_kind_find(const char *name)
{
    for (int i = 0; i < SH_MARK_OTHER; i++) {
        if (strcmp(kind_names[i], name) == 0) {
            return (enum sh_mark_kind)i;
        }
    }
    return SH_MARK_OTHER;
}
