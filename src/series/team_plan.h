/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_TEAM_PLAN_H
#define SH_SERIES_TEAM_PLAN_H

#include <stdbool.h>

#include "series/team_hand_over.h"
#include "series/team_pool.h"

/*
 * A team's end as it is planned: who shoots, how many arrows each, how many in a turn, and all
 * the orders that there are. Test of all: tests/series/test_team_plan.c.
 */

#define SH_TEAM_PLAN_ARCHERS_MIN 2u
#define SH_TEAM_PLAN_ARCHERS_MAX 4u
#define SH_TEAM_PLAN_ORDERS_MAX  24u /* of four archers */
#define SH_TEAM_PLAN_TURNS_MAX   24u /* of all archers together */

struct sh_team_archer {
    const struct sh_team_times *times; /* kept */
    struct sh_team_hand_over hand_over;
};

struct sh_team_plan {
    const struct sh_team_archer *archers; /* kept, [n_archers] */
    size_t n_archers;
    size_t n_arrows; /* of each archer */
    size_t n_turn;   /* arrows before the next takes over; divides n_arrows */
    double shooting_s;
    bool is_first_handed; /* the first archer, too, needs a hand-over's time */
};

/* Archers, by their places in the plan, in the order in which they shoot. */
struct sh_team_plan_order {
    size_t archer[SH_TEAM_PLAN_ARCHERS_MAX];
};

/* Turns of all archers together. */
size_t sh_team_plan_get_turns(const struct sh_team_plan *plan);

/* SH_ERR_ARGUMENT: a count is out of its range, or the arrows make no whole turns. */
enum sh_status sh_team_plan_check(const struct sh_team_plan *plan);

/* Every order, sorted by the archers' places; gives how many. */
size_t sh_team_plan_list_orders(size_t n_archers,
                                struct sh_team_plan_order orders[SH_TEAM_PLAN_ORDERS_MAX]);

#endif
