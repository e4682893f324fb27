/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency_set.h"

#include "support/cmocka_all.h"
#include "support/near.h"

/* A draw that is over at s, held for a tenth of that. */
static void add_draw(struct sh_analysis *analysis, enum sh_shot_kind kind, double at_s)
{
    struct sh_shot_record record = {0};
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        record.measures.quantity[i] = sh_quantity_unknown(SH_WHY_NOT_ASKED);
    }
    for (size_t i = 0; i < SH_EVENT_COUNT; i++) {
        record.shot.event_s[i] = sh_quantity_unknown(SH_WHY_NOT_ASKED);
    }
    record.shot.n = (unsigned)analysis->n_shots + 1;
    record.shot.kind = kind;
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(at_s - 5.0, 0.01);
    record.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(at_s - 3.0, 0.01);
    record.shot.event_s[kind == SH_SHOT_LET_DOWN ? SH_EVENT_LET_DOWN : SH_EVENT_RELEASE] =
        sh_quantity_known(at_s, 0.01);
    if (kind == SH_SHOT_SHOT) {
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_HOLD_TIME, 0) =
            sh_quantity_known(0.1 * at_s, 0.02);
    }
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_SETUP_TIME, 0) =
        sh_quantity_known(9.0, 0.01);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_TIME_LEFT_RELEASE, 0) =
        sh_quantity_known(150.0 - at_s, 0.01);
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
}

/* An end of a shot, a let-down and a shot, one unresolved; then one shot under the clock. */
static void add_evening(struct sh_consistency_set *set)
{
    const struct sh_mark mark = {
        .t_s = 140.0, .kind = SH_MARK_CLOCK, .seconds = {true, 20.0}, .arrows = {true, 3.0}};
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "evening", "wren");
    add_draw(&analysis, SH_SHOT_SHOT, 20.0);
    add_draw(&analysis, SH_SHOT_LET_DOWN, 30.0);
    add_draw(&analysis, SH_SHOT_SHOT, 40.0);
    add_draw(&analysis, SH_SHOT_UNRESOLVED, 50.0);
    add_draw(&analysis, SH_SHOT_SHOT, 155.0);
    assert_int_equal(sh_consistency_set_add(set, &analysis, &mark, 1), SH_OK);
    sh_analysis_close(&analysis);
}

static void test_adds(void **state)
{
    struct sh_consistency_set set = {0};
    add_evening(&set);
    add_evening(&set);
    assert_int_equal(set.n_recordings, 2);
    assert_int_equal(set.n_rows, 8);
    assert_int_equal(set.n_shots, 6);
    assert_int_equal(set.n_let_downs, 2);
    assert_int_equal(set.n_unresolved, 2);
    assert_int_equal(set.n_overruns, 2);
    assert_int_equal(set.n_ends, 4);
    const struct sh_consistency_row *row = set.rows;
    assert_true(row[1].is_let_down);
    assert_int_equal(row[1].number, 0);
    assert_near(row[1].value[SH_CONSISTENCY_HOLD].value, 3.0, 1e-12, 0);
    assert_int_equal(row[2].number, 2);
    assert_int_equal(row[2].place, 2);
    assert_false(row[2].is_clocked);
    assert_false(sh_quantity_is_known(&row[0].value[SH_CONSISTENCY_SETUP]));
    assert_true(sh_quantity_is_known(&row[2].value[SH_CONSISTENCY_SETUP]));
    assert_true(sh_quantity_is_known(&row[3].value[SH_CONSISTENCY_SETUP]));
    assert_true(row[3].is_clocked);
    assert_true(row[3].is_overrun);
    assert_int_equal(row[3].end, 1);
    assert_int_equal(row[4].end, 2);
    assert_int_equal(row[4].place, 1);
    sh_consistency_set_close(&set);
    assert_null(set.rows);
}

static void test_selects(void **state)
{
    struct sh_consistency_set set = {0};
    struct sh_consistency_column column;
    add_evening(&set);
    assert_int_equal(sh_consistency_set_select(&set, SH_CONSISTENCY_HOLD, &column), SH_OK);
    assert_int_equal(column.n, 3);
    assert_int_equal(column.n_ends, 2);
    assert_int_equal(column.first[1], 2);
    assert_int_equal(column.first[2], 3);
    assert_int_equal(column.row[2], 3);
    assert_near(column.x[1], 4.0, 1e-12, 0);
    sh_consistency_set_close_column(&column);
    assert_int_equal(sh_consistency_set_select(&set, SH_CONSISTENCY_CREEP, &column), SH_OK);
    assert_int_equal(column.n, 0);
    assert_int_equal(column.n_ends, 0);
    sh_consistency_set_close_column(&column);
    sh_consistency_set_close(&set);
}

static void test_kinds(void **state)
{
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        const struct sh_consistency_kind *kind =
            sh_consistency_set_get_kind((enum sh_consistency_measure)m);
        assert_non_null(kind);
        assert_string_equal(kind->symbol, sh_catalog_get_row(kind->measure)->symbol);
    }
    assert_null(sh_consistency_set_get_kind(SH_CONSISTENCY_MEASURES));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_adds),
        cmocka_unit_test(test_selects),
        cmocka_unit_test(test_kinds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
