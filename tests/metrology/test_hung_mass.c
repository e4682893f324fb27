/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/hung_mass.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_hung_mass_place make_place(void)
{
    return (struct sh_hung_mass_place){.gravity_m_s2 = sh_quantity_known(9.81, 0.0005),
                                       .mass_u_ratio = 0.001};
}

static void test_force_and_shares(void **state)
{
    const struct sh_hung_mass_place place = make_place();
    struct sh_hung_mass_force force = {0};
    assert_int_equal(sh_hung_mass_get_force(&place, 10.0, &force), SH_OK);
    assert_near(force.force_n, 98.1 * (1.0 - 1.2 / 8000.0), 1e-12, 0.0);
    assert_near(force.mass_u_n, 0.0980853, 1e-7, 0.0);
    assert_near(force.gravity_u_n, 0.00499925, 1e-8, 0.0);
    assert_near(force.buoyancy_u_n, 98.1 * 1.5e-5, 1e-12, 0.0);
    const double squares = force.mass_u_n * force.mass_u_n +
                           force.gravity_u_n * force.gravity_u_n +
                           force.buoyancy_u_n * force.buoyancy_u_n;
    assert_near(force.u_n, sqrt(squares), 1e-14, 0.0);
    assert_near(sh_hung_mass_get_u_ratio(&place), force.u_n / force.force_n, 1e-8, 0.0);
}

static void test_refusals(void **state)
{
    struct sh_hung_mass_place place = make_place();
    struct sh_hung_mass_force force = {.force_n = -1.0};
    assert_int_equal(sh_hung_mass_get_force(&place, -0.001, &force), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hung_mass_get_force(&place, 200.001, &force), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hung_mass_get_force(&place, (double)NAN, &force), SH_ERR_ARGUMENT);
    place.mass_u_ratio = 1.0;
    assert_int_equal(sh_hung_mass_get_force(&place, 1.0, &force), SH_ERR_ARGUMENT);
    place = make_place();
    place.gravity_m_s2.value = 9.699;
    assert_int_equal(sh_hung_mass_get_force(&place, 1.0, &force), SH_ERR_ARGUMENT);
    place.gravity_m_s2.value = 9.901;
    assert_int_equal(sh_hung_mass_get_force(&place, 1.0, &force), SH_ERR_ARGUMENT);
    place.gravity_m_s2 = sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    assert_int_equal(sh_hung_mass_get_force(&place, 1.0, &force), SH_ERR_ARGUMENT);
    assert_near(force.force_n, -1.0, 0.0, 0.0);
    place = make_place();
    assert_int_equal(sh_hung_mass_get_force(&place, 200.0, &force), SH_OK);
    assert_int_equal(sh_hung_mass_get_force(&place, 0.0, &force), SH_OK);
    assert_near(force.force_n, 0.0, 0.0, 0.0);
}

static void test_masses_as_people_write_them(void **state)
{
    static const struct {
        const char *text;
        double kg;
    } good[] = {{"5kg", 5.0},   {"5 kg", 5.0},        {"500g", 0.5}, {"1.5e3 g", 1.5},
                {"0", 0.0},     {"10lb", 4.5359237},  {"0 kg", 0.0}, {"440.92 lb", 199.998},
                {"2\tkg", 2.0}, {"1 lbs", 0.45359237}};
    static const char *const bad[] = {"",     "kg",     "5",      "-1kg",  "5 stone",
                                      "5kgg", "nan kg", "inf kg", "201kg", "5 kg 3"};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        double kg = -1.0;
        assert_true(sh_hung_mass_parse(good[i].text, &kg));
        assert_near(kg, good[i].kg, 1e-12, 1e-5);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double kg = -1.0;
        if (sh_hung_mass_parse(bad[i], &kg)) {
            fail_msg("'%s' was taken as %g kg", bad[i], kg);
        }
        assert_near(kg, -1.0, 0.0, 0.0);
    }
    double kg = 0.0;
    assert_true(sh_hung_mass_parse("1lb", &kg));
    assert_near(kg, 0.45359237, 0.0, 0.0); /* exact, 1959 agreement */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_force_and_shares),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_masses_as_people_write_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
