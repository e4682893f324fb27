/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/limit_day.h"

#include <string.h>

#include "finding/limit_kind.h"

#define SURE 2.0 /* standard uncertainties, as of every limit */

/* What is known of a day. */
struct known {
    double value;
    double u;
    bool is_all; /* else it is so much at least */
};

static size_t find_finger(const char *name)
{
    static const char *const names[SH_DAY_LOAD_FINGERS] = {"index", "middle", "ring"};
    size_t finger = 0;
    while (finger < SH_DAY_LOAD_FINGERS && strcmp(names[finger], name) != 0) {
        finger++;
    }
    return finger;
}

static struct known get_peak(const struct sh_day_load *day, size_t finger)
{
    const struct sh_quantity *peak = &day->peak_n[finger];
    const bool is_known = sh_quantity_is_known(peak);
    return (struct known){.value = is_known ? peak->value : 0.0,
                          .u = is_known ? peak->u : 0.0,
                          .is_all = day->n_unread == 0 && day->n_peaks[finger] == day->n_draws};
}

static struct known get_impulse(const struct sh_day_load *day, size_t finger)
{
    const struct sh_quantity whole = sh_day_load_get_impulse_n_s(day, finger);
    const struct sh_load_sum *sum =
        finger < SH_DAY_LOAD_FINGERS ? &day->impulse_n_s[finger] : &day->sum_n_s;
    return (struct known){sum->value, sum->u, sh_quantity_is_known(&whole)};
}

static struct known get_share(const struct sh_day_load *day, size_t finger)
{
    const struct sh_quantity share = sh_day_load_get_share(day, finger);
    return sh_quantity_is_known(&share) ? (struct known){share.value, share.u, true}
                                        : (struct known){.is_all = false};
}

/* False where the day's sums do not tell of such a limit. */
static bool find_known(const struct sh_person_limit *limit,
                       const struct sh_day_load *day,
                       struct known *out)
{
    struct sh_limit_kind kind;
    const bool is_day = strcmp(limit->per, "day") == 0;
    const size_t finger = find_finger(limit->finger);
    if (!sh_limit_kind_find(limit->what, &kind)) {
        return false;
    }
    switch (kind.what) {
    case SH_LIMIT_WHAT_PEAK:
        *out = finger < SH_DAY_LOAD_FINGERS ? get_peak(day, finger) : *out;
        return finger < SH_DAY_LOAD_FINGERS;
    case SH_LIMIT_WHAT_IMPULSE:
        *out = get_impulse(day, finger);
        return is_day;
    case SH_LIMIT_WHAT_SHARE:
        *out = finger < SH_DAY_LOAD_FINGERS ? get_share(day, finger) : *out;
        return is_day && finger < SH_DAY_LOAD_FINGERS;
    case SH_LIMIT_WHAT_DRAWS:
        *out = (struct known){.value = (double)day->n_draws, .is_all = day->n_unread == 0};
        return is_day;
    case SH_LIMIT_WHAT_REST:
    case SH_LIMIT_WHAT_MEASURE:
        return false;
    }
    return false;
}

enum sh_limit_day sh_limit_day_judge(const struct sh_person_limit *limit,
                                     double value,
                                     const struct sh_day_load *day)
{
    struct known known = {0};
    if (!find_known(limit, day, &known)) {
        return SH_LIMIT_DAY_NONE;
    }
    if (sh_day_load_get_kind(day) == SH_DAY_LOAD_UNKNOWN) {
        return SH_LIMIT_DAY_UNKNOWN;
    }
    if (day->n_draws == 0 && day->n_unread == 0) {
        return SH_LIMIT_DAY_NONE;
    }
    /* what is not known could only add to it */
    if (limit->most.is_given && known.value + SURE * known.u >= value && known.value > 0.0) {
        return SH_LIMIT_DAY_REACHED;
    }
    if (!known.is_all) {
        return SH_LIMIT_DAY_UNKNOWN;
    }
    return limit->least.is_given && known.value - SURE * known.u <= value ? SH_LIMIT_DAY_REACHED
                                                                          : SH_LIMIT_DAY_INSIDE;
}
