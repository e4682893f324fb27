/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_LIMIT_WORDS_H
#define SH_LIVE_LIMIT_WORDS_H

#include "base/text.h"
#include "recording/mark.h"

/* A limit as a person's file or a recording's mark holds it; all borrowed, "" where not given.
 */
struct sh_limit_words {
    const char *what;
    const char *finger;
    const char *per;
    const char *set_by;
    const struct sh_mark_number *most;
    const struct sh_mark_number *least;
};

/*
 * Appends what a limit is, for people: "ring finger peak force, at most 45 N a shot, set by
 * hand clinic", as a JSON string. Failures stay in text->status. Any thread. Test:
 * tests/live/test_limit_words.c.
 */
void sh_limit_words_put(const struct sh_limit_words *limit, struct sh_text *text);

#endif
