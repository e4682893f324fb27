/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/person.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_CAPACITY 8u

void sh_person_close(struct sh_person *person)
{
    free(person->limits);
    free(person->confirmations);
    free(person->rests);
    free(person->draws);
    free(person->ratings);
    free(person->goals);
    *person = (struct sh_person){0};
}

/* The capacity is the first of 8, 16, 32 ... that holds the items: it follows from their
 * number alone. */
enum sh_status sh_person_grow(void **items, size_t n_items, size_t item_bytes)
{
    if (n_items >= SH_PERSON_ENTRIES_MAX) {
        return SH_ERR_FULL;
    }
    bool is_full =
        n_items == 0 || (n_items >= FIRST_CAPACITY && (n_items & (n_items - 1)) == 0);
    if (!is_full) {
        return SH_OK;
    }
    size_t capacity = n_items == 0 ? FIRST_CAPACITY : 2 * n_items;
    void *grown = realloc(*items, capacity * item_bytes);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    *items = grown;
    return SH_OK;
}

enum sh_status sh_person_add_limit(struct sh_person *person,
                                   const struct sh_person_limit *limit)
{
    void *items = person->limits;
    enum sh_status status = sh_person_grow(&items, person->n_limits, sizeof *limit);
    if (status == SH_OK) {
        person->limits = items;
        person->limits[person->n_limits++] = *limit;
    }
    return status;
}

enum sh_status sh_person_add_confirmation(struct sh_person *person,
                                          const struct sh_person_confirmation *confirmation)
{
    void *items = person->confirmations;
    enum sh_status status =
        sh_person_grow(&items, person->n_confirmations, sizeof *confirmation);
    if (status == SH_OK) {
        person->confirmations = items;
        person->confirmations[person->n_confirmations++] = *confirmation;
    }
    return status;
}

enum sh_status sh_person_add_rest(struct sh_person *person, const struct sh_person_rest *rest)
{
    void *items = person->rests;
    enum sh_status status = sh_person_grow(&items, person->n_rests, sizeof *rest);
    if (status == SH_OK) {
        person->rests = items;
        person->rests[person->n_rests++] = *rest;
    }
    return status;
}

enum sh_status sh_person_add_draws(struct sh_person *person,
                                   const struct sh_person_draws *draws)
{
    void *items = person->draws;
    enum sh_status status = sh_person_grow(&items, person->n_draws, sizeof *draws);
    if (status == SH_OK) {
        person->draws = items;
        person->draws[person->n_draws++] = *draws;
    }
    return status;
}

enum sh_status sh_person_add_rating(struct sh_person *person,
                                    const struct sh_person_rating *rating)
{
    void *items = person->ratings;
    enum sh_status status = sh_person_grow(&items, person->n_ratings, sizeof *rating);
    if (status == SH_OK) {
        person->ratings = items;
        person->ratings[person->n_ratings++] = *rating;
    }
    return status;
}

enum sh_status sh_person_add_goal(struct sh_person *person, const struct sh_person_goal *goal)
{
    void *items = person->goals;
    enum sh_status status = sh_person_grow(&items, person->n_goals, sizeof *goal);
    if (status == SH_OK) {
        person->goals = items;
        person->goals[person->n_goals++] = *goal;
    }
    return status;
}

const struct sh_person_goal *sh_person_find_goal(const struct sh_person *person,
                                                 const char *what)
{
    for (size_t i = person->n_goals; i > 0; i--) {
        const struct sh_person_goal *goal = &person->goals[i - 1];
        if (goal->ended_on[0] == '\0' && strcmp(goal->what, what) == 0) {
            return goal;
        }
    }
    return NULL;
}
