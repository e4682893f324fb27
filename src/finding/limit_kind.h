/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_KIND_H
#define SH_FINDING_LIMIT_KIND_H

#include <stdbool.h>
#include <stddef.h>

#include "measure/catalog.h"

/*
 * What a person's limit can be set on. Test of all: tests/finding/test_limit_kind.c.
 */

enum sh_limit_what {
    SH_LIMIT_WHAT_PEAK,    /* finger_peak_n of a finger: of a shot, or the largest of a span */
    SH_LIMIT_WHAT_IMPULSE, /* finger_impulse_n_s of a finger or of all three together: summed */
    SH_LIMIT_WHAT_SHARE,   /* finger_share: of a shot, or of a span's impulse */
    SH_LIMIT_WHAT_DRAWS,   /* number of draws of a session or a day, let-downs too */
    SH_LIMIT_WHAT_REST,    /* rest_s: from the end of a draw to the start of the next */
    SH_LIMIT_WHAT_MEASURE  /* any other measure of a shot */
};

struct sh_limit_kind {
    enum sh_limit_what what;
    enum sh_measure measure; /* SH_MEASURE_COUNT for draws and rest */
    const char *title;       /* for people: "finger peak force" */
    const char *unit;        /* for people: "N", "draws", "%" */
    double factor;           /* from the limit's own unit to that */
};

/* The kind of a limit's "what" ("finger_peak_n", "draws", "rest_s"); false, *out untouched:
 * nothing of that name can be limited. */
bool sh_limit_kind_find(const char *what, struct sh_limit_kind *out);

/*
 * What is wrong with a limit, in words with what to do ("name a finger: ..."), NULL where it
 * can be watched. what, finger ("": none) and per as in a limit mark; is_most: it says "most".
 * Static.
 */
const char *
sh_limit_kind_check(const char *what, const char *finger, const char *per, bool is_most);

#endif
