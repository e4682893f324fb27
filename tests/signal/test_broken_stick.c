/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/broken_stick.h"

#include <float.h>
#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_MAX 200u

static enum sh_status
fit(const double *x, const double *y, size_t n, struct sh_broken_stick *stick)
{
    const struct sh_broken_stick_points points = {x, y, n};
    return sh_broken_stick_fit(&points, 0.95, stick);
}

/* 0 0 0 1 2 3: bends at a point; 0 0 0 .5 1.5 2.5: bends between points, at 2.5. */
static void test_exact(void **state)
{
    double x[6];
    double y[6];
    const double breaks[3] = {2.0, 2.5, 3.25};
    for (size_t k = 0; k < 3; k++) {
        for (size_t i = 0; i < 6; i++) {
            x[i] = 1000.0 + (double)i;
            y[i] = 7.0 + fmax((double)i - breaks[k], 0.0);
        }
        struct sh_broken_stick got;
        assert_int_equal(fit(x, y, 6, &got), SH_OK);
        assert_near(got.break_x, 1000.0 + breaks[k], 1e-9, 0.0);
        assert_near(got.break_y, 7.0, 1e-9, 0.0);
        assert_near(got.slope_before, 0.0, 1e-9, 0.0);
        assert_near(got.slope_after, 1.0, 1e-9, 0.0);
        assert_near(got.break_lo, got.break_x, 1e-6, 0.0);
        assert_near(got.break_hi, got.break_x, 1e-6, 0.0);
        assert_true(got.p < 1e-9);
    }
}

static void draw(struct sh_random *random, size_t n, double bend, double *x, double *y)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = (double)i / (double)n;
        y[i] = 3.0 + x[i] + bend * fmax(x[i] - 0.42, 0.0) + 0.1 * sh_random_get_normal(random);
    }
}

/* Takes the first a rows' share off row b of normal equations whose right side stands last. */
static void eliminate(double u[3][4], size_t a, size_t b)
{
    const double share = u[b][a] / u[a][a];
    for (size_t k = a; k < 4; k++) {
        u[b][k] -= share * u[a][k];
    }
}

/* Residual squares with a break at c: least squares by normal equations. */
static double get_squares(const double *x, const double *y, size_t n, double c)
{
    double u[3][4] = {{0.0}};
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double term[4] = {1.0, x[i] - c, fmax(x[i] - c, 0.0), y[i]};
        for (size_t k = 0; k < 12; k++) {
            u[k / 4][k % 4] += term[k / 4] * term[k % 4];
        }
        squares += y[i] * y[i];
    }
    eliminate(u, 0, 1);
    eliminate(u, 0, 2);
    eliminate(u, 1, 2);
    for (size_t a = 0; a < 3; a++) {
        squares -= u[a][3] * u[a][3] / u[a][a];
    }
    return squares;
}

/* No break on a fine grid leaves fewer squares; outside the limits all leave more than allowed.
 */
static void test_least(void **state)
{
    enum { RUNS = 20, N = 60, PLACES = 900 };
    double x[N];
    double y[N];
    struct sh_random random;
    struct sh_broken_stick got;
    sh_random_init(&random, 2);
    for (size_t run = 0; run < RUNS; run++) {
        draw(&random, N, -2.0, x, y);
        assert_int_equal(fit(x, y, N, &got), SH_OK);
        assert_true(got.break_lo <= got.break_x && got.break_x <= got.break_hi);
        const double variance = got.residual_squares / (N - 4.0);
        for (size_t i = 0; i <= PLACES; i++) {
            const double c = x[1] + (x[N - 2] - x[1]) * (double)i / PLACES;
            const double over = (get_squares(x, y, N, c) - got.residual_squares) / variance;
            const bool is_outside = c < got.break_lo - 1e-9 || c > got.break_hi + 1e-9;
            assert_true(over > (is_outside ? 4.012 : -1e-6)); /* F(0.95; 1, 56) = 4.0130 */
        }
    }
}

/* How often the limits hold the break, and how the stated errors compare with what is seen. */
static void test_coverage(void **state)
{
    enum { RUNS = 2000, N = 80 };
    double x[N];
    double y[N];
    double break_squares = 0.0;
    double break_variance = 0.0;
    double slope_squares = 0.0;
    double slope_variance = 0.0;
    size_t n_held = 0;
    struct sh_random random;
    sh_random_init(&random, 9);
    for (size_t r = 0; r < RUNS; r++) {
        struct sh_broken_stick got;
        draw(&random, N, -5.0, x, y);
        assert_int_equal(fit(x, y, N, &got), SH_OK);
        n_held += got.break_lo <= 0.42 && 0.42 <= got.break_hi ? 1 : 0;
        break_squares += (got.break_x - 0.42) * (got.break_x - 0.42) / RUNS;
        break_variance += got.break_u * got.break_u / RUNS;
        slope_squares += (got.slope_after + 4.0) * (got.slope_after + 4.0) / RUNS;
        slope_variance += got.slope_after_u * got.slope_after_u / RUNS;
    }
    assert_near((double)n_held / RUNS, 0.95, 0.02, 0.0);
    assert_near(sqrt(break_variance / break_squares), 1.0, 0.1, 0.0);
    assert_near(sqrt(slope_variance / slope_squares), 1.0, 0.1, 0.0);
}

/* Straight lines: a break is claimed in no more of them than the level says. */
static void test_false_breaks(void **state)
{
    enum { RUNS = 2000 };
    const size_t sizes[3] = {10, 40, 200};
    static double x[N_MAX];
    static double y[N_MAX];
    struct sh_random random;
    sh_random_init(&random, 13);
    for (size_t k = 0; k < 3; k++) {
        size_t n_claims = 0;
        for (size_t r = 0; r < RUNS; r++) {
            struct sh_broken_stick got;
            draw(&random, sizes[k], 0.0, x, y);
            assert_int_equal(fit(x, y, sizes[k], &got), SH_OK);
            n_claims += got.p < 0.05 ? 1 : 0;
        }
        print_message("false breaks, %zu points: %.3f\n", sizes[k], (double)n_claims / RUNS);
        assert_true((double)n_claims / RUNS < 0.06);
        assert_true((double)n_claims / RUNS > 0.01);
    }
}

/* Ties, and a break that the data do not bound. */
static void test_open(void **state)
{
    const double x[8] = {0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0};
    const double y[8] = {0.1, -0.1, 1.05, 0.95, 2.1, 1.9, 3.0, 2.9};
    struct sh_broken_stick got;
    assert_int_equal(fit(x, y, 8, &got), SH_OK);
    assert_true(got.is_open_lo);
    assert_true(got.is_open_hi);
    assert_near(got.break_lo, 1.0, 1e-12, 0.0);
    assert_near(got.break_hi, 2.0, 1e-12, 0.0);
    assert_true(got.p > 0.2);
}

static void test_refusals(void **state)
{
    const double x[6] = {0.0, 1.0, 2.0, 3.0, 4.0, 5.0};
    const double y[6] = {0.0, 1.0, 2.0, 3.0, 3.5, 4.4};
    const double back[6] = {0.0, 1.0, 2.0, 1.9, 4.0, 5.0};
    const double three[6] = {0.0, 0.0, 1.0, 1.0, 2.0, 2.0};
    const double broken[6] = {0.0, 1.0, 2.0, (double)NAN, 4.0, 5.0};
    const double huge[6] = {DBL_MAX, -DBL_MAX, DBL_MAX, 1.0, 2.0, 3.0};
    struct sh_broken_stick got;
    assert_int_equal(fit(x, y, 4, &got), SH_ERR_SHORT);
    assert_int_equal(fit(x, y, 5, &got), SH_OK);
    assert_int_equal(fit(three, y, 6, &got), SH_ERR_SHORT);
    assert_int_equal(fit(back, y, 6, &got), SH_ERR_ARGUMENT);
    assert_int_equal(fit(broken, y, 6, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(fit(x, broken, 6, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(fit(x, huge, 6, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(fit(x, x, 6, &got), SH_ERR_SINGULAR);
    const struct sh_broken_stick_points points = {x, y, 6};
    assert_int_equal(sh_broken_stick_fit(&points, 0.0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_broken_stick_fit(&points, 1.0, &got), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exact),    cmocka_unit_test(test_least),
        cmocka_unit_test(test_coverage), cmocka_unit_test(test_false_breaks),
        cmocka_unit_test(test_open),     cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
