/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_PERSON_H
#define SH_RECORDING_PERSON_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "recording/mark.h"
#include "recording/session.h"

/*
 * What belongs to a person rather than to a recording: limits and goals that somebody has set,
 * days said to be rest, draws made without a sensor, ratings of pain, whether the person wants
 * to be hidden. docs/load.md has the keys of its file. Dates are "2026-05-14". In each entry
 * kept is 1 + its place in the text it was read from (what else stands there is kept when the
 * file is rewritten); 0: a new one.
 */

/* A limit that a person has set. The program has none of its own. */
struct sh_person_limit {
    size_t kept;
    char what[SH_MARK_NAME_BYTES];   /* key of a measure, "draws" or "rest_s" */
    char finger[SH_MARK_NAME_BYTES]; /* "index", "middle", "ring", or "" */
    char per[SH_MARK_NAME_BYTES];    /* "shot", "session", "day" */
    struct sh_mark_number most;      /* in the unit of what; this or least is given */
    struct sh_mark_number least;
    struct sh_mark_number weekly_step; /* planned change a week; not given: none */
    char set_by[SH_MARK_TEXT_BYTES];   /* free text */
    char set_on[SH_MARK_DATE_BYTES];
    char from[SH_MARK_DATE_BYTES];  /* first day, "": always */
    char until[SH_MARK_DATE_BYTES]; /* last day, "": open */
};

/* Somebody has looked at ratings and limits and lets planned steps go on. */
struct sh_person_confirmation {
    size_t kept;
    char on[SH_MARK_DATE_BYTES];
    char by[SH_MARK_TEXT_BYTES];
};

/* A day on which nothing was shot, as somebody has said. */
struct sh_person_rest {
    size_t kept;
    char date[SH_MARK_DATE_BYTES];
};

/* Draws made without a sensor. */
struct sh_person_draws {
    size_t kept;
    char date[SH_MARK_DATE_BYTES];
    uint64_t draws;
    struct sh_mark_number draw_weight_n;
};

/* Pain, 0 to 10. */
struct sh_person_rating {
    size_t kept;
    char date[SH_MARK_DATE_BYTES];
    char when[SH_MARK_NAME_BYTES]; /* "before", "during", "after" shooting */
    double rating;
};

/* The band in which an athlete wants a measure to lie. Only one of a measure is in force: that
 * which has not ended. */
struct sh_person_goal {
    size_t kept;
    char what[SH_MARK_NAME_BYTES]; /* key of a measure: "hold_time_s" */
    double least;                  /* in the unit of what; above 0, below most */
    double most;
    char basis[SH_MARK_NAME_BYTES]; /* "person": somebody has said it; "best-arrows" */
    uint64_t arrows;                /* that it was worked out from; 0: none */
    char set_by[SH_MARK_TEXT_BYTES];
    char set_on[SH_MARK_DATE_BYTES];
    char ended_on[SH_MARK_DATE_BYTES]; /* "": in force */
};

#define SH_PERSON_ENTRIES_MAX 100000u /* of each list */

/* Lists are owned, in the file's order. All zero: a person of whom nothing is known. */
struct sh_person {
    char name[SH_SESSION_NAME_BYTES];
    char hidden_on[SH_MARK_DATE_BYTES]; /* the day the person was hidden; "": is not */
    struct sh_person_limit *limits;
    size_t n_limits;
    struct sh_person_confirmation *confirmations;
    size_t n_confirmations;
    struct sh_person_rest *rests;
    size_t n_rests;
    struct sh_person_draws *draws;
    size_t n_draws;
    struct sh_person_rating *ratings;
    size_t n_ratings;
    struct sh_person_goal *goals;
    size_t n_goals;
};

/* Frees the lists and zeroes the person. Takes a zeroed one. */
void sh_person_close(struct sh_person *person);

/*
 * Appends an entry (copies). SH_ERR_MEMORY; SH_ERR_FULL beyond SH_PERSON_ENTRIES_MAX: the
 * person stays as it was. Test: tests/recording/test_person.c.
 */
enum sh_status sh_person_add_limit(struct sh_person *person,
                                   const struct sh_person_limit *limit);
enum sh_status sh_person_add_confirmation(struct sh_person *person,
                                          const struct sh_person_confirmation *confirmation);
enum sh_status sh_person_add_rest(struct sh_person *person, const struct sh_person_rest *rest);
enum sh_status sh_person_add_draws(struct sh_person *person,
                                   const struct sh_person_draws *draws);
enum sh_status sh_person_add_rating(struct sh_person *person,
                                    const struct sh_person_rating *rating);
enum sh_status sh_person_add_goal(struct sh_person *person, const struct sh_person_goal *goal);

/* The goal of a measure that is in force: the last one that has not ended; NULL: none. Borrowed
 * from the person. */
const struct sh_person_goal *sh_person_find_goal(const struct sh_person *person,
                                                 const char *what);

/*
 * The list of n_items of item_bytes, room for one more made in *items: what the functions above
 * grow by, for readers of whole files. The same statuses.
 */
enum sh_status sh_person_grow(void **items, size_t n_items, size_t item_bytes);

#endif
