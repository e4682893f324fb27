/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_pull.h"

#include <math.h>

struct sh_limit_pull sh_limit_pull_make(double rate_hz, double threshold_n)
{
    return (struct sh_limit_pull){.rate_hz = rate_hz, .threshold_n = threshold_n};
}

static bool is_long(const struct sh_limit_pull *pull, uint64_t n, double time_s)
{
    return (double)n >= time_s * pull->rate_hz;
}

static enum sh_limit_pull_event step_draw(struct sh_limit_pull *pull)
{
    const double end_n = fmax(SH_LIMIT_PULL_END_RATIO * pull->threshold_n,
                              SH_LIMIT_PULL_PEAK_RATIO * pull->largest_n);
    pull->n_below = pull->total_n < end_n ? pull->n_below + 1 : 0;
    if (!is_long(pull, pull->n_below, SH_LIMIT_PULL_GONE_S)) {
        return SH_LIMIT_PULL_NONE;
    }
    pull->is_drawn = false;
    pull->n_above = 0;
    pull->n_below = 0;
    pull->ended_largest_n = pull->largest_n;
    pull->largest_n = pull->total_n;
    return SH_LIMIT_PULL_ENDED;
}

static enum sh_limit_pull_event step_pull(struct sh_limit_pull *pull)
{
    bool is_above = pull->total_n >= SH_LIMIT_PULL_EASE * pull->threshold_n;
    pull->n_above = is_above ? pull->n_above + 1 : 0;
    if (is_long(pull, pull->n_above, SH_LIMIT_PULL_DRAW_S)) {
        pull->is_drawn = true;
        pull->n_below = 0;
        return SH_LIMIT_PULL_DRAWN;
    }
    if (is_long(pull, pull->n_quiet, SH_LIMIT_PULL_GONE_S)) {
        pull->is_pulled = false;
        return SH_LIMIT_PULL_LET_GO;
    }
    return SH_LIMIT_PULL_NONE;
}

enum sh_limit_pull_event sh_limit_pull_push(struct sh_limit_pull *pull, double total_n)
{
    pull->total_n = total_n;
    pull->n_quiet = total_n > SH_LIMIT_PULL_N ? 0 : pull->n_quiet + 1;
    if (!pull->is_pulled) {
        pull->is_pulled = pull->n_quiet == 0;
        pull->n_above = 0;
        pull->largest_n = total_n;
        return pull->is_pulled ? SH_LIMIT_PULL_BEGAN : SH_LIMIT_PULL_NONE;
    }
    pull->largest_n = fmax(pull->largest_n, total_n);
    return pull->is_drawn ? step_draw(pull) : step_pull(pull);
}

bool sh_limit_pull_is_loaded(const struct sh_limit_pull *pull)
{
    return pull->is_drawn ||
           (pull->is_pulled && pull->total_n >= SH_LIMIT_PULL_EASE * pull->threshold_n);
}
