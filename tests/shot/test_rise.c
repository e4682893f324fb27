/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/rise.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "scene.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SEEDS 60u

static bool
find_rise(const double *net_n, size_t n, const struct scene_sampling *how, struct sh_rise *rise)
{
    struct sh_pull *pull = NULL;
    struct sh_fall fall;
    assert_int_equal(sh_pull_open(how->rate_hz, n, &pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, n, how->noise_n), SH_OK);
    const bool is_found = sh_fall_find(pull, 0, pull->n, &fall);
    if (is_found) {
        sh_rise_find(pull, 0, &fall, rise);
    }
    sh_pull_close(&pull);
    return is_found;
}

struct misfit {
    double largest_s;
    double square; /* mean of (error / u)^2 */
};

static void add_misfit(struct misfit *misfit, double error_s, double u_s)
{
    misfit->largest_s = fmax(misfit->largest_s, fabs(error_s));
    misfit->square += error_s * error_s / (u_s * u_s) / SEEDS;
}

/* Draw start and full draw against the definition on the noise-free force: near, and the error
 * no larger than the stated uncertainty. */
static void check_rate(double rate_hz, double noise_n, double allowed_s)
{
    struct misfit start = {0.0, 0.0};
    struct misfit full = {0.0, 0.0};
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        struct scene scene;
        scene_make(&scene, 0, seed);
        const struct scene_sampling how = {.rate_hz = rate_hz,
                                           .phase = 0.37 * (double)(seed % 3),
                                           .lead_s = 2.0,
                                           .tail_s = 2.0,
                                           .noise_n = noise_n,
                                           .seed = seed};
        size_t n = 0;
        double *net_n = scene_sample(&scene, &how, &n);
        struct sh_rise rise;
        assert_true(find_rise(net_n, n, &how, &rise));
        assert_true(sh_quantity_is_known(&rise.draw_start));
        assert_true(sh_quantity_is_known(&rise.full_draw));
        add_misfit(&start, scene_time_s(&how, rise.draw_start.value) - scene.truth.draw_start_s,
                   rise.draw_start.u / rate_hz);
        add_misfit(&full, scene_time_s(&how, rise.full_draw.value) - scene.truth.full_draw_s,
                   rise.full_draw.u / rate_hz);
        free(net_n);
    }
    print_message("%g Hz, %g N: start %.4f s, %.2f u; full %.4f s, %.2f u\n", rate_hz, noise_n,
                  start.largest_s, sqrt(start.square), full.largest_s, sqrt(full.square));
    assert_true(start.largest_s < allowed_s);
    assert_true(full.largest_s < allowed_s);
    assert_true(start.square < 2.25);
    assert_true(full.square < 2.25);
}

static void test_events_of_simulated_draws(void **state)
{
    check_rate(80.0, 0.3, 0.02);
    check_rate(200.0, 0.3, 0.015);
    check_rate(1000.0, 0.3, 0.008);
    check_rate(1000.0, 1.0, 0.02);
    check_rate(3200.0, 0.3, 0.005);
}

/* Force at a time along straight pieces: each is a place and the force there. */
static double get_piece_n(double t_s, const double (*piece)[2], size_t n_pieces)
{
    for (size_t k = 0; k + 1 < n_pieces; k++) {
        if (t_s >= piece[k][0] && t_s < piece[k + 1][0]) {
            const double share = (t_s - piece[k][0]) / (piece[k + 1][0] - piece[k][0]);
            return piece[k][1] + share * (piece[k + 1][1] - piece[k][1]);
        }
    }
    return 0.0;
}

static struct sh_rise find_in_pieces(const double (*piece)[2], size_t n_pieces)
{
    static const struct scene_sampling how = {.rate_hz = 1000.0};
    double net_n[9000];
    struct sh_rise rise;
    for (size_t i = 0; i < 9000; i++) {
        net_n[i] = get_piece_n(0.001 * (double)i, piece, n_pieces);
    }
    assert_true(find_rise(net_n, 9000, &how, &rise));
    return rise;
}

/* A corner between two straight lines, smoothed with sigma 50 ms, has a rate that follows the
 * normal law: 10 % of the larger rate lies 1.2816 sigma outside the corner. */
static void test_corners_of_straight_lines(void **state)
{
    static const double piece[][2] = {{2.0, 0.0}, {3.0, 160.0}, {8.0, 160.0}};
    const struct sh_rise rise = find_in_pieces(piece, 3);
    assert_near(rise.rate_max_n_per_s, 160.0, 0.01, 0.0);
    assert_near(0.001 * rise.draw_start.value, 2.0 - 1.2816 * 0.05, 0.0005, 0.0);
    assert_near(0.001 * rise.full_draw.value, 3.0 + 1.2816 * 0.05, 0.0005, 0.0);
}

/* A preload before the main rise is not the draw's start, a pause within does not end it. */
static void test_preload_and_pause(void **state)
{
    static const double piece[][2] = {{1.0, 0.0},   {1.5, 30.0},  {3.0, 30.0}, {3.5, 110.0},
                                      {4.2, 110.0}, {4.7, 190.0}, {8.0, 190.0}};
    const struct sh_rise rise = find_in_pieces(piece, 7);
    assert_near(0.001 * rise.draw_start.value, 3.0 - 1.2816 * 0.05, 0.0005, 0.0);
    assert_near(0.001 * rise.full_draw.value, 4.7 + 1.2816 * 0.05, 0.0005, 0.0);
}

/* A preload that creeps over 25 % of the largest force: the main rise begins in it, slowly, and
 * so does the draw; noise spreads the crossing, and the interval with it. */
static void test_preload_at_the_low_force(void **state)
{
    static const double piece[][2] = {
        {1.0, 0.0}, {1.5, 38.0}, {3.5, 42.0}, {4.2, 160.0}, {8.0, 160.0}};
    const struct sh_rise rise = find_in_pieces(piece, 5);
    assert_near(0.001 * rise.draw_start.value, 2.5, 0.003, 0.0);
    const struct scene_sampling how = {.rate_hz = 1000.0, .noise_n = 0.1};
    double net_n[9000];
    struct sh_random random;
    struct sh_rise noisy;
    sh_random_init(&random, 5);
    for (size_t i = 0; i < 9000; i++) {
        net_n[i] = get_piece_n(0.001 * (double)i, piece, 5) +
                   how.noise_n * sh_random_get_normal(&random);
    }
    assert_true(find_rise(net_n, 9000, &how, &noisy));
    assert_true(noisy.draw_start.has_interval);
    assert_true(noisy.draw_start.lo < 2500.0 && noisy.draw_start.hi > 2500.0);
    assert_true(noisy.draw_start.lo > 2000.0 && noisy.draw_start.hi < 3000.0);
    assert_true(noisy.draw_start.u > 50.0);
    assert_true(noisy.draw_start.lo <= noisy.draw_start.value);
    assert_true(noisy.draw_start.value <= noisy.draw_start.hi);
}

/* The rise of a force that is shown up to range_n only, and what is left of it. */
static struct sh_rise find_with_range(const double (*piece)[2], size_t n_pieces, double range_n)
{
    static const struct scene_sampling how = {.rate_hz = 1000.0};
    double net_n[9000];
    size_t full = 9000;
    for (size_t i = 9000; i-- > 0;) {
        net_n[i] = fmin(get_piece_n(0.001 * (double)i, piece, n_pieces), range_n);
        full = net_n[i] >= range_n ? i : full;
    }
    struct sh_pull *pull = NULL;
    struct sh_fall fall;
    struct sh_rise rise;
    assert_int_equal(sh_pull_open(how.rate_hz, 9000, &pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, 9000, 0.0), SH_OK);
    assert_true(sh_fall_find(pull, 0, pull->n, &fall));
    sh_rise_find(pull, 0, &fall, &rise);
    sh_rise_doubt(pull, full, &rise);
    sh_pull_close(&pull);
    return rise;
}

/* A sensor that ends in the main rise: no full draw. The start stays if the rate was far below
 * its largest; else its interval reaches to where a level half as high again would put it. */
static void test_the_end_of_the_range(void **state)
{
    static const double piece[][2] = {{2.0, 0.0}, {3.0, 150.0}, {4.0, 160.0}, {8.0, 160.0}};
    struct sh_rise rise = find_with_range(piece, 4, 155.0);
    assert_int_equal(rise.full_draw.why, SH_WHY_CLIPPED);
    assert_near(0.001 * rise.draw_start.value, 2.0 - 1.2816 * 0.05, 0.0005, 0.0);
    assert_near(0.001 * rise.draw_start.hi, 2.0 - 1.2816 * 0.05, 0.001, 0.0);
    static const double steep[][2] = {{2.0, 0.0}, {2.5, 30.0}, {3.1, 138.0}, {8.0, 138.0}};
    rise = find_with_range(steep, 4, 60.0);
    assert_true(sh_quantity_is_known(&rise.draw_start));
    const double level = 0.1 * rise.rate_max_n_per_s / 60.0; /* of the first piece's rate */
    const double sigmas = (0.001 * rise.draw_start.value - 2.0) / 0.05;
    const double latest = (0.001 * rise.draw_start.hi - 2.0) / 0.05;
    assert_near(0.5 * erfc(-sigmas / sqrt(2.0)), level, 0.01, 0.0);
    assert_near(0.5 * erfc(-latest / sqrt(2.0)), 1.5 * level, 0.02, 0.0);
    /* a preload of 40 N, of 100 or more, may lie below 25 % of what the largest was */
    static const double pause[][2] = {
        {1.0, 0.0}, {1.5, 40.0}, {3.0, 40.0}, {3.7, 160.0}, {8.0, 160.0}};
    assert_int_equal(find_with_range(pause, 5, 100.0).draw_start.why, SH_WHY_CLIPPED);
}

/* Loosed while still pulling: there is no full draw. */
static void test_no_full_draw(void **state)
{
    static const double piece[][2] = {{2.0, 0.0}, {3.0, 160.0}};
    const struct sh_rise rise = find_in_pieces(piece, 2);
    assert_near(0.001 * rise.draw_start.value, 2.0 - 1.2816 * 0.05, 0.0005, 0.0);
    assert_int_equal(rise.full_draw.why, SH_WHY_NOT_SEEN);
}

/* The samples begin in mid-draw: there is no draw start. */
static void test_begins_in_mid_draw(void **state)
{
    static const double piece[][2] = {{0.0, 50.0}, {1.0, 160.0}, {8.0, 160.0}};
    const struct sh_rise rise = find_in_pieces(piece, 3);
    assert_int_equal(rise.draw_start.why, SH_WHY_TOO_SHORT);
    assert_near(0.001 * rise.full_draw.value, 1.0 + 1.2816 * 0.05, 0.0005, 0.0);
    static const double held[][2] = {{0.0, 50.0}, {2.0, 51.0}, {3.0, 160.0}, {8.0, 160.0}};
    assert_int_equal(find_in_pieces(held, 4).draw_start.why, SH_WHY_TOO_SHORT);
}

/* A preload just over 25 % of the largest force is a part of the main rise; with noise it may
 * not be, and the interval reaches to where the draw would then start. */
static void test_preload_over_the_low_force(void **state)
{
    static const double piece[][2] = {
        {1.0, 0.0}, {1.5, 40.2}, {3.5, 40.2}, {4.2, 160.0}, {8.0, 160.0}};
    const struct scene_sampling how = {.rate_hz = 1000.0, .noise_n = 0.1};
    double net_n[9000];
    struct sh_rise rise;
    for (size_t i = 0; i < 9000; i++) {
        net_n[i] = get_piece_n(0.001 * (double)i, piece, 5);
    }
    assert_true(find_rise(net_n, 9000, &how, &rise));
    assert_near(0.001 * rise.draw_start.value, 1.0 - 0.798 * 0.05, 0.003, 0.0);
    assert_true(rise.draw_start.has_interval);
    assert_true(rise.draw_start.lo < rise.draw_start.value);
    assert_near(0.001 * rise.draw_start.hi, 3.5 - 1.2816 * 0.05, 0.1, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_events_of_simulated_draws),
        cmocka_unit_test(test_corners_of_straight_lines),
        cmocka_unit_test(test_preload_and_pause),
        cmocka_unit_test(test_preload_at_the_low_force),
        cmocka_unit_test(test_preload_over_the_low_force),
        cmocka_unit_test(test_the_end_of_the_range),
        cmocka_unit_test(test_no_full_draw),
        cmocka_unit_test(test_begins_in_mid_draw),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
