/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/force_draw.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N      20u
#define AT_M   0.66
#define REST_M 0.20
#define STEP_M 0.025

/* A bow that is a cubic: force and its integral are known everywhere. */
static double get_force(double draw_m)
{
    const double x = draw_m - REST_M;
    return 520.0 * x - 900.0 * x * x + 900.0 * x * x * x;
}

static double get_slope(double draw_m)
{
    const double x = draw_m - REST_M;
    return 520.0 - 1800.0 * x + 2700.0 * x * x;
}

static double get_energy(double draw_m)
{
    const double x = draw_m - REST_M;
    return 260.0 * x * x - 300.0 * x * x * x + 225.0 * x * x * x * x;
}

static void make_rows(double noise_n, struct sh_random *random, struct sh_force_draw_row *rows)
{
    for (size_t i = 0; i < N; i++) {
        rows[i].draw_m = REST_M + STEP_M * (double)i;
        rows[i].force_n =
            fmax(0.0, get_force(rows[i].draw_m) + noise_n * sh_random_get_normal(random));
    }
}

static void test_known_bow(void **state)
{
    struct sh_force_draw_row rows[N];
    struct sh_force_draw draw;
    struct sh_random random;
    const struct sh_force_draw_config config = {.at_m = AT_M};
    sh_random_init(&random, 3u);
    make_rows(0.0, &random, rows);
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_OK);
    assert_true(draw.is_bent);
    assert_near(draw.weight_n.value, get_force(AT_M), 0.05, 0.0);
    assert_near(draw.stiffness_n_per_m.value, get_slope(AT_M), 0.0, 0.01);
    assert_near(draw.energy_j.value, get_energy(AT_M), 0.0, 0.002);
    assert_near(draw.energy_j.value, get_energy(AT_M), 2.0 * draw.energy_j.u, 0.0);
}

static void test_uncertainty_covers(void **state)
{
    struct sh_force_draw_row rows[N];
    struct sh_random random;
    const struct sh_force_draw_config config = {.at_m = AT_M};
    int n_slope = 0;
    int n_energy = 0;
    const int n_sets = 400;
    sh_random_init(&random, 5u);
    for (int set = 0; set < n_sets; set++) {
        struct sh_force_draw draw;
        make_rows(0.8, &random, rows);
        assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_OK);
        n_slope += fabs(draw.stiffness_n_per_m.value - get_slope(AT_M)) <=
                           1.96 * draw.stiffness_n_per_m.u
                       ? 1
                       : 0;
        n_energy += fabs(draw.energy_j.value - get_energy(AT_M)) <= 1.96 * draw.energy_j.u;
    }
    print_message("slope %d, energy %d of %d within 1.96 u\n", n_slope, n_energy, n_sets);
    assert_true(n_slope >= 340);
    assert_true(n_energy >= 360);
}

static void test_common_shares_add(void **state)
{
    struct sh_force_draw_row rows[N];
    struct sh_random random;
    struct sh_force_draw plain;
    struct sh_force_draw doubtful;
    struct sh_force_draw_config config = {.at_m = AT_M};
    sh_random_init(&random, 3u);
    make_rows(0.3, &random, rows);
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &plain), SH_OK);
    config.force_ratio = 0.02;
    config.draw_u_m = 0.002;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &doubtful), SH_OK);
    assert_near(doubtful.weight_n.value, plain.weight_n.value, 0.0, 0.0);
    const double common_n = 0.02 * plain.weight_n.value;
    const double place_n = 0.002 * plain.stiffness_n_per_m.value;
    assert_near(doubtful.weight_n.u, hypot(plain.weight_n.u, hypot(common_n, place_n)), 1e-9,
                0.0);
    assert_true(doubtful.energy_j.u > 0.02 * plain.energy_j.value);
}

static void test_refusals(void **state)
{
    struct sh_force_draw_row rows[N];
    struct sh_force_draw draw;
    struct sh_random random;
    struct sh_force_draw_config config = {.at_m = AT_M};
    sh_random_init(&random, 3u);
    make_rows(0.0, &random, rows);
    const double end_m = rows[N - 1].draw_m;
    assert_int_equal(sh_force_draw_solve(rows, 5, &config, &draw), SH_ERR_SHORT);
    assert_int_equal(sh_force_draw_solve(rows, 257, &config, &draw), SH_ERR_ARGUMENT);
    config.at_m = end_m + STEP_M * 0.999;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_OK);
    config.at_m = end_m + STEP_M * 1.001;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_NOT_FOUND);
    config.at_m = 0.3;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_NOT_FOUND);
    config.at_m = AT_M;
    config.force_ratio = -0.1;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_ARGUMENT);
    config.force_ratio = 0.0;
    rows[3].force_n = (double)NAN;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_NOT_FINITE);
    rows[3].force_n = -1.0;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_ARGUMENT);
    make_rows(0.0, &random, rows);
    rows[3].draw_m = rows[2].draw_m;
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_ARGUMENT);
    make_rows(0.0, &random, rows);
    for (size_t i = 0; i < N; i++) {
        rows[i].force_n = 100.0 - (double)i;
    }
    assert_int_equal(sh_force_draw_solve(rows, N, &config, &draw), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_bow),
        cmocka_unit_test(test_uncertainty_covers),
        cmocka_unit_test(test_common_shares_add),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
