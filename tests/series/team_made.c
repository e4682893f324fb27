/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_made.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

void team_made_open(struct sh_team_times *times)
{
    memset(times, 0, sizeof *times);
}

struct sh_team_end *team_made_add(struct sh_team_times *times,
                                  enum sh_team_first kind,
                                  double first_s,
                                  const double *next_s,
                                  size_t n)
{
    times->ends = realloc(times->ends, (times->n_ends + 1) * sizeof *times->ends);
    times->next_s = realloc(times->next_s, (times->n_next + n + 1) * sizeof *times->next_s);
    assert_non_null(times->ends);
    assert_non_null(times->next_s);
    struct sh_team_end *end = &times->ends[times->n_ends++];
    *end = (struct sh_team_end){.first = isnan(first_s) ? SH_TEAM_FIRST_KINDS : kind,
                                .first_s = first_s,
                                .next = times->n_next,
                                .n_next = n,
                                .cost = times->n_costs,
                                .n_arrows = n + 1,
                                .is_clocked = !isnan(first_s),
                                .clock_at_s = (double)NAN,
                                .last_s = (double)NAN};
    for (size_t i = 0; i < n; i++) {
        times->next_s[times->n_next++] = next_s[i];
    }
    return end;
}

void team_made_let_down(struct sh_team_times *times, double cost_s)
{
    struct sh_team_end *end = &times->ends[times->n_ends - 1];
    times->cost_s = realloc(times->cost_s, (times->n_costs + 1) * sizeof *times->cost_s);
    assert_non_null(times->cost_s);
    times->cost_s[times->n_costs++] = cost_s;
    end->n_costs++;
    end->n_let_downs++;
}
