/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_ROUND_FORMAT_H
#define SH_SERIES_ROUND_FORMAT_H

#include <stddef.h>

#include "base/status.h"

/*
 * How arrows are shot against the clock, and rounds.ini, by which a person changes it: rules
 * differ by year and event.
 *
 *     ; our indoor league
 *     [three-90]
 *     warning_s = 20
 *     [lunch round]
 *     arrows = 4
 *     shooting_s = 100
 *
 * A section is a format's name; one of a new name begins as "free". What is not named keeps
 * its value. The values and where they come from: docs/clock.md.
 */

enum sh_round_format_kind {
    SH_ROUND_FORMAT_END,        /* one time for all arrows of an end */
    SH_ROUND_FORMAT_ALTERNATING /* one time an arrow, two sides in turns */
};

#define SH_ROUND_FORMAT_NAME_BYTES 32u
#define SH_ROUND_FORMATS_MAX       32u

/*
 * Times that are counted in signals must let two of them be told apart: no line-up time, or one
 * of so many seconds at least, and as much shooting time.
 */
#define SH_ROUND_FORMAT_TIME_MIN_S 5.0

struct sh_round_format {
    char name[SH_ROUND_FORMAT_NAME_BYTES];
    enum sh_round_format_kind kind;
    double line_up_s;        /* to come to the line: 0, or 5 to 600 */
    double shooting_s;       /* of the end, or of each arrow: 5 to 3600 */
    double warning_s;        /* so much is left; 0: no warning; not in alternating shooting */
    unsigned n_arrows;       /* of the end, or of each side: 1 to 72 */
    unsigned n_archers;      /* of a team who share the time: 1 to 6 */
    unsigned n_arrows_turn;  /* arrows before the next of the team; 0: only when told */
    unsigned n_turn_signals; /* as the time goes to the other side: 0 or 1 */
};

struct sh_round_format_set {
    struct sh_round_format format[SH_ROUND_FORMATS_MAX];
    size_t n_formats;
};

/* The formats that the program knows by itself. Test: tests/series/test_round_format.c (all).
 */
struct sh_round_format_set sh_round_format_default(void);

/* The format of a name, borrowed from set; NULL: none. */
const struct sh_round_format *sh_round_format_find(const struct sh_round_format_set *set,
                                                   const char *name);

/* "end" or "alternating". Static. */
const char *sh_round_format_kind_name(enum sh_round_format_kind kind);

/* The keys of the values that are numbers, in the order of docs/clock.md; NULL behind the last.
 * Static. */
const char *sh_round_format_get_key(size_t i);

/* The value of the key i. */
double sh_round_format_get_value(const struct sh_round_format *format, size_t i);

/*
 * Sets one value by its key in rounds.ini ("shooting_s", "arrows", "kind" ...). where is what
 * the error names. SH_ERR_NOT_FOUND: no such key; SH_ERR_FORMAT: not a number, a count with a
 * fraction, no kind; SH_ERR_ARGUMENT: out of its range. *format is then untouched.
 */
enum sh_status sh_round_format_set_value(struct sh_round_format *format,
                                         const char *key,
                                         const char *text,
                                         const char *where,
                                         struct sh_error *err);

/*
 * Checks what only the values together show: a warning before the time begins, a turn of more
 * arrows than there are, sides that share their time. SH_ERR_ARGUMENT.
 */
enum sh_status sh_round_format_check(const struct sh_round_format *format,
                                     const char *where,
                                     struct sh_error *err);

/*
 * Reads an INI file over *set. On failure *set is untouched and err names file and line:
 * SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO; SH_ERR_FORMAT for an unknown key, what is
 * no number, a line that is no assignment, a name over 31 bytes or with control characters,
 * or a format that the values together do not make; SH_ERR_FULL beyond SH_ROUND_FORMATS_MAX;
 * SH_ERR_ARGUMENT for a number out of its range. The last of two settings counts.
 */
enum sh_status
sh_round_format_read(const char *path, struct sh_round_format_set *set, struct sh_error *err);

#endif
