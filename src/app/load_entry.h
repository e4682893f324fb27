/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LOAD_ENTRY_H
#define SH_APP_LOAD_ENTRY_H

#include "app/person_file.h"

/*
 * What `load` is told of a day: draws without a sensor, rest, a rating; or that what was said
 * of it is taken back.
 */

enum sh_load_entry_kind {
    SH_LOAD_ENTRY_DRAWS,
    SH_LOAD_ENTRY_REST,
    SH_LOAD_ENTRY_RATING,
    SH_LOAD_ENTRY_FORGET
};

struct sh_load_entry {
    enum sh_load_entry_kind kind;
    int day;
    struct sh_person_draws draws;
    struct sh_person_rating rating;
    size_t n_forgotten; /* SH_LOAD_ENTRY_FORGET: entries taken away, once applied */
};

/*
 * Reads the words of an option: --add DATE DRAWS [WEIGHT_N], --rest DATE, --rating DATE WHEN
 * RATING, --forget DATE; words are those behind DATE. WEIGHT_N as capture's --draw-weight.
 * SH_ERR_ARGUMENT. Test: tests/app/test_load_entry.c, of all
 * of this file.
 */
enum sh_status sh_load_entry_parse(const char *option,
                                   const char *date,
                                   char *const *words,
                                   size_t n_words,
                                   struct sh_load_entry *out,
                                   struct sh_error *err);

/*
 * The change of a person's file that an entry asks for; keeps it. A day with draws cannot be
 * said to be rest, nor one of rest to have draws (SH_ERR_EXISTS); a day said to be rest twice
 * is fine. SH_ERR_NOT_FOUND: nothing was said of the day that could be forgotten.
 * SH_ERR_MEMORY.
 */
struct sh_person_file_change sh_load_entry_make_change(struct sh_load_entry *entry);

#endif
