/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/bootstrap.h"

#include <math.h>
#include <stdbool.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_ROWS  60
#define N_DRAWS 2000

struct sample {
    double x[N_ROWS];
    bool is_broken;
};

static enum sh_status get_mean(void *context, const size_t *row, size_t n, double *value)
{
    const struct sample *sample = context;
    *value = 0.0;
    for (size_t i = 0; i < n; i++) {
        *value += sample->x[row[i]] / (double)n;
    }
    return sample->is_broken ? SH_ERR_SINGULAR : SH_OK;
}

static size_t row_space[N_ROWS];
static double draw_space[N_DRAWS];
static double spare_space[N_ROWS];
static const struct sh_bootstrap_work work = {row_space, draw_space, spare_space};

static struct sh_bootstrap_config
make_config(struct sample *sample, struct sh_random *random, size_t n_units)
{
    return (struct sh_bootstrap_config){.statistic = get_mean,
                                        .context = sample,
                                        .n_units = n_units,
                                        .n_draws = N_DRAWS,
                                        .level = 0.9,
                                        .random = random};
}

/* Standard error, and coverage of the true mean of skewed data over 300 samples. */
static void test_coverage(void **state)
{
    struct sh_random random;
    struct sample sample = {.is_broken = false};
    double n_covered = 0.0;
    sh_random_init(&random, 17);
    for (size_t trial = 0; trial < 300; trial++) {
        double squares = 0.0;
        for (size_t i = 0; i < 40; i++) {
            sample.x[i] = -log1p(-sh_random_get_uniform(&random));
        }
        struct sh_bootstrap_config config = make_config(&sample, &random, 40);
        config.n_draws = 1000;
        struct sh_bootstrap interval;
        assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_OK);
        assert_true(interval.lo < interval.value && interval.value < interval.hi);
        for (size_t i = 0; i < 40; i++) {
            squares += (sample.x[i] - interval.value) * (sample.x[i] - interval.value);
        }
        assert_near(interval.sd, sqrt(squares) / 40.0, 0.0, 0.12);
        n_covered += interval.lo <= 1.0 && 1.0 <= interval.hi ? 1.0 : 0.0;
    }
    /* 90 % asked; 87 % known for 40 exponential numbers, and three standard errors of 300 */
    assert_true(n_covered / 300.0 > 0.82 && n_covered / 300.0 < 0.95);
}

/* Rows of one end alike: six ends of five say no more than six rows. */
static void test_clusters(void **state)
{
    size_t first[7];
    struct sample clustered = {.is_broken = false};
    struct sample single = {.is_broken = false};
    for (size_t i = 0; i < 7; i++) {
        first[i] = 5 * i;
    }
    for (size_t i = 0; i < 30; i++) {
        const size_t end = i / 5;
        clustered.x[i] = (double)(end * end);
        single.x[end] = clustered.x[i];
    }
    struct sh_random random;
    struct sh_bootstrap ends;
    struct sh_bootstrap rows;
    sh_random_init(&random, 2);
    struct sh_bootstrap_config config = make_config(&clustered, &random, 6);
    config.first = first;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &ends), SH_OK);
    sh_random_init(&random, 2);
    config = make_config(&single, &random, 6);
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &rows), SH_OK);
    assert_near(ends.lo, rows.lo, 1e-12, 1e-12);
    assert_near(ends.hi, rows.hi, 1e-12, 1e-12);
    assert_near(ends.acceleration, rows.acceleration, 1e-12, 1e-9);
    /* sum d^3 / (6 (sum d^2)^1.5) of 0 1 4 9 16 25 about their mean */
    double squares = 0.0;
    double cubes = 0.0;
    for (size_t i = 0; i < 6; i++) {
        double d = single.x[i] - 55.0 / 6.0;
        squares += d * d;
        cubes += d * d * d;
    }
    assert_near(rows.acceleration, cubes / (6.0 * pow(squares, 1.5)), 1e-12, 0.0);
}

static void test_refusals(void **state)
{
    struct sh_random random;
    struct sh_bootstrap interval;
    struct sample sample = {.is_broken = false};
    const size_t flat[4] = {0, 1, 1, 2};
    sh_random_init(&random, 1);
    struct sh_bootstrap_config config = make_config(&sample, &random, 3);
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_OK);
    assert_near(interval.hi - interval.lo, 0.0, 0.0, 0.0);
    config.first = flat;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_ERR_ARGUMENT);
    config.first = NULL;
    config.n_units = 2;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_ERR_SHORT);
    config = make_config(&sample, &random, 3);
    config.n_draws = SH_BOOTSTRAP_DRAWS_MIN - 1;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_ERR_ARGUMENT);
    config = make_config(&sample, &random, 3);
    config.level = 1.0;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_ERR_ARGUMENT);
    config.level = 0.9;
    sample.x[1] = (double)NAN;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_ERR_NOT_FINITE);
    sample.x[1] = 1.0;
    sample.is_broken = true;
    assert_int_equal(sh_bootstrap_find_interval(&config, &work, &interval), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_coverage),
        cmocka_unit_test(test_clusters),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
