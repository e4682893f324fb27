/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/theil_sen.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/reference.h"

static void test_against_scipy(void **state)
{
    const size_t sizes[4] = {4, 25, 300, 2048};
    struct sh_reference_file *file = sh_reference_open("theil_sen");
    const double *x = sh_reference_get(file, "x", NULL);
    const double *y = sh_reference_get(file, "y", NULL);
    double *work = calloc(SH_THEIL_SEN_WORK((size_t)SH_THEIL_SEN_MAX), sizeof(*work));
    assert_non_null(work);
    for (size_t i = 0; i < 4; i++) {
        char name[32];
        (void)snprintf(name, sizeof(name), "line_%zu", sizes[i]);
        struct sh_theil_sen line;
        assert_int_equal(sh_theil_sen_fit(x, y, sizes[i], 0.95, work, &line), SH_OK);
        const double got[4] = {line.slope, line.slope_lo, line.slope_hi, line.intercept};
        sh_reference_series(name, "SciPy theilslopes", sh_reference_get(file, name, NULL), got,
                            4, 1e-13);
    }
    free(work);
    sh_reference_close(&file);
}

/* An exact line stays exact with 29 % of the points wild. */
static void test_wild_points(void **state)
{
    double x[100];
    double y[100];
    static double work[SH_THEIL_SEN_WORK(100)];
    for (size_t i = 0; i < 100; i++) {
        x[i] = (double)i;
        y[i] = i % 7 < 2 ? 1e6 : 3.0 - 0.25 * x[i];
    }
    struct sh_theil_sen line;
    assert_int_equal(sh_theil_sen_fit(x, y, 100, 0.95, work, &line), SH_OK);
    assert_near(line.slope, -0.25, 1e-12, 0.0);
}

static void test_refusals(void **state)
{
    double x[3] = {1.0, 2.0, 3.0};
    double y[3] = {0.0, 1.0, 4.0};
    double work[SH_THEIL_SEN_WORK(3)];
    struct sh_theil_sen line;
    assert_int_equal(sh_theil_sen_fit(x, y, 2, 0.95, work, &line), SH_OK);
    assert_near(line.slope, 1.0, 0.0, 0.0);
    assert_near(line.intercept, -1.0, 0.0, 0.0);
    assert_int_equal(sh_theil_sen_fit(x, y, 1, 0.95, work, &line), SH_ERR_SHORT);
    assert_int_equal(sh_theil_sen_fit(x, y, 3, 0.0, work, &line), SH_ERR_ARGUMENT);
    assert_int_equal(sh_theil_sen_fit(x, y, 3, 1.0, work, &line), SH_ERR_ARGUMENT);
    assert_int_equal(sh_theil_sen_fit(x, y, SH_THEIL_SEN_MAX + 1, 0.95, work, &line),
                     SH_ERR_ARGUMENT);
    y[1] = (double)NAN;
    assert_int_equal(sh_theil_sen_fit(x, y, 3, 0.95, work, &line), SH_ERR_NOT_FINITE);
    y[1] = 1.0;
    x[0] = x[1] = x[2];
    assert_int_equal(sh_theil_sen_fit(x, y, 3, 0.95, work, &line), SH_ERR_SINGULAR);
    x[0] = 0.0;
    x[1] = DBL_MIN;
    y[1] = DBL_MAX;
    assert_int_equal(sh_theil_sen_fit(x, y, 3, 0.95, work, &line), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_scipy),
        cmocka_unit_test(test_wild_points),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
