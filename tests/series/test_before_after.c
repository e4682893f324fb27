/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/before_after.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * Sessions made from a fixed generator; the figures themselves are held against SciPy in
 * tests/reference/test_reference_shifts.c.
 */

#define ARROWS_MAX  2000u
#define FIGURES_MAX 4u
#define NEEDED_MAX  25.0 /* sessions a side that the room takes */

struct made {
    struct sh_before_after_arrow arrows[ARROWS_MAX];
    double values[ARROWS_MAX * FIGURES_MAX];
    size_t n;
    size_t n_figures;
    struct sh_random random;
};

static void open_made(struct made *made, size_t n_figures, uint64_t seed)
{
    made->n = 0;
    made->n_figures = n_figures;
    sh_random_init(&made->random, seed);
}

/* One end of six arrows about level, the same in all figures, with scatter. */
static void add_end(struct made *made, size_t session, bool is_second, double level)
{
    const size_t end = made->n > 0 ? made->arrows[made->n - 1].end + 1 : 1;
    for (size_t i = 0; i < 6; i++) {
        made->arrows[made->n] = (struct sh_before_after_arrow){session, end, is_second};
        for (size_t k = 0; k < made->n_figures; k++) {
            made->values[made->n * made->n_figures + k] =
                level + sh_random_get_normal(&made->random);
        }
        made->n++;
    }
}

static void get(const struct made *made, struct sh_before_after *figures)
{
    const struct sh_before_after_config config = {.arrows = made->arrows,
                                                  .values = made->values,
                                                  .n = made->n,
                                                  .n_figures = made->n_figures,
                                                  .seed = 5};
    assert_int_equal(sh_before_after_get(&config, figures), SH_OK);
}

/* Sessions of n_each a side, whose levels spread by spread, the second side up by shift. */
static void add_sessions(struct made *made, size_t n_each, double spread, double shift)
{
    for (size_t s = 0; s < 2 * n_each; s++) {
        const bool is_second = s % 2 == 1;
        const double level = spread * sh_random_get_normal(&made->random);
        for (size_t end = 0; end < 6; end++) {
            add_end(made, s, is_second, level + (is_second ? shift : 0.0));
        }
    }
}

/*
 * Days differ, sides do not: arrows permuted between days would say "changed" in more than half
 * of such cases. 4 and 4 sessions of 36 arrows, 4 figures: at most 1 in 20 by the rule, with
 * the binomial's 99.9 % for 200 rounds.
 */
static void test_nothing_changed(void **state)
{
    static struct made made;
    size_t n_seen = 0;
    for (uint64_t round = 0; round < 200; round++) {
        struct sh_before_after figures[FIGURES_MAX];
        bool is_seen = false;
        open_made(&made, 4, 100 + round);
        add_sessions(&made, 4, 0.5, 0.0);
        get(&made, figures);
        for (size_t k = 0; k < 4; k++) {
            assert_int_equal(figures[k].way, SH_BEFORE_AFTER_SESSIONS);
            is_seen = is_seen || sh_before_after_is_seen(&figures[k]);
        }
        n_seen += is_seen ? 1u : 0u;
    }
    print_message("seen in %zu of 200 where nothing changed\n", n_seen);
    assert_true(n_seen <= 21);
}

static void test_a_change_is_seen(void **state)
{
    static struct made made;
    struct sh_before_after figure;
    open_made(&made, 1, 7);
    add_sessions(&made, 5, 0.2, 2.0);
    get(&made, &figure);
    assert_true(sh_before_after_is_seen(&figure));
    assert_true(figure.lo < 2.0 && figure.hi > 2.0);
    assert_int_equal(figure.n_arrows[0], 180);
    assert_int_equal(figure.n_observations[1], 5);
    assert_near(figure.change_least, 1.96 * sqrt(2.0) * figure.sd, 0.0, 1e-4);
    /* a calibration that is not shared cannot be averaged away */
    const double u = 1.5;
    const struct sh_before_after_config config = {.arrows = made.arrows,
                                                  .values = made.values,
                                                  .n = made.n,
                                                  .n_figures = 1,
                                                  .calibration_u = &u,
                                                  .seed = 5};
    struct sh_before_after wide;
    assert_int_equal(sh_before_after_get(&config, &wide), SH_OK);
    assert_false(sh_before_after_is_seen(&wide));
    assert_near(wide.u, hypot(figure.u, u), 1e-12, 0.0);
    assert_true(sh_before_after_is_masked(&wide));
    assert_false(sh_before_after_is_masked(&figure));
    assert_true(wide.visible > figure.visible);
    assert_near(wide.n_needed, 0.0, 0.0, 0.0);
}

/*
 * A shift of the size that is said to be seen in 8 of 10 comparisons, in one of four figures,
 * in 100 comparisons made afresh, each by what another one of as many sessions said; with the
 * binomial's 99.9 %.
 */
static void check_visible(size_t n_each, uint64_t seed)
{
    static struct made made;
    size_t n_seen = 0;
    for (size_t round = 0; round < 100; round++) {
        struct sh_before_after figures[FIGURES_MAX];
        open_made(&made, 4, seed + 2 * round);
        add_sessions(&made, n_each, 0.3, 0.0);
        get(&made, figures);
        const double visible = figures[1].visible;
        open_made(&made, 4, seed + 2 * round + 1);
        add_sessions(&made, n_each, 0.3, 0.0);
        for (size_t i = 0; i < made.n; i++) {
            made.values[i * 4 + 1] += made.arrows[i].is_second ? visible : 0.0;
        }
        get(&made, figures);
        n_seen += sh_before_after_is_seen(&figures[1]) ? 1u : 0u;
    }
    print_message("%zu and %zu sessions: seen in %zu of 100 where 80 are promised\n", n_each,
                  n_each, n_seen);
    assert_in_range(n_seen, 67, 92);
}

static void test_what_would_be_seen(void **state)
{
    check_visible(4, 1000);
    check_visible(6, 2000);
}

/* As many sessions as three and three sessions said are needed for the change they found, with
 * that change: 80 of 100 at least, by the binomial's 99.9 %. */
static void test_what_is_needed(void **state)
{
    static struct made made;
    size_t n_seen = 0;
    size_t n_tried = 0;
    for (size_t round = 0; round < 100; round++) {
        struct sh_before_after figure;
        open_made(&made, 1, 3000 + 2 * round);
        add_sessions(&made, 3, 0.3, 0.7);
        get(&made, &figure);
        const double shift = figure.shift;
        const double needed = figure.n_needed;
        if (needed > 0.0 && needed <= NEEDED_MAX) {
            open_made(&made, 1, 3000 + 2 * round + 1);
            add_sessions(&made, (size_t)needed, 0.3, shift);
            get(&made, &figure);
            n_seen += sh_before_after_is_seen(&figure) ? 1u : 0u;
            n_tried++;
        }
    }
    print_message("seen in %zu of %zu with as many sessions as needed\n", n_seen, n_tried);
    assert_true(n_tried >= 80);
    assert_true((double)n_seen >= 0.67 * (double)n_tried);
}

/*
 * Calibrations that are off by as much as stated, otherwise on either side: each figure's own
 * 95 % limits would call any of four changed in more than 1 of 10 comparisons.
 */
static void test_calibrations_change_nothing(void **state)
{
    static struct made made;
    const double calibration_u[FIGURES_MAX] = {1.0, 1.0, 1.0, 1.0};
    size_t n_seen = 0;
    size_t n_by_limits = 0;
    for (uint64_t round = 0; round < 200; round++) {
        struct sh_before_after figures[FIGURES_MAX];
        bool is_seen = false;
        bool is_by_limits = false;
        double error[FIGURES_MAX];
        open_made(&made, 4, 7000 + round);
        add_sessions(&made, 6, 0.1, 0.0);
        for (size_t k = 0; k < 4; k++) {
            error[k] = calibration_u[k] * sh_random_get_normal(&made.random);
        }
        for (size_t i = 0; i < 4 * made.n; i++) {
            made.values[i] += made.arrows[i / 4].is_second ? error[i % 4] : 0.0;
        }
        const struct sh_before_after_config config = {.arrows = made.arrows,
                                                      .values = made.values,
                                                      .n = made.n,
                                                      .n_figures = 4,
                                                      .calibration_u = calibration_u,
                                                      .seed = 5};
        assert_int_equal(sh_before_after_get(&config, figures), SH_OK);
        for (size_t k = 0; k < 4; k++) {
            is_seen = is_seen || sh_before_after_is_seen(&figures[k]);
            is_by_limits = is_by_limits || figures[k].lo > 0.0 || figures[k].hi < 0.0;
        }
        n_seen += is_seen ? 1u : 0u;
        n_by_limits += is_by_limits ? 1u : 0u;
    }
    print_message("calibrations alone: called changed %zu of 200, beyond own limits %zu\n",
                  n_seen, n_by_limits);
    assert_true(n_seen <= 21);
    assert_true(n_by_limits > 21);
}

/* Four sessions a side have 35 arrangements that differ, so that the one as shot must lie above
 * all others: it is not held against itself where calibrations differ. */
static void test_a_large_change_beyond_calibrations(void **state)
{
    static struct made made;
    struct sh_before_after figure;
    const double u = 0.5;
    open_made(&made, 1, 21);
    add_sessions(&made, 4, 0.2, 9.0);
    const struct sh_before_after_config config = {.arrows = made.arrows,
                                                  .values = made.values,
                                                  .n = made.n,
                                                  .n_figures = 1,
                                                  .calibration_u = &u,
                                                  .seed = 5};
    assert_int_equal(sh_before_after_get(&config, &figure), SH_OK);
    assert_true(sh_before_after_is_seen(&figure));
    assert_true(figure.reach_of_all > 1.96 * u && figure.reach_of_all < 4.5);
    assert_near(figure.n_needed, 4.0, 0.0, 0.0);
    assert_true(figure.visible < 9.0);
}

/* Three sessions a side: 20 ways to hand the sides out, so p is 0.1 at the least. */
static void test_too_few_to_show_anything(void **state)
{
    static struct made made;
    struct sh_before_after figure;
    open_made(&made, 1, 8);
    add_sessions(&made, 3, 0.1, 9.0);
    get(&made, &figure);
    assert_near(figure.p_least, 0.1, 1e-12, 0.0);
    assert_true(sh_before_after_is_blind(&figure));
    assert_near(figure.visible, 0.0, 0.0, 0.0);
    assert_near(figure.n_needed, 4.0, 0.0, 0.0);
    assert_false(sh_before_after_is_seen(&figure));
}

/* Sides that took turns within a session, over a drift that carries both. */
static void test_turns_within_a_session(void **state)
{
    static struct made made;
    struct sh_before_after figure;
    open_made(&made, 1, 9);
    for (size_t end = 0; end < 16; end++) {
        add_end(&made, 3, end % 2 == 1, 5.0 + 0.05 * (double)end + (end % 2 == 1 ? 1.5 : 0.0));
    }
    for (size_t end = 0; end < 4; end++) { /* another day, of one side: not looked at */
        add_end(&made, 4, true, 50.0);
    }
    get(&made, &figure);
    assert_int_equal(figure.way, SH_BEFORE_AFTER_ENDS);
    assert_true(sh_before_after_is_seen(&figure));
    assert_true(figure.lo < 1.55 && figure.hi > 1.55 && figure.hi < 3.0);
}

static void test_one_after_the_other(void **state)
{
    static struct made made;
    struct sh_before_after figure;
    open_made(&made, 1, 10);
    for (size_t end = 0; end < 12; end++) {
        add_end(&made, 3, end >= 6, 5.0);
    }
    get(&made, &figure);
    assert_int_equal(figure.why, SH_BEFORE_AFTER_IN_ORDER);
    assert_false(sh_before_after_is_seen(&figure));
}

/* One session a side: whether these two differ, by their ends. */
static void test_two_sessions(void **state)
{
    static struct made made;
    struct sh_before_after figure;
    open_made(&made, 1, 11);
    for (size_t end = 0; end < 12; end++) {
        add_end(&made, end / 6, end >= 6, end >= 6 ? 4.0 : 1.0);
    }
    get(&made, &figure);
    assert_int_equal(figure.way, SH_BEFORE_AFTER_TWO_SESSIONS);
    assert_true(sh_before_after_is_seen(&figure));
    assert_int_equal(figure.n_observations[0], 6);
}

static void test_what_cannot_be_compared(void **state)
{
    static struct made made;
    struct sh_before_after figures[2];
    open_made(&made, 2, 12);
    add_end(&made, 0, false, 1.0);
    add_end(&made, 1, true, 1.0);
    for (size_t i = 0; i < 6; i++) {
        made.values[2 * i + 1] = (double)NAN;
    }
    get(&made, figures);
    assert_int_equal(figures[0].why, SH_BEFORE_AFTER_FEW);
    assert_int_equal(figures[1].why, SH_BEFORE_AFTER_NO_VALUES);
    open_made(&made, 1, 13);
    add_sessions(&made, 3, 0.0, 0.0);
    for (size_t i = 0; i < made.n; i++) {
        made.values[i] = 3.0;
    }
    get(&made, figures);
    assert_int_equal(figures[0].why, SH_BEFORE_AFTER_STILL);
    made.values[0] = (double)INFINITY;
    const struct sh_before_after_config config = {
        .arrows = made.arrows, .values = made.values, .n = made.n, .n_figures = 1};
    assert_int_equal(sh_before_after_get(&config, figures), SH_ERR_NOT_FINITE);
}

/* t of 10 degrees is 2.228138852 (SciPy 1.10.1: stats.t.ppf(0.975, 10)); three observations of
 * SD 0.6. */
static void test_what_scatter_leaves_of_a_mean(void **state)
{
    struct sh_before_after figure = {.n_observations = {3, 12}, .freedom = 10.0, .sd = 0.6};
    assert_near(sh_before_after_find_mean_half(&figure, 0), 2.228138852 * 0.6 / sqrt(3.0), 0.0,
                1e-8);
    assert_near(sh_before_after_find_mean_half(&figure, 1), 2.228138852 * 0.6 / sqrt(12.0), 0.0,
                1e-8);
    figure.freedom = 0.0;
    assert_near(sh_before_after_find_mean_half(&figure, 0), 0.0, 0.0, 0.0);
    figure = (struct sh_before_after){.n_observations = {0, 3}, .freedom = 1.0, .sd = 0.6};
    assert_near(sh_before_after_find_mean_half(&figure, 0), 0.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_scatter_leaves_of_a_mean),
        cmocka_unit_test(test_nothing_changed),
        cmocka_unit_test(test_a_change_is_seen),
        cmocka_unit_test(test_a_large_change_beyond_calibrations),
        cmocka_unit_test(test_too_few_to_show_anything),
        cmocka_unit_test(test_turns_within_a_session),
        cmocka_unit_test(test_one_after_the_other),
        cmocka_unit_test(test_two_sessions),
        cmocka_unit_test(test_what_cannot_be_compared),
        cmocka_unit_test(test_what_would_be_seen),
        cmocka_unit_test(test_what_is_needed),
        cmocka_unit_test(test_calibrations_change_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
