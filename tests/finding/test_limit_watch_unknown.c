/* SPDX-License-Identifier: GPL-3.0-or-later */

#include "finding/watched.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/says.h"

/* What a watch over limits says of a finger that its sensor does not show. */

/* What makes a finger unknown: never inside, told once a draw. */
enum flaw { CLIPPED, LOST, DEAD, STUCK, SLID, SPARED_MIDDLE };

static struct watched *watch_flaw(enum flaw flaw, const struct sh_mark *mark)
{
    struct watched *watched = watched_open();
    watched_limit(watched, mark);
    watched_rest(watched, 3.0);
    watched_draw(watched, watched_peaks_n, 1.0, 3.0);
    watched_rest(watched, 1.0);
    for (size_t i = 0; i < watched->n_frames; i++) {
        double *raw = watched->raw[i];
        bool is_late = i > 5500;
        bool is_early = i < 3400;
        raw[2] = flaw == CLIPPED && raw[2] > 3500.0 ? 32767.0 : raw[2];
        raw[2] = flaw == DEAD ? 3.0 : flaw == STUCK ? 2500.0 : raw[2];
        raw[2] = flaw == SLID && is_late ? (double)(i % 3) : raw[2];
        raw[1] = flaw == SPARED_MIDDLE && !is_early ? (double)(i % 3) : raw[1];
        watched->is_filled[i] = flaw == LOST && i > 5000 && i < 5050;
    }
    watched_begin(watched);
    watched_feed(watched, 50);
    return watched;
}

static void test_a_finger_that_is_not_known(void **state)
{
    static const struct {
        enum flaw flaw;
        const char *says;
        double t_s;
    } cases[] = {
        {CLIPPED, "reached its range", 3.89}, {LOST, "samples were lost", 5.001},
        {DEAD, "does not change", 3.6},       {STUCK, "does not change", 3.6},
        {SLID, "may have slid off", 5.77},
    };
    const struct sh_mark mark = watched_make_most("finger_impulse_n_s", "ring", "day", 500.0);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct watched *watched = watch_flaw(cases[i].flaw, &mark);
        assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_UNKNOWN), 1);
        const struct sh_limit_event *event = watched_find(watched, SH_LIMIT_EVENT_UNKNOWN);
        assert_says(event->text, cases[i].says);
        assert_says(event->text, "UNKNOWN what the ring finger carries");
        assert_says(event->text, "do not take it for inside");
        assert_int_equal(event->finger, 2);
        assert_near(event->t_s, cases[i].t_s, 0.15, 0);
        /* what a clipped sensor shows is a lower bound, which passes the limit here */
        assert_int_equal(sh_limit_watch_get_state(watched->watch, &watched->session.marks[0]),
                         cases[i].flaw == CLIPPED ? SH_LIMIT_REACHED : SH_LIMIT_UNKNOWN);
        watched_close(watched);
    }
}

/* A finger that no limit is on may be spared without a word; one in a sum may not. */
static void test_whom_an_unknown_finger_concerns(void **state)
{
    const struct sh_mark ring = watched_make_most("finger_peak_n", "ring", "shot", 500.0);
    const struct sh_mark all = watched_make_most("finger_impulse_n_s", "", "day", 5000.0);
    struct watched *watched = watch_flaw(SPARED_MIDDLE, &ring);
    assert_int_equal(watched->n_events, 0);
    watched_close(watched);
    watched = watch_flaw(SPARED_MIDDLE, &all);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_UNKNOWN), 1);
    assert_int_equal(watched->event[0].finger, 1);
    watched_close(watched);
}

/* A sensor at the end of its range carries at least that: the limit is reached all the same. */
static void test_clipped_and_reached(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_peak_n", "ring", "shot", 100.0);
    struct watched *watched = watch_flaw(CLIPPED, &mark);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_UNKNOWN), 1);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 1);
    watched_close(watched);
}

static void test_what_is_unknown_from_the_start(void **state)
{
    struct watched *watched = watched_open();
    struct sh_mark mark = watched_make_most("finger_impulse_n_s", "ring", "day", 500.0);
    mark.before_unknown = (struct sh_mark_number){true, 1.0};
    watched->session.streams[0].stream.n_channels = 2; /* no ring finger */
    watched_limit(watched, &mark);
    watched_begin(watched);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_UNKNOWN), 2);
    assert_says(watched->event[0].text, "has no sensor");
    assert_says(watched->event[1].text, "earlier in this day");
    watched_close(watched);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_finger_that_is_not_known),
        cmocka_unit_test(test_whom_an_unknown_finger_concerns),
        cmocka_unit_test(test_clipped_and_reached),
        cmocka_unit_test(test_what_is_unknown_from_the_start),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
