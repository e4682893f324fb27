/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_MARK_H
#define SH_RECORDING_MARK_H

#include <stdbool.h>
#include <stddef.h>

/*
 * What was marked during or after a recording: the entries of "marks" in recording.json, with
 * the keys of docs/recording-format.md.
 */

enum sh_mark_kind {
    SH_MARK_CLOCK,
    SH_MARK_CLOCK_STOP,
    SH_MARK_OVERRUN,
    SH_MARK_ARROW,
    SH_MARK_END,
    SH_MARK_NOTE,
    SH_MARK_CORRECTION,
    SH_MARK_PAIN,
    SH_MARK_LIMIT,
    SH_MARK_LIMIT_REACHED,
    SH_MARK_WARNING,
    SH_MARK_OTHER /* a kind this version does not know: kept, not read */
};

#define SH_MARK_TEXT_BYTES 256u
#define SH_MARK_NAME_BYTES 48u
#define SH_MARK_DATE_BYTES 11u
#define SH_MARK_SCORES_MAX 72u

/* A number that may be missing. */
struct sh_mark_number {
    bool is_given;
    double value;
};

struct sh_mark {
    double t_s;
    enum sh_mark_kind kind;
    size_t kept; /* 1 + its place in the text it was read from: what else stands there is kept
                    when the recording is rewritten; 0: a new mark */
    struct sh_mark_number seconds;   /* clock */
    struct sh_mark_number elapsed_s; /* clock carried on from the recording before */
    struct sh_mark_number arrows;    /* clock */
    struct sh_mark_number shot;      /* arrow, correction */
    struct sh_mark_number score;     /* arrow */
    struct sh_mark_number value_s;   /* correction; missing: the event did not happen */
    struct sh_mark_number value_u_s; /* correction: standard uncertainty of value_s */
    struct sh_mark_number rating;    /* pain */
    struct sh_mark_number most;      /* limit, in the unit of what */
    struct sh_mark_number least;     /* limit */
    struct sh_mark_number before;    /* limit a session or day: what there was of it already */
    struct sh_mark_number before_u;
    struct sh_mark_number before_all;     /* limit on a share: of all three fingers */
    struct sh_mark_number before_unknown; /* above 0: before is only a lower bound */
    double scores[SH_MARK_SCORES_MAX];    /* end */
    size_t n_scores;
    char event[SH_MARK_NAME_BYTES];  /* correction: "clicker_s" */
    char what[SH_MARK_NAME_BYTES];   /* limit: key of a measure, "draws" or "rest_s" */
    char finger[SH_MARK_NAME_BYTES]; /* limit: "index", "middle", "ring" or "" for the sum */
    char per[SH_MARK_NAME_BYTES];    /* limit: "shot", "session", "day" */
    char when[SH_MARK_NAME_BYTES];   /* pain: "before", "after" */
    char from[SH_MARK_DATE_BYTES];
    char until[SH_MARK_DATE_BYTES];
    char set_by[SH_MARK_TEXT_BYTES];
    char text[SH_MARK_TEXT_BYTES]; /* note, warning, limit-reached, overrun */
};

/* Name of a kind as in recording.json ("clock-stop"); "" for SH_MARK_OTHER. Static. */
const char *sh_mark_kind_name(enum sh_mark_kind kind);

/* The kind of a name; SH_MARK_OTHER where this version knows none of that name. */
enum sh_mark_kind sh_mark_kind_find(const char *name);

#endif
