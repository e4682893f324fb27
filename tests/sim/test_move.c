/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/move.h"

#include "support/cmocka_all.h"
#include "support/near.h"

/* Ends, middle, symmetry, and the peak speed of 1.875 over the mean (Flash & Hogan 1985). */
static void test_share(void **state)
{
    assert_near(sh_move_share(1.0, 1.0, 3.0), 0.0, 0.0, 0.0);
    assert_near(sh_move_share(2.0, 1.0, 3.0), 0.5, 1e-15, 0.0);
    assert_near(sh_move_share(3.0, 1.0, 3.0), 1.0, 0.0, 0.0);
    double last = 0.0;
    for (int i = 1; i <= 200; i++) {
        const double t_s = 1.0 + 0.01 * i;
        const double share = sh_move_share(t_s, 1.0, 3.0);
        assert_true(share > last - 1e-15);
        assert_near(share + sh_move_share(4.0 - t_s, 1.0, 3.0), 1.0, 1e-12, 0.0);
        last = share;
    }
    const double speed =
        (sh_move_share(2.0005, 1.0, 3.0) - sh_move_share(1.9995, 1.0, 3.0)) / 0.001;
    assert_near(speed * 2.0, 1.875, 1e-5, 0.0);
}

/* No length: nothing at the instant, all of it after. */
static void test_step(void **state)
{
    assert_near(sh_move_share(1.0, 1.0, 1.0), 0.0, 0.0, 0.0);
    assert_near(sh_move_share(1.0 + 1e-9, 1.0, 1.0), 1.0, 0.0, 0.0);
}

static void test_dip(void **state)
{
    assert_near(sh_move_dip(1.0, 1.0, 2.0), 0.0, 0.0, 0.0);
    assert_near(sh_move_dip(1.25, 1.0, 2.0), 0.5, 1e-12, 0.0);
    assert_near(sh_move_dip(1.5, 1.0, 2.0), 1.0, 0.0, 0.0);
    assert_near(sh_move_dip(2.0, 1.0, 2.0), 0.0, 0.0, 0.0);
    assert_near(sh_move_dip(2.5, 1.0, 1.0), 0.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_share),
        cmocka_unit_test(test_step),
        cmocka_unit_test(test_dip),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
