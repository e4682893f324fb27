/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_PEOPLE_DOCUMENT_H
#define SH_LIVE_PEOPLE_DOCUMENT_H

#include "base/text.h"
#include "finding/baseline.h"
#include "recording/person.h"

/*
 * Who may be shooting, and what is known of them (docs/live.md). Nobody is ranked: the list is
 * in the order of names. Any thread. Test: tests/live/test_people_document.c.
 */

#define SH_PEOPLE_DOCUMENT_MEASURES 5u

/* The measures that a person's baseline is shown of; static. */
extern const enum sh_measure sh_people_document_measures[SH_PEOPLE_DOCUMENT_MEASURES];

/* One person. Borrowed. */
struct sh_people_document_entry {
    const char *name;
    size_t n_shots;
    size_t n_recordings;
    const char *last; /* when the latest recording started, or "" */
    struct sh_baseline_place baseline[SH_PEOPLE_DOCUMENT_MEASURES]; /* n 0: not known */
    const struct sh_person *person; /* limits and goals; NULL: nothing known */
    const char *today;              /* "2026-05-14": limits that hold on that day are told */
};

/* Appends a goal for the hold, s, as the page has it. */
void sh_people_document_put_goal(double least_s,
                                 double most_s,
                                 const char *set_by,
                                 struct sh_text *text);

/* Appends one entry of "people". A limit's value is null and its state unknown: nothing was
 * carried yet. Failures stay in text->status. */
void sh_people_document_write(const struct sh_people_document_entry *entry,
                              struct sh_text *text);

#endif
