/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_TEAM_CHANCE_H
#define SH_SERIES_TEAM_CHANCE_H

#include <stdint.h>

#include "series/team_plan.h"

/*
 * Whether a team finishes its end in time, order by order: each archer's own times drawn from
 * her own arrows, added up. Archers are taken as independent, and each as shooting as she did
 * in the recordings, whatever is left on the clock. Test of all:
 * tests/series/test_team_chance.c, tests/reference/test_reference_team.c.
 */

#define SH_TEAM_CHANCE_LEVEL 0.95
/* An order is called the best from this share of the redraws on. */
#define SH_TEAM_CHANCE_SURE_RATIO 0.95
/* So much is left, at least, in all but this share of ends. */
#define SH_TEAM_CHANCE_LOW_RATIO 0.05

struct sh_team_chance_config {
    uint64_t seed;    /* to be printed beside the figures */
    size_t n_runs;    /* ends simulated from the arrows as they are; 100 or more */
    size_t n_redraws; /* times that the recordings' ends are drawn afresh; 100 or more */
    size_t n_inner;   /* ends simulated from each of these; 100 or more */
};

/* Seed 1, 20,000 runs, 1000 redraws of 1000. */
struct sh_team_chance_config sh_team_chance_config_default(void);

/* A figure and its 95 % interval. */
struct sh_team_chance_figure {
    double value;
    double lo;
    double hi;
};

/* One archer's turn, on average. */
struct sh_team_chance_turn {
    size_t archer;
    double begins_s; /* time left as the archer has taken over */
    double ends_s;   /* after the turn's last arrow */
};

struct sh_team_chance_order {
    struct sh_team_plan_order order;
    struct sh_team_chance_figure chance; /* of all arrows within the time */
    double chance_u;                     /* of the simulation alone: standard error */
    struct sh_team_chance_figure left_s; /* after the last arrow, on average; exact */
    double low_s;                        /* so much or more is left in 19 of 20 ends */
    struct sh_team_chance_turn turns[SH_TEAM_PLAN_TURNS_MAX];
};

/* Which order keeps most time. Only who begins matters to the whole: hand-overs and the kinds
 * of first arrows differ by that alone. */
struct sh_team_chance_best {
    bool is_alike;      /* all orders leave the same: nothing in the data tells them apart */
    size_t archer;      /* who begins in the best orders */
    size_t next;        /* who begins in those that come next */
    double share_ratio; /* of redraws in which these orders were the best */
    struct sh_team_chance_figure gain_s; /* on the next */
    bool is_sure; /* SH_TEAM_CHANCE_SURE_RATIO, and gain_s leaves 0 out */
};

/* What an archer's arrows take on average, s. */
struct sh_team_chance_archer {
    double first_s[SH_TEAM_FIRST_KINDS];
    double next_s;         /* behind a first arrow that followed a hand-over */
    double hand_over_s;    /* to take over */
    double let_down_ratio; /* of draws */
    double let_downs_s;    /* they cost an arrow */
};

struct sh_team_chance {
    struct sh_team_plan plan; /* as asked */
    struct sh_team_chance_config config;
    struct sh_team_chance_archer archers[SH_TEAM_PLAN_ARCHERS_MAX];
    struct sh_team_chance_order orders[SH_TEAM_PLAN_ORDERS_MAX];
    size_t n_orders;
    struct sh_team_chance_best best;
};

/*
 * Works it out. The chance is simulated from the arrows as they are. Its interval is made of
 * the 2.5 and 97.5 % points of chances simulated from redraws of each archer's ends (and of the
 * hand-overs that were seen), so that it holds the error of the simulation and that of having
 * seen so few ends; it takes in the chance itself. All orders see the same random numbers.
 * SH_ERR_ARGUMENT: a setting, sh_team_plan_check; SH_ERR_SHORT: an archer has too few arrows;
 * SH_ERR_MEMORY. Cost: some 4 random numbers an arrow and simulated end: half a second with
 * the default and six arrows. Any thread.
 */
enum sh_status sh_team_chance_get(const struct sh_team_plan *plan,
                                  const struct sh_team_chance_config *config,
                                  struct sh_team_chance *chance);

#endif
