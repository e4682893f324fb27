/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_TEAM_POOL_H
#define SH_SERIES_TEAM_POOL_H

#include "series/team_times.h"
#include "signal/random.h"

/*
 * One archer's own arrow times to draw from, and the same with the ends drawn afresh: what
 * another evening might have shown. A pick takes an end, each alike likely, and an arrow of it:
 * arrows of one turn come from one end, for they are alike. Test of all:
 * tests/series/test_team_pool.c.
 */

/* First arrows of one kind, fewer of which are not told from those of the other. */
#define SH_TEAM_POOL_FIRST_MIN 5u

/* Indices of ends, of times or of costs. */
struct sh_team_pool_list {
    size_t *index; /* owned */
    size_t n;
};

struct sh_team_pool {
    const struct sh_team_times *times; /* kept */
    bool is_merged;                    /* both kinds of first arrows count as one */
    struct sh_team_pool_list drawn;    /* ends */
    struct sh_team_pool_list first[SH_TEAM_FIRST_KINDS]; /* ends with a first arrow, by kind */
    struct sh_team_pool_list next;                       /* ends with further arrows */
    struct sh_team_pool_list cost;                       /* into times->cost_s */
    double let_down_ratio;                               /* of all draws */
    double *end_mean_s;                                  /* owned, of an end's further arrows */
    double stretch_ratio;                     /* what ends differ by is made so much wider */
    double first_mean_s[SH_TEAM_FIRST_KINDS]; /* that of the ends drawn */
    double next_mean_s;
};

/*
 * Opens the pool of all ends. *pool is to be closed whatever comes back. SH_ERR_SHORT: not
 * sh_team_times_is_enough; SH_ERR_MEMORY.
 */
enum sh_status sh_team_pool_open(const struct sh_team_times *times, struct sh_team_pool *pool);

/*
 * Draws the ends afresh, one fewer than there are (n), each alike likely each time: with one
 * fewer the scatter of a mean is as large as it is known to be (Rao & Wu 1988, J Am Stat Assoc
 * 83:231). Such a draw of a draw differs within itself by (n - 2) / n of the variance there
 * truly is between ends; so from here on picks lie further from the mean by sqrt(n / (n - 2)),
 * first arrows as they are, further ones by their end's mean. Draws without any time are drawn
 * again. Cost: O(ends).
 */
void sh_team_pool_redraw(struct sh_team_pool *pool, struct sh_random *random);

/*
 * The first arrow of a turn that a number 0 <= u < 1 picks, s, let-downs apart; *end is the end
 * it came from. Without first arrows of the kind those of the other stand in, and without any
 * further arrows do.
 */
double sh_team_pool_pick_first_s(const struct sh_team_pool *pool,
                                 enum sh_team_first kind,
                                 double u,
                                 size_t *end);

/* A further arrow of an end, of another end where it has none; without any, a first arrow. */
double sh_team_pool_pick_next_s(const struct sh_team_pool *pool, size_t end, double u);

/*
 * What an arrow's let-downs cost, s, mostly 0: each draw is one with the pool's ratio. Where no
 * cost is known, one let-down costs what a further arrow takes.
 */
double sh_team_pool_draw_let_downs_s(const struct sh_team_pool *pool, struct sh_random *random);

/* Means of the three, s; that of a further arrow, of ends that a first arrow of kind picks. */
double sh_team_pool_get_first_mean_s(const struct sh_team_pool *pool, enum sh_team_first kind);
double sh_team_pool_get_next_mean_s(const struct sh_team_pool *pool, enum sh_team_first kind);
double sh_team_pool_get_let_downs_mean_s(const struct sh_team_pool *pool);

/* Frees what it owns and zeroes it. Takes a zeroed pool. */
void sh_team_pool_close(struct sh_team_pool *pool);

#endif
