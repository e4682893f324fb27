/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_ENTRY_H
#define SH_APP_ENTRY_H

#include <stdbool.h>

#include "base/status.h"
#include "base/text.h"
#include "recording/mark.h"

/*
 * What is typed while a recording runs, one line at a time:
 *
 *     9            score of the last arrow (0 to 10; x is 10, m is 0)
 *     9 8 x        scores of a whole end
 *     n TEXT       a note
 *     c 120 6      the clock starts: seconds, and arrows if wanted
 *     c, c o       the clock that capture was given starts, or goes on; with o the other begins
 *     h            it is halted
 *     o            the other has shot: the own time begins
 *     s            the clock stops
 *     p 2          pain now, 0 to 10
 *     p before 2   pain before shooting; p after 2
 *     a NAME       another archer: this recording ends, the next begins
 *     q            the end
 */

enum sh_entry_kind {
    SH_ENTRY_NOTHING, /* an empty line */
    SH_ENTRY_MARK,
    SH_ENTRY_CLOCK,
    SH_ENTRY_ARCHER,
    SH_ENTRY_END
};

/* What is wanted of the clock. */
enum sh_entry_clock {
    SH_ENTRY_CLOCK_START, /* or go on */
    SH_ENTRY_CLOCK_START_OTHER,
    SH_ENTRY_CLOCK_HALT,
    SH_ENTRY_CLOCK_OTHER_SHOT
};

struct sh_entry {
    enum sh_entry_kind kind;
    struct sh_mark mark;              /* SH_ENTRY_MARK: all but its time and its shot */
    enum sh_entry_clock clock;        /* SH_ENTRY_CLOCK */
    char athlete[SH_MARK_TEXT_BYTES]; /* SH_ENTRY_ARCHER */
};

/*
 * Reads one line without its end. SH_ERR_FORMAT with what is wrong and what to type; *out is
 * then SH_ENTRY_NOTHING. Test: tests/app/test_entry.c.
 */
enum sh_status sh_entry_parse(const char *line, struct sh_entry *out, struct sh_error *err);

/* Is it a mark of the shooting clock? */
bool sh_entry_is_of_clock(const struct sh_entry *entry);

/* What became of an entry, as a line for people; nothing for the others. */
void sh_entry_format(const struct sh_entry *entry, struct sh_text *text);

/* The lines above, for people. Static. */
const char *sh_entry_get_help(void);

#endif
