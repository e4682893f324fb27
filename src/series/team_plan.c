/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_plan.h"

#include <math.h>

size_t sh_team_plan_get_turns(const struct sh_team_plan *plan)
{
    return plan->n_archers * (plan->n_arrows / plan->n_turn);
}

enum sh_status sh_team_plan_check(const struct sh_team_plan *plan)
{
    if (plan->n_archers < SH_TEAM_PLAN_ARCHERS_MIN ||
        plan->n_archers > SH_TEAM_PLAN_ARCHERS_MAX || plan->n_arrows < 1 || plan->n_turn < 1 ||
        plan->n_arrows % plan->n_turn != 0 || !(plan->shooting_s > 0.0) ||
        !isfinite(plan->shooting_s)) {
        return SH_ERR_ARGUMENT;
    }
    return sh_team_plan_get_turns(plan) <= SH_TEAM_PLAN_TURNS_MAX ? SH_OK : SH_ERR_ARGUMENT;
}

static void swap(size_t *a, size_t *b)
{
    const size_t kept = *a;
    *a = *b;
    *b = kept;
}

/* The next order by the archers' places (Narayana Pandita); false after the last. */
static bool advance(size_t n, size_t *archer)
{
    size_t at = n - 1;
    while (at > 0 && archer[at - 1] > archer[at]) {
        at--;
    }
    if (at == 0) {
        return false;
    }
    size_t larger = n - 1;
    while (archer[larger] < archer[at - 1]) {
        larger--;
    }
    swap(&archer[at - 1], &archer[larger]);
    for (size_t i = at, j = n - 1; i < j; i++, j--) {
        swap(&archer[i], &archer[j]);
    }
    return true;
}

size_t sh_team_plan_list_orders(size_t n_archers,
                                struct sh_team_plan_order orders[SH_TEAM_PLAN_ORDERS_MAX])
{
    struct sh_team_plan_order order = {{0, 1, 2, 3}};
    size_t n = 0;
    do {
        orders[n++] = order;
    } while (n < SH_TEAM_PLAN_ORDERS_MAX && advance(n_archers, order.archer));
    return n;
}
