/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "finding/one_shot.h"
#include "finding/watched.h"
#include "support/cmocka_all.h"

/* What a watch over limits makes of a shot that has been measured. */

/* The draw of watched_open_drawn as it would be measured. */
static struct sh_shot_record make_record(double ring_share)
{
    struct sh_shot_record record = make_plain_shot();
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(3.02, 0.01);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(6.0, 0.001);
    for (size_t i = 0; i < 3; i++) {
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, i) =
            sh_quantity_known(watched_peaks_n[i], 0.4);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_IMPULSE, i) =
            sh_quantity_known(2.5 * watched_peaks_n[i], 1.0);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE, i) =
            sh_quantity_known(i == 2 ? ring_share : (1.0 - ring_share) / 2.0, 0.001);
    }
    return record;
}

static void take(struct watched *watched, const struct sh_shot_record *record)
{
    struct sh_error err = {0};
    assert_int_equal(sh_limit_watch_take(watched->watch, record, &err), SH_OK);
}

/* What was told while the draw ran is not told again when it has been measured. */
static void test_told_once(void **state)
{
    static const char *const spans[] = {"shot", "day"};
    const struct sh_shot_record record = make_record(0.25);
    for (size_t i = 0; i < 2; i++) {
        const struct sh_mark mark = watched_make_most("finger_peak_n", "ring", spans[i], 36.0);
        struct watched *watched = watched_open_drawn(&mark, 50);
        assert_int_equal(watched->n_events, 2);
        take(watched, &record);
        assert_int_equal(watched->n_events, 2);
        watched_draw(watched, watched_peaks_n, 1.0, 2.0); /* a second draw, 8.01 s on */
        watched_feed(watched, 50);
        assert_int_equal(watched->n_events, i == 0 ? 4 : 2);
        watched_close(watched);
    }
}

/* A share is known when the shot has been measured. */
static void test_what_only_the_measured_shot_shows(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_share", "ring", "shot", 0.25);
    static const struct {
        double share;
        size_t n_near;
        size_t n_reached;
    } cases[] = {{0.199, 0, 0}, {0.2, 1, 0}, {0.2475, 1, 0}, {0.248, 0, 1}, {0.26, 0, 1}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct watched *watched = watched_open_drawn(&mark, 50);
        const struct sh_shot_record record = make_record(cases[i].share);
        assert_int_equal(watched->n_events, 0);
        take(watched, &record);
        assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_NEAR), cases[i].n_near);
        assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), cases[i].n_reached);
        watched_close(watched);
    }
}

static void test_a_measured_shot_that_does_not_know(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_share", "ring", "shot", 0.25);
    struct watched *watched = watched_open_drawn(&mark, 50);
    struct sh_shot_record record = make_record(0.2);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE, 2) =
        sh_quantity_unknown(SH_WHY_TOO_SHORT);
    take(watched, &record);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_UNKNOWN), 1);
    assert_non_null(strstr(watched->event[0].text, "too short"));
    watched_close(watched);
}

/* Measured figures take the place of running ones in the sum of a day, none counts twice. */
static void test_measured_takes_the_place_of_running(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_impulse_n_s", "ring", "day", 240.0);
    struct watched *watched = watched_open_drawn(&mark, 50);
    const struct sh_shot_record record = make_record(0.25); /* 100 N s on the ring finger */
    assert_int_equal(watched->n_events, 0);
    take(watched, &record);
    assert_int_equal(watched->n_events, 0);
    watched_draw(watched, watched_peaks_n, 1.0, 2.0); /* 200 are near 240; none is reached */
    watched_rest(watched, 1.0);
    watched_feed(watched, 50);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_NEAR), 1);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 0);
    watched_draw(watched, watched_peaks_n, 1.0,
                 2.0); /* not measured yet: its running figures count */
    watched_feed(watched, 50);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 1);
    watched_close(watched);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_told_once),
        cmocka_unit_test(test_what_only_the_measured_shot_shows),
        cmocka_unit_test(test_a_measured_shot_that_does_not_know),
        cmocka_unit_test(test_measured_takes_the_place_of_running),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
