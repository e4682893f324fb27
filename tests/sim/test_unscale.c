/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/unscale.h"

#include "metrology/scale.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void check_return(const struct sh_channel *channel, double low, double high)
{
    for (int i = 0; i <= 100; i++) {
        const double value = low + (high - low) * i / 100.0;
        assert_near(sh_scale_value(channel, sh_unscale_value(channel, value)), value, 1e-9,
                    1e-12);
    }
}

/* Scaling leads back, for rising and falling sensors, straight, bent and by a curve. */
static void test_return(void **state)
{
    struct sh_channel channel = {.scale = 0.0125, .zero = 812.0};
    check_return(&channel, -50.0, 300.0);
    channel.quadratic = 3e-8;
    check_return(&channel, -50.0, 300.0);
    channel.quadratic = -3e-8;
    check_return(&channel, -50.0, 300.0);
    channel.scale = -0.0125;
    check_return(&channel, -50.0, 300.0);
    channel.is_physical = true;
    check_return(&channel, -50.0, 300.0);
    const struct sh_channel rising = {
        .curve = {{100, 0.0, 0.1}, {300, 20.0, 0.1}, {350, 60.0, 0.1}}, .n_curve = 3};
    check_return(&rising, -10.0, 100.0);
    const struct sh_channel falling = {
        .curve = {{50, 90.0, 0.1}, {100, 60.0, 0.1}, {400, 20.0, 0.1}, {900, 0.0, 0.1}},
        .n_curve = 4};
    check_return(&falling, -10.0, 120.0);
}

/* Known counts, and a value that the bent scale never reaches. */
static void test_known(void **state)
{
    const struct sh_channel channel = {.scale = 0.5, .zero = 10.0};
    assert_near(sh_unscale_value(&channel, 2.0), 14.0, 1e-12, 0.0);
    const struct sh_channel bent = {.scale = 1.0, .quadratic = -0.01, .zero = 0.0};
    assert_near(sh_unscale_value(&bent, 24.0), 40.0, 1e-9, 0.0);
    assert_near(sh_unscale_value(&bent, 30.0), 50.0, 1e-9, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_return),
        cmocka_unit_test(test_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
