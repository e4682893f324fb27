/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SIDE_LIST_H
#define SH_SERIES_SIDE_LIST_H

#include "series/before_after.h"

/*
 * The observations of a comparison, out of its arrows: what counts as one is told in
 * series/before_after.h. Test: tests/series/test_before_after.c.
 */

/* Observations of all figures: sessions' or ends' means, those of a stratum together. */
struct sh_side_list {
    size_t n;
    size_t n_figures;
    bool *is_second; /* [n] */
    size_t *stratum; /* [n]: 0, or which session */
    double *mean;    /* [n_figures][n]; NaN: no arrow shows it */
    size_t room;     /* n at most */
};

/* Room for n observations. SH_ERR_MEMORY. To be closed whatever comes back. */
enum sh_status sh_side_list_open(struct sh_side_list *all, size_t n, size_t n_figures);
void sh_side_list_close(struct sh_side_list *all);

/* What an observation is, by where the arrows belong. */
enum sh_before_after_way sh_side_list_find_way(const struct sh_before_after_config *config);

/* All observations into the empty list; false where the sides of ends took no turns. */
bool sh_side_list_fill(const struct sh_before_after_config *config,
                       enum sh_before_after_way way,
                       struct sh_side_list *all);

#endif
