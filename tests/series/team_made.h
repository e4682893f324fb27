/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SERIES_TEAM_MADE_H
#define SH_TESTS_SERIES_TEAM_MADE_H

#include "series/team_times.h"

/* An archer's times as they are wanted. */

#define TEAM_MADE_NEXT_MAX 8u

/* Times of none: to be closed. */
void team_made_open(struct sh_team_times *times);

/* An end whose first arrow took first_s (NaN: not known), and its n further ones next_s. */
struct sh_team_end *team_made_add(struct sh_team_times *times,
                                  enum sh_team_first kind,
                                  double first_s,
                                  const double *next_s,
                                  size_t n);

/* A let-down of the last end that cost so much. */
void team_made_let_down(struct sh_team_times *times, double cost_s);

#endif
