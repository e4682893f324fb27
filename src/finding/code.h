/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_CODE_H
#define SH_FINDING_CODE_H

#include <stdbool.h>

/*
 * What can be found in a shot, and what can be wrong with its data; docs/findings.md has the
 * meaning of each.
 */

/* name, code as written in files, short title for people */
#define SH_CODE_LIST(X)                                                                        \
    X(SH_CODE_CREEP, "creep", "creep")                                                         \
    X(SH_CODE_FLINCH, "flinch", "flinch")                                                      \
    X(SH_CODE_COLLAPSE, "collapse", "collapse")                                                \
    X(SH_CODE_EARLY_LOOSE, "early-loose", "early loose")                                       \
    X(SH_CODE_ANTICIPATED_CLICKER, "anticipated-clicker", "anticipated clicker")               \
    X(SH_CODE_LATE_REACTION, "late-reaction", "late reaction")                                 \
    X(SH_CODE_LONG_HOLD, "long-hold", "long hold")                                             \
    X(SH_CODE_SHORT_HOLD, "short-hold", "short hold")                                          \
    X(SH_CODE_TREMOR_RISE, "tremor-rise", "tremor rise")                                       \
    X(SH_CODE_RUSHED_SET_UP, "rushed-set-up", "rushed set-up")                                 \
    X(SH_CODE_CLOCK_RISK, "clock-risk", "clock risk")                                          \
    X(SH_CODE_LET_DOWN, "let-down", "let-down")                                                \
    X(SH_CODE_FINGER_SLIDE, "finger-slide", "finger slide")                                    \
    X(SH_CODE_FINGER_LIMIT, "finger-limit", "finger limit")

enum sh_code {
#define X(name, text, title) name,
    SH_CODE_LIST(X)
#undef X
        SH_CODE_COUNT
};

/* What a threshold rests on. */
enum sh_code_basis { SH_CODE_BASIS_FIXED, SH_CODE_BASIS_USER, SH_CODE_BASIS_HISTORY };

/* name, code as written in files, sentence part for people */
#define SH_CODE_QUALITY_LIST(X)                                                                \
    X(SH_CODE_QUALITY_CLIPPED, "clipped", "a sample reached its channel's range")              \
    X(SH_CODE_QUALITY_GAP, "gap", "samples were lost")                                         \
    X(SH_CODE_QUALITY_SHORT, "short", "too short for some measures")                           \
    X(SH_CODE_QUALITY_NOISY, "noisy", "noisier at rest than the sensor should be")             \
    X(SH_CODE_QUALITY_DEAD, "dead", "a channel did not change where others moved")             \
    X(SH_CODE_QUALITY_CORRECTED, "corrected", "a person corrected what was found")             \
    X(SH_CODE_QUALITY_FINGER_SUM, "finger-sum",                                                \
      "the fingers do not add up to the string's force as usual")

enum sh_code_quality {
#define X(name, text, title) name,
    SH_CODE_QUALITY_LIST(X)
#undef X
        SH_CODE_QUALITY_COUNT
};

/* Static texts: the code as written in files, and the words for people. */
const char *sh_code_name(enum sh_code code);
const char *sh_code_title(enum sh_code code);
const char *sh_code_basis_name(enum sh_code_basis basis); /* "fixed", "user", "history" */
const char *sh_code_quality_name(enum sh_code_quality quality);
const char *sh_code_quality_title(enum sh_code_quality quality);

/* Finds the code of a name; false where there is none, *out untouched. */
bool sh_code_find(const char *name, enum sh_code *out);

#endif
