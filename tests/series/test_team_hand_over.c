/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_hand_over.h"

#include "series/team_made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void add(struct sh_team_times *times, double clock_at_s, double taken_s, double last_s)
{
    struct sh_team_end *end = team_made_add(times, SH_TEAM_FIRST_START, 10.0, NULL, 0);
    end->clock_at_s = clock_at_s;
    end->taken_s = taken_s;
    end->last_s = last_s;
}

/*
 * Wren begins at 1000, her last release 30 s into the clock; rook took over at 34.5 and left
 * at 61; wren took over again at 66 of the same clock. Another evening's clock is no part.
 */
static void test_seen(void **state)
{
    struct sh_team_times wren;
    struct sh_team_times rook;
    double seen_s[4];
    team_made_open(&wren);
    team_made_open(&rook);
    add(&wren, 1000.0, 0.0, 30.0);
    add(&wren, 1000.7, 66.0, 90.0);
    add(&wren, 9000.0, 0.0, 33.0);
    add(&rook, 1001.0, 34.5, 61.0);
    add(&rook, 5000.0, 20.0, 61.0); /* who shot before is not in the recordings */
    const struct sh_team_times *const team[2] = {&wren, &rook};
    assert_int_equal(sh_team_hand_over_find(team, 2, 0, seen_s), 1);
    assert_near(seen_s[0], 5.0, 1e-12, 0);
    assert_int_equal(sh_team_hand_over_find(team, 2, 1, seen_s), 1);
    assert_near(seen_s[0], 4.5, 1e-12, 0);
    assert_int_equal(sh_team_hand_over_find(team + 1, 1, 0, seen_s), 0);
    sh_team_times_close(&wren);
    sh_team_times_close(&rook);
}

static void test_pick(void **state)
{
    static const double seen_s[3] = {2.0, 3.0, 7.0};
    const struct sh_team_hand_over seen = {.seen_s = seen_s, .n_seen = 3};
    const struct sh_team_hand_over given = {.low_s = 2.0, .high_s = 6.0};
    assert_near(sh_team_hand_over_get_mean_s(&seen), 4.0, 1e-12, 0);
    assert_near(sh_team_hand_over_get_mean_s(&given), 4.0, 1e-12, 0);
    assert_near(sh_team_hand_over_pick_s(&seen, 0.0), 2.0, 0, 0);
    assert_near(sh_team_hand_over_pick_s(&seen, 0.34), 3.0, 0, 0);
    assert_near(sh_team_hand_over_pick_s(&seen, 0.999999), 7.0, 0, 0);
    assert_near(sh_team_hand_over_pick_s(&given, 0.25), 3.0, 1e-12, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_seen),
        cmocka_unit_test(test_pick),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
