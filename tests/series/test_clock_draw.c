/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/clock_draw.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define UNKNOWN -1e9

static struct sh_analysis analysis;
static struct sh_clock_draw draws[16];

/* A draw with so much left at its start and its release of a clock that runs out then. */
static void add_under(double out_s, enum sh_shot_kind kind, double draw_s, double release_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.kind = kind;
    if (draw_s > UNKNOWN) {
        record.measures.quantity[SH_MEASURE_TIME_LEFT_DRAW_FIRST] =
            sh_quantity_known(draw_s, 0.003);
        record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(out_s - draw_s, 0.003);
    }
    if (release_s > UNKNOWN) {
        record.measures.quantity[SH_MEASURE_TIME_LEFT_RELEASE_FIRST] =
            sh_quantity_known(release_s, 0.001);
        record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(out_s - release_s, 0.001);
    }
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
}

static void add(enum sh_shot_kind kind, double draw_s, double release_s)
{
    add_under(1000.0, kind, draw_s, release_s);
}

static void check(unsigned n_clocks, const char *expected)
{
    char got[33] = "";
    assert_int_equal(sh_clock_draw_find_all(&analysis, draws), n_clocks);
    for (size_t i = 0; i < analysis.n_shots; i++) {
        got[2 * i] = (char)('0' + draws[i].clock);
        got[2 * i + 1] = (char)('0' + draws[i].arrow);
    }
    assert_string_equal(got, expected);
}

static int open_analysis(void **state)
{
    sh_analysis_init(&analysis, "tuesday", "wren");
    return 0;
}

static int close_analysis(void **state)
{
    sh_analysis_close(&analysis);
    return 0;
}

static void test_no_clock(void **state)
{
    check(0, "");
    add(SH_SHOT_SHOT, UNKNOWN, UNKNOWN);
    check(0, "00");
}

static void test_clocks_and_arrows(void **state)
{
    add(SH_SHOT_SHOT, UNKNOWN, UNKNOWN); /* before the clock */
    add(SH_SHOT_SHOT, 100.0, 95.0);
    add(SH_SHOT_SHOT, 80.0, 75.0);
    add(SH_SHOT_UNRESOLVED, 60.0, UNKNOWN);
    add(SH_SHOT_SHOT, UNKNOWN, UNKNOWN); /* while it was halted */
    add(SH_SHOT_SHOT, 40.0, -5.0);
    add_under(2000.0, SH_SHOT_SHOT, 110.0, 104.0); /* the next clock */
    add_under(2000.4, SH_SHOT_SHOT, UNKNOWN, 90.0);
    add_under(2001.0, SH_SHOT_SHOT, UNKNOWN, 70.0); /* and the next, with less left */
    check(3, "001112100013212231");
}

static void test_what_a_let_down_costs(void **state)
{
    add(SH_SHOT_SHOT, 100.0, 95.0);
    add(SH_SHOT_LET_DOWN, 80.0, UNKNOWN);
    add(SH_SHOT_LET_DOWN, 64.5, UNKNOWN);
    add(SH_SHOT_SHOT, 50.0, 45.0);
    add(SH_SHOT_LET_DOWN, 30.0, UNKNOWN);
    add_under(1200.0, SH_SHOT_SHOT, 110.0, 104.0);
    check(2, "111010121021");
    assert_near(draws[1].cost_s.value, 15.5, 1e-12, 0.0);
    assert_near(draws[1].cost_s.u, 0.003 * 1.41421356, 1e-6, 0.0);
    assert_near(draws[2].cost_s.value, 14.5, 1e-12, 0.0);
    assert_int_equal(draws[4].cost_s.why, SH_WHY_NOT_APPLICABLE); /* the last of its clock */
    assert_int_equal(draws[0].cost_s.why, SH_WHY_NOT_APPLICABLE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_no_clock, open_analysis, close_analysis),
        cmocka_unit_test_setup_teardown(test_clocks_and_arrows, open_analysis, close_analysis),
        cmocka_unit_test_setup_teardown(test_what_a_let_down_costs, open_analysis,
                                        close_analysis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
