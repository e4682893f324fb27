/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_hand_over.h"

#include <math.h>

#define SAME_CLOCK_S 2.0

/* The clock's time at an archer's last release under end's clock before it was taken over;
 * NaN: none. */
static double find_release_s(const struct sh_team_times *times, const struct sh_team_end *end)
{
    double last_s = (double)NAN;
    for (size_t i = 0; i < times->n_ends; i++) {
        const struct sh_team_end *other = &times->ends[i];
        if (fabs(other->clock_at_s - end->clock_at_s) <= SAME_CLOCK_S &&
            other->last_s <= end->taken_s) {
            last_s = fmax(last_s, other->last_s); /* a NaN gives way */
        }
    }
    return last_s;
}

size_t sh_team_hand_over_find(const struct sh_team_times *const *times,
                              size_t n_archers,
                              size_t archer,
                              double *seen_s)
{
    size_t n = 0;
    for (size_t i = 0; i < times[archer]->n_ends; i++) {
        const struct sh_team_end *end = &times[archer]->ends[i];
        double release_s = (double)NAN;
        for (size_t a = 0; a < n_archers; a++) {
            release_s = fmax(release_s, find_release_s(times[a], end));
        }
        if (end->taken_s > 0.0 && isfinite(release_s)) {
            seen_s[n++] = end->taken_s - release_s;
        }
    }
    return n;
}

double sh_team_hand_over_get_mean_s(const struct sh_team_hand_over *hand_over)
{
    double mean_s = 0.0;
    for (size_t i = 0; i < hand_over->n_seen; i++) {
        mean_s += (hand_over->seen_s[i] - mean_s) / (double)(i + 1);
    }
    return hand_over->n_seen > 0 ? mean_s : 0.5 * (hand_over->low_s + hand_over->high_s);
}

double sh_team_hand_over_pick_s(const struct sh_team_hand_over *hand_over, double u)
{
    return hand_over->n_seen > 0
               ? hand_over->seen_s[(size_t)(u * (double)hand_over->n_seen)]
               : hand_over->low_s + u * (hand_over->high_s - hand_over->low_s);
}
