/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/bow_law.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* Over all that is accepted: force and slope at full draw are met, the force always rises. */
static void test_law(void **state)
{
    int n_accepted = 0;
    for (int i = 0; i < 14 * 9; i++) {
        const struct sh_bow_law_config config = {.full_force_n = 40.0 + 20.0 * floor(i / 9.0),
                                                 .full_travel_m = 0.48,
                                                 .stiffness_n_per_m = 280.0 + 40.0 * (i % 9)};
        struct sh_bow_law bow;
        if (sh_bow_law_init(&bow, &config, NULL) != SH_OK) {
            continue;
        }
        n_accepted++;
        assert_near(sh_bow_law_get_force_n(&bow, 0.48), config.full_force_n, 0.0, 1e-12);
        assert_near(sh_bow_law_get_stiffness_n_per_m(&bow, 0.48), config.stiffness_n_per_m, 0.0,
                    1e-12);
        for (int k = 0; k < 480; k++) {
            const double x_m = 0.001 * k;
            assert_true(sh_bow_law_get_force_n(&bow, x_m + 0.001) >
                        sh_bow_law_get_force_n(&bow, x_m));
        }
    }
    assert_true(n_accepted > 60);
}

/* The stiffness is the slope of the force; the start is steeper than the middle. */
static void test_slope(void **state)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_bow_law bow;
    assert_int_equal(sh_bow_law_init(&bow, &config, NULL), SH_OK);
    for (int k = 1; k < 50; k++) {
        const double x_m = 0.01 * k;
        const double slope = (sh_bow_law_get_force_n(&bow, x_m + 1e-5) -
                              sh_bow_law_get_force_n(&bow, x_m - 1e-5)) /
                             2e-5;
        assert_near(sh_bow_law_get_stiffness_n_per_m(&bow, x_m), slope, 0.0, 1e-6);
    }
    assert_true(sh_bow_law_get_stiffness_n_per_m(&bow, 0.0) >
                2.0 * sh_bow_law_get_stiffness_n_per_m(&bow, 0.2));
    assert_near(sh_bow_law_get_force_n(&bow, -0.1), 0.0, 0.0, 0.0);
    assert_near(sh_bow_law_get_stiffness_n_per_m(&bow, -0.1), 0.0, 0.0, 0.0);
}

static enum sh_status init_with(double force_n, double travel_m, double stiffness_n_per_m)
{
    const struct sh_bow_law_config config = {force_n, travel_m, stiffness_n_per_m};
    struct sh_bow_law bow;
    struct sh_error err = {0};
    const enum sh_status status = sh_bow_law_init(&bow, &config, &err);
    assert_int_equal(err.status, status);
    return status;
}

static void test_limits(void **state)
{
    assert_int_equal(init_with(300.0, 0.48, 410.0), SH_OK);
    assert_int_equal(init_with(300.1, 0.48, 410.0), SH_ERR_ARGUMENT);
    assert_int_equal(init_with(40.0, 0.3, 280.0), SH_OK);
    assert_int_equal(init_with(39.9, 0.3, 280.0), SH_ERR_ARGUMENT);
    assert_int_equal(init_with(178.0, 0.29, 410.0), SH_ERR_ARGUMENT);
    assert_int_equal(init_with(178.0, 0.7, 410.0), SH_OK);
    assert_int_equal(init_with(178.0, 0.71, 410.0), SH_ERR_ARGUMENT);
    assert_int_equal(init_with(178.0, 0.48, 279.9), SH_ERR_ARGUMENT);
    assert_int_equal(init_with(178.0, 0.48, 280.0), SH_OK);
    assert_int_equal(init_with(178.0, 0.48, 600.0), SH_OK);
    assert_int_equal(init_with(178.0, 0.48, 600.1), SH_ERR_ARGUMENT);
    assert_int_equal(init_with((double)NAN, 0.48, 410.0), SH_ERR_ARGUMENT);
    /* in range one by one, yet no rising law joins them */
    assert_int_equal(init_with(40.0, 0.48, 600.0), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_law),
        cmocka_unit_test(test_slope),
        cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
