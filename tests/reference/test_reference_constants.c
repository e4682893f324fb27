/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units, codes of frames, and the laws of chance against definitions, publications and GSL. */
#include <math.h>
#include <stdio.h>

#include <gsl/gsl_cdf.h>

#include "base/units.h"
#include "sensor/cobs.h"
#include "sensor/crc.h"
#include "signal/chi_square.h"
#include "signal/distribution.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

static void test_units(void **state)
{
    const char *const source = "exact by definition";
    sh_reference_row("standard gravity, m/s2", source, 9.80665, SH_UNITS_G0_M_S2, 0.0);
    sh_reference_row("pound-force, N", source, 4.4482216152605, SH_UNITS_LBF_N, 0.0);
    sh_reference_row("pound times standard gravity, N", source, 4.4482216152605,
                     SH_UNITS_LB_KG * SH_UNITS_G0_M_S2, 1e-15);
    sh_reference_row("kilogram-force, N", source, 9.80665, SH_UNITS_KGF_N, 0.0);
    sh_reference_row("inch, mm", source, 25.4, SH_UNITS_INCH_M * 1000.0, 0.0);
    sh_reference_row("pound-force an inch, N/mm", "0.175127, six digits", 0.175127,
                     SH_UNITS_LBF_N / (SH_UNITS_INCH_M * 1000.0), 5e-7);
}

static void test_codes(void **state)
{
    const uint8_t digits[9] = {'1', '2', '3', '4', '5', '6', '7', '8', '9'};
    const uint8_t plain[4] = {0x11, 0x22, 0x00, 0x33};
    const uint8_t expected[5] = {0x03, 0x11, 0x22, 0x02, 0x33};
    uint8_t coded[SH_COBS_ENCODED_MAX(4)];
    sh_reference_row("CRC-16/CCITT-FALSE of 123456789", "29B1, catalogue of CRCs", 0x29b1,
                     sh_crc_ccitt_false(digits, sizeof(digits)), 0.0);
    assert_int_equal(sh_cobs_encode(plain, sizeof(plain), coded), 5);
    for (size_t i = 0; i < 5; i++) {
        char check[64];
        (void)snprintf(check, sizeof(check), "COBS of 11 22 00 33, byte %zu", i);
        sh_reference_row(check, "Cheshire & Baker 1999", expected[i], coded[i], 0.0);
    }
}

/* Largest relative error over probabilities and degrees of freedom. */
static void test_quantiles(void **state)
{
    const double shares[7] = {1e-4, 0.025, 0.2, 0.6, 0.95, 0.975, 0.999};
    const double freedoms[6] = {1.0, 2.0, 3.5, 9.0, 40.0, 200.0};
    double off[4] = {0.0};
    for (size_t i = 0; i < 7; i++) {
        const double p = shares[i];
        const double z = gsl_cdf_ugaussian_Pinv(p);
        off[0] = fmax(off[0], fabs(sh_distribution_get_normal_quantile(p) / z - 1.0));
        for (size_t k = 0; k < 6; k++) {
            const double n = freedoms[k];
            const double t = gsl_cdf_tdist_Pinv(p, n);
            const double chi = gsl_cdf_chisq_Pinv(p, n);
            const double f = gsl_cdf_fdist_Pinv(p, 4.0, n);
            off[1] = fmax(off[1], fabs(sh_distribution_get_t_quantile(p, n) / t - 1.0));
            off[2] = fmax(off[2], fabs(sh_chi_square_get_quantile(p, n) / chi - 1.0));
            off[3] = fmax(off[3], fabs(sh_distribution_get_f_quantile(p, 4.0, n) / f - 1.0));
        }
    }
    sh_reference_row("t quantile 0.975, 9 degrees of freedom", "GSL, R", 2.262157162798205,
                     sh_distribution_get_t_quantile(0.975, 9.0), 5e-15);
    sh_reference_row("normal quantiles, largest relative error", "GSL", 0.0, off[0], 1e-13);
    sh_reference_row("t quantiles, largest relative error", "GSL", 0.0, off[1], 1e-11);
    sh_reference_row("chi-square quantiles, largest relative error", "GSL", 0.0, off[2], 1e-9);
    sh_reference_row("F quantiles, largest relative error", "GSL", 0.0, off[3], 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_units),
        cmocka_unit_test(test_codes),
        cmocka_unit_test(test_quantiles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
