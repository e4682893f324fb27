/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_store.h"

#include <stdlib.h>
#include <string.h>

#include "base/day.h"
#include "finding/limit_kind.h"

#define FINGERS SH_LIMIT_TALLY_FINGERS

enum sh_status sh_limit_store_add(struct sh_limit_store *store,
                                  const struct sh_limit_store_take *take)
{
    struct sh_limit_store_take *grown =
        realloc(store->takes, (store->n_takes + 1) * sizeof *grown);
    if (grown == NULL) {
        store->is_incomplete = true;
        return SH_ERR_MEMORY;
    }
    store->takes = grown;
    grown[store->n_takes++] = *take;
    return SH_OK;
}

void sh_limit_store_close(struct sh_limit_store *store)
{
    free(store->takes);
    *store = (struct sh_limit_store){0};
}

static void add(struct sh_limit_tally_sum *sum, const struct sh_quantity *value)
{
    if (sh_quantity_is_known(value)) {
        sum->value += value->value;
        sum->u += value->u;
    } else {
        sum->n_unknown++;
    }
}

static void raise_to(struct sh_limit_tally_sum *sum, const struct sh_limit_tally_sum *other)
{
    sum->n_unknown += other->n_unknown;
    if (other->value > sum->value) {
        sum->value = other->value;
        sum->u = other->u;
    }
}

/* One draw of an earlier recording. A let-down's peak has no definition. */
static void add_draw(struct sh_limit_tally *tally, const struct sh_day_load_draw *draw)
{
    tally->n_draws++;
    for (size_t i = 0; i < FINGERS; i++) {
        struct sh_limit_tally_sum peak = {0};
        add(&tally->impulse_n_s[i], &draw->impulse_n_s[i]);
        if (!draw->is_let_down) {
            add(&peak, &draw->peak_n[i]);
        }
        raise_to(&tally->peak_n[i], &peak);
    }
}

static void add_tally(struct sh_limit_tally *tally, const struct sh_limit_tally *other)
{
    tally->n_draws += other->n_draws;
    for (size_t i = 0; i < FINGERS; i++) {
        tally->impulse_n_s[i].value += other->impulse_n_s[i].value;
        tally->impulse_n_s[i].u += other->impulse_n_s[i].u;
        tally->impulse_n_s[i].n_unknown += other->impulse_n_s[i].n_unknown;
        raise_to(&tally->peak_n[i], &other->peak_n[i]);
    }
}

/* Everything that is not known of a part: its forces, and (is_all) its draws. */
static void add_unknown(struct sh_limit_tally *tally, size_t *n_unread, bool is_all)
{
    *n_unread += is_all ? 1 : 0;
    for (size_t i = 0; i < FINGERS; i++) {
        tally->impulse_n_s[i].n_unknown++;
        tally->peak_n[i].n_unknown++;
    }
}

static void add_recording(const struct sh_diary_recording *recording,
                          struct sh_limit_tally *tally,
                          size_t *n_unread)
{
    if (!recording->was_read) {
        add_unknown(tally, n_unread, true);
    }
    for (size_t i = 0; i < recording->draws.n_draws; i++) {
        add_draw(tally, &recording->draws.draws[i]);
    }
}

static void add_by_hand(const struct sh_limit_store_query *query,
                        struct sh_limit_tally *tally,
                        size_t *n_unread)
{
    const struct sh_person *person = &query->diary->person;
    char date[SH_DAY_BYTES];
    sh_day_format(query->day, date);
    for (size_t i = 0; i < person->n_draws; i++) {
        if (strcmp(person->draws[i].date, date) == 0) {
            tally->n_draws += (size_t)person->draws[i].draws;
            add_unknown(tally, n_unread, false);
        }
    }
}

/* All that counts in a limit's span before now. */
static struct sh_limit_tally
gather(const struct sh_limit_store_query *query, bool is_day, size_t *n_unread)
{
    struct sh_limit_tally tally = {0};
    const struct sh_diary *diary = query->diary;
    for (size_t i = 0; i < diary->n_recordings; i++) {
        const struct sh_diary_recording *recording = &diary->recordings[i];
        bool is_session =
            query->session[0] != '\0' && strcmp(recording->session, query->session) == 0;
        if (recording->day == query->day && (is_day || is_session)) {
            add_recording(recording, &tally, n_unread);
        }
    }
    for (size_t i = 0; i < query->store->n_takes; i++) {
        if (strcmp(query->store->takes[i].athlete, query->athlete) == 0) {
            add_tally(&tally, &query->store->takes[i].tally);
        }
    }
    if (is_day) {
        add_by_hand(query, &tally, n_unread);
    }
    if (query->store->is_incomplete) {
        add_unknown(&tally, n_unread, true);
    }
    return tally;
}

static void put(struct sh_mark *limit, const struct sh_limit_tally_sum *sum)
{
    limit->before = (struct sh_mark_number){true, sum->value};
    limit->before_u = (struct sh_mark_number){true, sum->u};
    if (sum->n_unknown > 0) {
        limit->before_unknown = (struct sh_mark_number){true, (double)sum->n_unknown};
    }
}

static struct sh_limit_tally_sum add_up(const struct sh_limit_tally *tally)
{
    struct sh_limit_tally_sum sum = {0};
    for (size_t i = 0; i < FINGERS; i++) {
        sum.value += tally->impulse_n_s[i].value;
        sum.u += tally->impulse_n_s[i].u;
        sum.n_unknown += tally->impulse_n_s[i].n_unknown;
    }
    return sum;
}

void sh_limit_store_fill(const struct sh_limit_store_query *query, struct sh_mark *limit)
{
    struct sh_limit_kind kind;
    size_t n_unread = 0;
    if (strcmp(limit->per, "shot") == 0 || !sh_limit_kind_find(limit->what, &kind)) {
        return;
    }
    const struct sh_limit_tally tally =
        gather(query, strcmp(limit->per, "day") == 0, &n_unread);
    const size_t finger = sh_limit_tally_get_finger(limit);
    const struct sh_limit_tally_sum all = add_up(&tally);
    const struct sh_limit_tally_sum draws = {.value = (double)tally.n_draws,
                                             .n_unknown = n_unread};
    switch (kind.what) {
    case SH_LIMIT_WHAT_DRAWS:
        put(limit, &draws);
        break;
    case SH_LIMIT_WHAT_PEAK:
        put(limit, &tally.peak_n[finger]);
        break;
    case SH_LIMIT_WHAT_IMPULSE:
        put(limit, finger < FINGERS ? &tally.impulse_n_s[finger] : &all);
        break;
    case SH_LIMIT_WHAT_SHARE:
        put(limit, &tally.impulse_n_s[finger]);
        limit->before_all = (struct sh_mark_number){true, all.value};
        if (all.n_unknown > 0) {
            limit->before_unknown = (struct sh_mark_number){true, (double)all.n_unknown};
        }
        break;
    case SH_LIMIT_WHAT_REST:
    case SH_LIMIT_WHAT_MEASURE:
        break;
    }
}

bool sh_limit_store_find_rating(const struct sh_limit_store_query *query, double *rating)
{
    const struct sh_limit_store *store = query->store;
    for (size_t i = store->n_takes; i > 0; i--) {
        const struct sh_limit_store_take *take = &store->takes[i - 1];
        if (take->has_rating && strcmp(take->athlete, query->athlete) == 0) {
            *rating = take->rating;
            return true;
        }
    }
    for (size_t i = query->diary->n_ratings; i > 0; i--) {
        if (query->diary->ratings[i - 1].day <= query->day) {
            *rating = query->diary->ratings[i - 1].rating;
            return true;
        }
    }
    return false;
}
