/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/limit_plan.h"

#include <math.h>

#include "base/day.h"

/* The days of a limit, where they are said. */
struct span {
    bool has_from;
    int from;
    bool has_until;
    int until;
};

static bool read_span(const struct sh_person_limit *limit, struct span *span)
{
    *span =
        (struct span){.has_from = limit->from[0] != '\0', .has_until = limit->until[0] != '\0'};
    return (!span->has_from || sh_day_parse(limit->from, &span->from)) &&
           (!span->has_until || sh_day_parse(limit->until, &span->until));
}

/* The latest of the days from first to last; false where there is none. */
static bool find_latest(const int *days, size_t n, int first, int last, int *latest)
{
    bool is_found = false;
    for (size_t i = 0; i < n; i++) {
        if (days[i] >= first && days[i] <= last && (!is_found || days[i] > *latest)) {
            *latest = days[i];
            is_found = true;
        }
    }
    return is_found;
}

/* True where there was trouble from first to day that nobody has confirmed since. */
static bool is_held(const struct sh_limit_plan_history *history, int first, int day)
{
    int trouble = 0;
    int confirmed = 0;
    return find_latest(history->trouble, history->n_trouble, first, day, &trouble) &&
           !find_latest(history->confirmed, history->n_confirmed, trouble + 1, day, &confirmed);
}

static bool is_loosening(const struct sh_person_limit *limit)
{
    return limit->most.is_given ? limit->weekly_step.value > 0.0
                                : limit->weekly_step.value < 0.0;
}

/* Takes the steps up to day; plan->next_day is that of the next one. */
static void take_steps(const struct sh_person_limit *limit,
                       const struct sh_limit_plan_history *history,
                       int from,
                       int day,
                       struct sh_limit_plan *plan)
{
    const bool can_wait = is_loosening(limit);
    plan->next_day = from + SH_DAY_WEEK;
    for (int at = plan->next_day; at <= day; at++) {
        if (at < plan->next_day) {
            continue;
        }
        plan->is_waiting = can_wait && is_held(history, from, at);
        if (!plan->is_waiting) {
            plan->n_steps++;
            plan->next_day = at + SH_DAY_WEEK;
        }
    }
}

void sh_limit_plan_find(const struct sh_person_limit *limit,
                        const struct sh_limit_plan_history *history,
                        int day,
                        struct sh_limit_plan *plan)
{
    struct span span;
    const double value = limit->most.is_given ? limit->most.value : limit->least.value;
    *plan = (struct sh_limit_plan){.value = value};
    if (!read_span(limit, &span)) {
        return;
    }
    const bool has_begun = !span.has_from || day >= span.from;
    const bool has_ended = span.has_until && day > span.until;
    plan->is_in_force = has_begun && !has_ended;
    if (!limit->weekly_step.is_given || !span.has_from || !has_begun) {
        return;
    }
    take_steps(limit, history, span.from, has_ended ? span.until : day, plan);
    plan->value = fmax(0.0, value + (double)plan->n_steps * limit->weekly_step.value);
    plan->has_next = !has_ended && (!span.has_until || plan->next_day <= span.until);
}
