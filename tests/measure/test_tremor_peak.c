/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "measure/tremor_peak.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * Spectra made by hand: the limits follow from the rule of the header, worked out on paper.
 */

#define BINS   1001u
#define BIN_HZ 0.02
#define WHITE  0.01

struct made_psd {
    double power[BINS];
    struct sh_psd psd;
};

static void open_psd(struct made_psd *made)
{
    made->psd = (struct sh_psd){.power = made->power,
                                .n_bins = BINS,
                                .bin_hz = BIN_HZ,
                                .duration_s = 3.0,
                                .half_band_hz = 1.0};
    for (size_t i = 0; i < BINS; i++) {
        made->power[i] = WHITE;
    }
}

/* A round hump of height 1 whose curvature is 2 a: S = 1 - a (f - at)^2. */
static void add_hump(struct made_psd *made, double at_hz, double height, double a)
{
    for (size_t i = 0; i < BINS; i++) {
        const double off_hz = (double)i * BIN_HZ - at_hz;
        made->power[i] = fmax(made->power[i], height - a * off_hz * off_hz);
    }
}

static struct sh_quantity find(const struct made_psd *made, double white)
{
    const struct sh_tremor_peak_basis basis = {
        .psd = &made->psd, .white = white, .n_axes = 1.0, .n_tapers = 5.0};
    return sh_tremor_peak_find(&basis, 4.0, 15.0);
}

/* a d^2 = d / (0.8 W) sqrt(2 (2 S w + w^2) / K): d = sqrt(8.04e-3) / 0.8 / a for w = 0.01. */
static void test_round_hump(void **state)
{
    struct made_psd made;
    open_psd(&made);
    add_hump(&made, 9.0, 1.0, 0.5);
    const struct sh_quantity peak = find(&made, WHITE);
    const double reach_hz = sqrt(2.0 * (2.0 * WHITE + WHITE * WHITE) / 5.0) / 0.8 / 0.5;
    assert_true(sh_quantity_is_known(&peak) && peak.has_interval);
    assert_near(peak.value, 9.0, 1e-3, 0.0);
    assert_near(9.0 - peak.lo, reach_hz, 1.5 * BIN_HZ, 0.0);
    assert_near(peak.hi - 9.0, reach_hz, 1.5 * BIN_HZ, 0.0);
    assert_near(peak.u, 0.5 * (peak.hi - peak.lo) / 1.96, 1e-4, 0.0);
}

/* Less noise, narrower limits, down to the bin. */
static void test_without_noise(void **state)
{
    struct made_psd made;
    open_psd(&made);
    add_hump(&made, 9.0, 1.0, 0.5);
    const struct sh_quantity peak = find(&made, 1e-12);
    assert_near(peak.value, 9.0, 1e-3, 0.0);
    assert_true(peak.hi - peak.lo < 2.0 * BIN_HZ);
}

/* Two humps that noise could swap: both lie within the limits; a much lower one does not. */
static void test_two_humps(void **state)
{
    struct made_psd made;
    open_psd(&made);
    add_hump(&made, 6.0, 0.97, 5.0);
    add_hump(&made, 12.0, 1.0, 5.0);
    struct sh_quantity peak = find(&made, WHITE);
    assert_near(peak.value, 12.0, 1e-3, 0.0);
    assert_true(peak.lo < 6.0 && peak.hi > 12.0);
    open_psd(&made);
    add_hump(&made, 6.0, 0.7, 5.0);
    add_hump(&made, 12.0, 1.0, 5.0);
    peak = find(&made, WHITE);
    assert_true(peak.lo > 11.0 && peak.hi < 13.0);
}

static void test_nothing_stands_out(void **state)
{
    struct made_psd made;
    open_psd(&made);
    const struct sh_quantity peak = find(&made, WHITE);
    assert_int_equal(peak.why, SH_WHY_NOT_SEEN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_round_hump),
        cmocka_unit_test(test_without_noise),
        cmocka_unit_test(test_two_humps),
        cmocka_unit_test(test_nothing_stands_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
