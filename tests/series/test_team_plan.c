/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_plan.h"

#include <math.h>
#include <string.h>

#include "support/cmocka_all.h"

static void test_orders(void **state)
{
    static const char *const three[6] = {"012", "021", "102", "120", "201", "210"};
    static const size_t counts[5] = {0, 0, 2, 6, 24};
    struct sh_team_plan_order orders[SH_TEAM_PLAN_ORDERS_MAX];
    for (size_t n = 2; n <= 4; n++) {
        assert_int_equal(sh_team_plan_list_orders(n, orders), counts[n]);
        for (size_t i = 0; i < counts[n]; i++) {
            char got[5] = "";
            for (size_t at = 0; at < n; at++) {
                assert_true(orders[i].archer[at] < n);
                assert_null(strchr(got, (char)('0' + orders[i].archer[at])));
                got[at] = (char)('0' + orders[i].archer[at]);
            }
            if (n == 3) {
                assert_string_equal(got, three[i]);
            }
        }
    }
    for (size_t i = 1; i < 24; i++) { /* four archers: sorted, so no two are alike */
        assert_true(memcmp(&orders[i - 1], &orders[i], sizeof orders[0]) != 0);
    }
}

static void test_check(void **state)
{
    const struct sh_team_plan good = {
        .n_archers = 3, .n_arrows = 2, .n_turn = 1, .shooting_s = 120.0};
    struct sh_team_plan plan = good;
    assert_int_equal(sh_team_plan_check(&plan), SH_OK);
    assert_int_equal(sh_team_plan_get_turns(&plan), 6);
    plan.n_archers = 1;
    assert_int_equal(sh_team_plan_check(&plan), SH_ERR_ARGUMENT);
    plan.n_archers = 5;
    assert_int_equal(sh_team_plan_check(&plan), SH_ERR_ARGUMENT);
    plan = good;
    plan.n_arrows = 3;
    plan.n_turn = 2;
    assert_int_equal(sh_team_plan_check(&plan), SH_ERR_ARGUMENT);
    plan = good;
    plan.n_turn = 0;
    assert_int_equal(sh_team_plan_check(&plan), SH_ERR_ARGUMENT);
    plan = good;
    plan.n_arrows = 8; /* 24 turns */
    assert_int_equal(sh_team_plan_check(&plan), SH_OK);
    plan.n_arrows = 9;
    assert_int_equal(sh_team_plan_check(&plan), SH_ERR_ARGUMENT);
    plan = good;
    plan.shooting_s = (double)NAN;
    assert_int_equal(sh_team_plan_check(&plan), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_orders),
        cmocka_unit_test(test_check),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
