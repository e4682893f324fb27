/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/side_list.h"

#include <math.h>
#include <stdlib.h>

#define SWITCHES 2u /* of sides within a session: A B A, at least */
#define SIDES    2u

enum sh_status sh_side_list_open(struct sh_side_list *all, size_t n, size_t n_figures)
{
    all->room = n + 1;
    all->n_figures = n_figures;
    all->is_second = calloc(all->room, sizeof *all->is_second);
    all->stratum = calloc(all->room, sizeof *all->stratum);
    all->mean = calloc(all->room * (n_figures + 1), sizeof *all->mean);
    const bool is_whole = all->is_second != NULL && all->stratum != NULL && all->mean != NULL;
    return is_whole ? SH_OK : SH_ERR_MEMORY;
}

void sh_side_list_close(struct sh_side_list *all)
{
    free(all->is_second);
    free(all->stratum);
    free(all->mean);
}

/* First arrow behind those of the session that begins at i. */
static size_t find_session_end(const struct sh_before_after_config *config, size_t i)
{
    size_t end = i;
    while (end < config->n && config->arrows[end].session == config->arrows[i].session) {
        end++;
    }
    return end;
}

/* Do the arrows first .. end hold both sides? */
static bool is_mixed(const struct sh_before_after_config *config, size_t first, size_t end)
{
    for (size_t i = first; i < end; i++) {
        if (config->arrows[i].is_second != config->arrows[first].is_second) {
            return true;
        }
    }
    return false;
}

enum sh_before_after_way sh_side_list_find_way(const struct sh_before_after_config *config)
{
    size_t n[SIDES] = {0};
    for (size_t i = 0; i < config->n;) {
        const size_t end = find_session_end(config, i);
        if (is_mixed(config, i, end)) {
            return SH_BEFORE_AFTER_ENDS;
        }
        n[config->arrows[i].is_second]++;
        i = end;
    }
    return n[0] == 1 && n[1] == 1 ? SH_BEFORE_AFTER_TWO_SESSIONS : SH_BEFORE_AFTER_SESSIONS;
}

/* Appends the means of the arrows first .. end as one observation. */
static void add_mean(const struct sh_before_after_config *config,
                     size_t first,
                     size_t end,
                     size_t stratum,
                     struct sh_side_list *all)
{
    for (size_t k = 0; k < config->n_figures; k++) {
        double sum = 0.0;
        double n = 0.0;
        for (size_t i = first; i < end; i++) {
            const double value = config->values[i * config->n_figures + k];
            sum += isnan(value) ? 0.0 : value;
            n += isnan(value) ? 0.0 : 1.0;
        }
        all->mean[k * all->room + all->n] = n > 0.0 ? sum / n : (double)NAN;
    }
    all->is_second[all->n] = config->arrows[first].is_second;
    all->stratum[all->n] = stratum;
    all->n++;
}

/* Appends ends, one observation each; a change of side ends an end. */
static void add_ends(const struct sh_before_after_config *config,
                     size_t first,
                     size_t end,
                     size_t stratum,
                     struct sh_side_list *all)
{
    const struct sh_before_after_arrow *arrows = config->arrows;
    for (size_t i = first; i < end;) {
        size_t next = i;
        while (next < end && arrows[next].end == arrows[i].end &&
               arrows[next].is_second == arrows[i].is_second) {
            next++;
        }
        add_mean(config, i, next, stratum, all);
        i = next;
    }
}

/* How often the side changes from one observation to the next, from first on. */
static size_t count_switches(const struct sh_side_list *all, size_t first)
{
    size_t n = 0;
    for (size_t i = first + 1; i < all->n; i++) {
        n += all->is_second[i] != all->is_second[i - 1] ? 1u : 0u;
    }
    return n;
}

/* All observations; false where the sides of ends took no turns. */
bool sh_side_list_fill(const struct sh_before_after_config *config,
                       enum sh_before_after_way way,
                       struct sh_side_list *all)
{
    size_t n_strata = 0;
    size_t n_turns = 0;
    for (size_t i = 0; i < config->n;) {
        const size_t end = find_session_end(config, i);
        const size_t first = all->n;
        if (way == SH_BEFORE_AFTER_SESSIONS) {
            add_mean(config, i, end, 0, all);
        } else if (way == SH_BEFORE_AFTER_TWO_SESSIONS) {
            add_ends(config, i, end, 0, all);
        } else if (is_mixed(config, i, end)) {
            add_ends(config, i, end, n_strata++, all);
            n_turns += count_switches(all, first) >= SWITCHES ? 1u : 0u;
        }
        i = end;
    }
    return way != SH_BEFORE_AFTER_ENDS || 2 * n_turns >= n_strata;
}
