/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/day_load.h"

#include <math.h>
#include <stdlib.h>

const char *sh_day_load_kind_name(enum sh_day_load_kind kind)
{
    static const char *const names[] = {"unknown", "rest", "unmeasured", "measured"};
    return names[kind];
}

enum sh_status sh_day_load_list_open(int first_day, int last_day, struct sh_day_load_list *out)
{
    if (last_day < first_day) {
        return SH_ERR_ARGUMENT;
    }
    size_t n = (size_t)((long)last_day - first_day) + 1;
    if (n > SH_DAY_LOAD_DAYS_MAX) {
        return SH_ERR_FULL;
    }
    struct sh_day_load_list list = {.first_day = first_day, .n_days = n};
    list.days = calloc(n, sizeof *list.days);
    list.is_rest = calloc(n, sizeof *list.is_rest);
    if (list.days == NULL || list.is_rest == NULL) {
        sh_day_load_list_close(&list);
        return SH_ERR_MEMORY;
    }
    *out = list;
    return SH_OK;
}

void sh_day_load_list_close(struct sh_day_load_list *list)
{
    free(list->days);
    free(list->is_rest);
    *list = (struct sh_day_load_list){0};
}

struct sh_day_load *sh_day_load_list_find(const struct sh_day_load_list *list, int day)
{
    long index = (long)day - list->first_day;
    return index >= 0 && (size_t)index < list->n_days ? &list->days[index] : NULL;
}

void sh_day_load_list_set_rest(struct sh_day_load_list *list, int day)
{
    if (sh_day_load_list_find(list, day) != NULL) {
        list->is_rest[(long)day - list->first_day] = true;
    }
}

static void raise_peak(struct sh_quantity *peak, const struct sh_quantity *other)
{
    if (sh_quantity_is_known(other) &&
        (!sh_quantity_is_known(peak) || other->value > peak->value)) {
        *peak = *other;
    }
}

static void
add_peak(struct sh_day_load *day, size_t finger, const struct sh_quantity *peak, double level_n)
{
    if (!sh_quantity_is_known(peak)) {
        return;
    }
    raise_peak(&day->peak_n[finger], peak);
    day->n_peaks[finger]++;
    day->n_above[finger] += level_n > 0.0 && peak->value >= level_n ? 1 : 0;
}

/* Sum over the fingers, unknown where one of them is. */
static struct sh_quantity add_up(const struct sh_quantity impulse_n_s[SH_DAY_LOAD_FINGERS])
{
    struct sh_load_sum sum = {0};
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        sh_load_sum_add(&sum, &impulse_n_s[i]);
    }
    return sh_load_sum_get(&sum);
}

void sh_day_load_add_draw(struct sh_day_load *day,
                          const struct sh_day_load_draw *draw,
                          double level_n)
{
    bool has_force = false;
    day->n_draws++;
    day->n_let_downs += draw->is_let_down ? 1 : 0;
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        has_force = has_force || draw->impulse_n_s[i].why != SH_WHY_NO_CHANNEL;
        sh_load_sum_add(&day->impulse_n_s[i], &draw->impulse_n_s[i]);
        add_peak(day, i, &draw->peak_n[i], level_n);
    }
    day->n_without_force += has_force ? 0 : 1;
    const struct sh_quantity sum = add_up(draw->impulse_n_s);
    sh_load_sum_add(&day->sum_n_s, &sum);
}

void sh_day_load_add_by_hand(struct sh_day_load *day, size_t n_draws, double weight_n)
{
    const struct sh_quantity unmeasured = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    day->n_draws += n_draws;
    day->n_added += n_draws;
    day->added_weight_n = fmax(day->added_weight_n, weight_n);
    for (size_t i = 0; n_draws > 0 && i < SH_DAY_LOAD_FINGERS; i++) {
        sh_load_sum_add(&day->impulse_n_s[i], &unmeasured);
    }
    if (n_draws > 0) {
        sh_load_sum_add(&day->sum_n_s, &unmeasured);
    }
}

void sh_day_load_add_recording(struct sh_day_load *day, bool was_read)
{
    const struct sh_quantity unread = sh_quantity_unknown(SH_WHY_UNRESOLVED);
    day->n_recordings++;
    if (was_read) {
        return;
    }
    day->n_unread++;
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        sh_load_sum_add(&day->impulse_n_s[i], &unread);
    }
    sh_load_sum_add(&day->sum_n_s, &unread);
}

static enum sh_day_load_kind find_kind(const struct sh_day_load *day, bool is_rest)
{
    if (day->n_draws == 0 && day->n_recordings == 0) {
        return is_rest ? SH_DAY_LOAD_REST : SH_DAY_LOAD_UNKNOWN;
    }
    return day->n_added + day->n_without_force + day->n_unread > 0 ? SH_DAY_LOAD_UNMEASURED
                                                                   : SH_DAY_LOAD_MEASURED;
}

void sh_day_load_list_settle(struct sh_day_load_list *list)
{
    for (size_t i = 0; i < list->n_days; i++) {
        struct sh_day_load *day = &list->days[i];
        for (int kind = 0; kind <= SH_DAY_LOAD_MEASURED; kind++) {
            day->n_days_of[kind] = 0;
        }
        day->n_days_of[find_kind(day, list->is_rest[i])] = 1;
    }
}

enum sh_day_load_kind sh_day_load_get_kind(const struct sh_day_load *day)
{
    int kind = SH_DAY_LOAD_MEASURED;
    while (kind > SH_DAY_LOAD_UNKNOWN && day->n_days_of[kind] == 0) {
        kind--;
    }
    return (enum sh_day_load_kind)kind;
}

struct sh_quantity sh_day_load_get_impulse_n_s(const struct sh_day_load *day, size_t finger)
{
    if (day->n_days_of[SH_DAY_LOAD_UNKNOWN] > 0) {
        return sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    }
    return sh_load_sum_get(finger < SH_DAY_LOAD_FINGERS ? &day->impulse_n_s[finger]
                                                        : &day->sum_n_s);
}

struct sh_quantity sh_day_load_get_draws(const struct sh_day_load *day)
{
    if (day->n_days_of[SH_DAY_LOAD_UNKNOWN] > 0) {
        return sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    }
    return day->n_unread > 0 ? sh_quantity_unknown(SH_WHY_UNRESOLVED)
                             : sh_quantity_known((double)day->n_draws, 0.0);
}

/* s = a / (a + b): du = ((1 - s) ua, s ub) / (a + b), in squares (JCGM 100:2008, 5.1.2). */
struct sh_quantity sh_day_load_get_share(const struct sh_day_load *day, size_t finger)
{
    double all_n_s = 0.0;
    double others_u = 0.0;
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        const struct sh_quantity impulse = sh_day_load_get_impulse_n_s(day, i);
        if (!sh_quantity_is_known(&impulse)) {
            return impulse;
        }
        all_n_s += impulse.value;
        others_u = i == finger ? others_u : hypot(others_u, impulse.u);
    }
    if (!(all_n_s > 0.0)) {
        return sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
    const struct sh_load_sum *own = &day->impulse_n_s[finger];
    const double share = own->value / all_n_s;
    return sh_quantity_known(share, hypot((1.0 - share) * own->u, share * others_u) / all_n_s);
}

void sh_day_load_add_day(struct sh_day_load *span, const struct sh_day_load *day)
{
    for (int kind = 0; kind <= SH_DAY_LOAD_MEASURED; kind++) {
        span->n_days_of[kind] += day->n_days_of[kind];
    }
    span->n_recordings += day->n_recordings;
    span->n_unread += day->n_unread;
    span->n_draws += day->n_draws;
    span->n_let_downs += day->n_let_downs;
    span->n_added += day->n_added;
    span->added_weight_n = fmax(span->added_weight_n, day->added_weight_n);
    span->n_without_force += day->n_without_force;
    sh_load_sum_add_sum(&span->sum_n_s, &day->sum_n_s);
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        sh_load_sum_add_sum(&span->impulse_n_s[i], &day->impulse_n_s[i]);
        raise_peak(&span->peak_n[i], &day->peak_n[i]);
        span->n_peaks[i] += day->n_peaks[i];
        span->n_above[i] += day->n_above[i];
    }
}
