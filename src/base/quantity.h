/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_QUANTITY_H
#define SH_BASE_QUANTITY_H

#include <stdbool.h>

/*
 * A figure that may be unknown, with its uncertainty.
 *
 * A known quantity has a finite value and a standard uncertainty u >= 0 in the same unit
 * (JCGM 100:2008). Where the error is far from normal, has_interval is true and lo..hi is the
 * 95 % coverage interval; else lo and hi mean nothing. An unknown quantity says why, and its
 * numbers mean nothing. All zero is an unknown quantity.
 */

/* name, short text for people */
#define SH_WHY_LIST(X)                                                                         \
    X(SH_WHY_NOT_ASKED, "not worked out")                                                      \
    X(SH_WHY_KNOWN, "known")                                                                   \
    X(SH_WHY_NO_CHANNEL, "no channel shows it")                                                \
    X(SH_WHY_NOT_SEEN, "not seen")                                                             \
    X(SH_WHY_TOO_SHORT, "too short")                                                           \
    X(SH_WHY_TOO_SLOW, "sample rate too low")                                                  \
    X(SH_WHY_GAP, "samples were lost")                                                         \
    X(SH_WHY_CLIPPED, "channel reached its range")                                             \
    X(SH_WHY_NOT_GIVEN, "needs a value that was not given")                                    \
    X(SH_WHY_NOT_APPLICABLE, "does not apply")                                                 \
    X(SH_WHY_UNRESOLVED, "the data do not determine it")                                       \
    X(SH_WHY_CORRECTED, "a person says it was not there")

enum sh_why {
#define X(name, text) name,
    SH_WHY_LIST(X)
#undef X
};

struct sh_quantity {
    double value;
    double u;
    double lo;
    double hi;
    bool has_interval;
    enum sh_why why;
};

/* A known quantity with a normal error. */
static inline struct sh_quantity sh_quantity_known(double value, double u)
{
    return (struct sh_quantity){.value = value, .u = u, .why = SH_WHY_KNOWN};
}

/* An unknown quantity; why is anything but SH_WHY_KNOWN. */
static inline struct sh_quantity sh_quantity_unknown(enum sh_why why)
{
    return (struct sh_quantity){.why = why};
}

static inline bool sh_quantity_is_known(const struct sh_quantity *quantity)
{
    return quantity->why == SH_WHY_KNOWN;
}

/* Short text of a reason, static. */
const char *sh_quantity_why_text(enum sh_why why);

/* The 95 % interval: lo..hi where given, else value -+ 1.96 u. The quantity must be known. */
void sh_quantity_interval(const struct sh_quantity *quantity, double *lo, double *hi);

#endif
