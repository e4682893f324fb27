/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/flinch.h"

#include <math.h>

#include "measure/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A hold of 180 N with a triangular dip, and a slope; 0 from the release on. */
struct dipped {
    double centre_s;
    double depth_n;
    double half_width_s;
    double slope_n_per_s;
    double step_n; /* lost at centre_s for good */
};

static double get_dipped(const void *context, double t_s, size_t k)
{
    const struct dipped *dip = context;
    const double off = fabs(t_s - dip->centre_s) / dip->half_width_s;
    double force_n = 180.0 + dip->slope_n_per_s * (t_s - MADE_FULL_DRAW_S);
    force_n -= dip->depth_n * fmax(1.0 - off, 0.0);
    force_n -= t_s >= dip->centre_s ? dip->step_n : 0.0;
    return t_s < MADE_RELEASE_S - 1e-9 ? force_n : 0.0;
}

static void open_dipped(struct made *made, const struct dipped *dip, double rate_hz)
{
    const struct made_config config = {.rate_hz = rate_hz, .force = {get_dipped, dip}};
    made_open(made, &config);
}

static void check(const struct dipped *dip, double depth_n, double time_s)
{
    struct made made;
    struct sh_measures measures = {0};
    open_dipped(&made, dip, 1000.0);
    sh_flinch_measure(&made.scene, &measures);
    const struct sh_quantity *force = sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0);
    const struct sh_quantity *time = sh_catalog_get(&measures, SH_MEASURE_FLINCH_TIME, 0);
    assert_int_equal(force->why, SH_WHY_KNOWN);
    assert_near(force->value, depth_n, 0.02, 0.0);
    if (depth_n > 0.0) {
        assert_int_equal(time->why, SH_WHY_KNOWN);
        assert_near(time->value, time_s, 0.0015, 0.0);
    } else {
        assert_int_equal(time->why, SH_WHY_NOT_SEEN);
    }
    made_close(&made);
}

/*
 * A triangle of 4 N and 60 ms to either side: the 30 ms mean at its tip is 4 (1 - 7.5 / 60),
 * the means 120 ms away (90 to 150 ms) do not see it.
 */
static void test_a_dip_of_known_size(void **state)
{
    check(&(struct dipped){7.8, 4.0, 0.06, 0.0, 0.0}, 3.5, 7.8);
    check(&(struct dipped){7.65, 4.0, 0.06, 0.0, 0.0}, 3.5, 7.65);
    check(&(struct dipped){7.95, 4.0, 0.06, 0.0, 0.0}, 3.5, 7.95);
}

/* On a slope the lower side counts: 0.12 s at 2 N/s less. */
static void test_the_lower_side_counts(void **state)
{
    check(&(struct dipped){7.8, 4.0, 0.06, 2.0, 0.0}, 3.5 - 0.24, 7.8);
}

static void test_what_does_not_recover_is_no_flinch(void **state)
{
    check(&(struct dipped){7.8, 0.0, 1.0, 0.0, 3.0}, 0.0, 0.0);
    check(&(struct dipped){7.8, 0.0, 1.0, 1.5, 0.0}, 0.0, 0.0);
    check(&(struct dipped){7.8, 0.0, 1.0, -1.5, 0.0}, 0.0, 0.0);
}

static void test_only_the_last_part_before_the_click_counts(void **state)
{
    check(&(struct dipped){7.4, 4.0, 0.06, 0.0, 0.0}, 0.0, 0.0);
    check(&(struct dipped){8.08, 4.0, 0.06, 0.0, 0.0}, 0.0, 0.0);
}

/* Without a clicker the release is c, and the last dip seen lies 125 ms before the drop. */
static void test_the_drop_itself_is_no_dips_other_side(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    static const struct dipped early = {8.0, 4.0, 0.06, 0.0, 0.0};
    static const struct dipped late = {8.09, 4.0, 0.05, 0.0, 0.0};
    open_dipped(&made, &early, 1000.0);
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_flinch_measure(&made.scene, &measures);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0)->value, 3.5, 0.02, 0.0);
    made_close(&made);
    open_dipped(&made, &late, 1000.0);
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_flinch_measure(&made.scene, &measures);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0)->value, 0.0, 0.0, 0.0);
    made_close(&made);
}

/* The release event lies 3 ms behind the true begin of a drop of 10 ms. */
static double get_early_drop(const void *context, double t_s, size_t k)
{
    const double since_s = t_s - (MADE_RELEASE_S - 0.003);
    return 180.0 * (1.0 - fmin(fmax(since_s / 0.01, 0.0), 1.0));
}

static void test_leaving_is_found_before_the_release(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {.rate_hz = 1000.0, .force = {.get = get_early_drop}};
    made_open(&made, &config);
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_flinch_measure(&made.scene, &measures);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0)->value, 0.0, 0.0, 0.0);
    made_close(&made);
}

static void test_a_slow_sensor(void **state)
{
    static const struct dipped dip = {7.8, 4.0, 0.06, 0.0, 0.0};
    struct made made;
    struct sh_measures measures = {0};
    open_dipped(&made, &dip, 80.0);
    sh_flinch_measure(&made.scene, &measures);
    const struct sh_quantity *time = sh_catalog_get(&measures, SH_MEASURE_FLINCH_TIME, 0);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0)->value, 3.5, 0.35, 0.0);
    assert_near(time->value, 7.8, 0.0063, 0.0);
    assert_true(time->u > 0.0036 && time->u < 0.008);
    made_close(&made);
    open_dipped(&made, &dip, 16.0);
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0)->why,
                     SH_WHY_TOO_SLOW);
    made_close(&made);
}

static void test_uncertainty_of_the_force(void **state)
{
    static const struct dipped dip = {7.8, 4.0, 0.06, 0.0, 0.0};
    struct made made;
    struct sh_measures measures = {0};
    open_dipped(&made, &dip, 1000.0);
    made.view.force.noise_n = 0.3;
    made.view.force.scale_u_ratio = 0.02;
    made.view.force.delay_u_s = 0.004;
    sh_flinch_measure(&made.scene, &measures);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0)->u,
                sqrt(0.09 / 30.0 + 0.09 / 120.0 + 0.07 * 0.07), 0.0, 0.01);
    /* White noise of 0.067 N lets the tip slip by some milliseconds. */
    const double u_s = sh_catalog_get(&measures, SH_MEASURE_FLINCH_TIME, 0)->u;
    assert_true(u_s > 0.004 && u_s < 0.008);
    made_close(&made);
}

/* Two dips alike but for 0.01 N: which is the deeper, noise of 0.067 N cannot say. */
static double get_two_dips(const void *context, double t_s, size_t k)
{
    const double first = (t_s - 7.7) / 0.012;
    const double second = (t_s - 7.88) / 0.012;
    return 180.0 - 2.0 * exp(-0.5 * first * first) - 2.01 * exp(-0.5 * second * second);
}

static void test_a_rival_dip_lies_within_the_limits(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {.rate_hz = 1000.0, .force = {.get = get_two_dips}};
    made_open(&made, &config);
    sh_flinch_measure(&made.scene, &measures);
    const struct sh_quantity *time = sh_catalog_get(&measures, SH_MEASURE_FLINCH_TIME, 0);
    assert_near(time->value, 7.88, 0.001, 0.0);
    assert_true(time->has_interval && time->lo > 7.87 && time->hi < 7.89);
    made.view.force.noise_n = 0.3;
    sh_flinch_measure(&made.scene, &measures);
    assert_near(time->value, 7.88, 0.001, 0.0);
    assert_true(time->lo < 7.7 && time->lo > 7.68);
    assert_true(time->hi > 7.88 && time->hi < 7.9);
    made_close(&made);
}

static void test_reasons(void **state)
{
    static const struct dipped dip = {7.8, 4.0, 0.06, 0.0, 0.0};
    struct made made;
    struct sh_measures measures = {0};
    const struct sh_quantity *force = sh_catalog_get(&measures, SH_MEASURE_FLINCH_FORCE, 0);
    const struct sh_quantity *time = sh_catalog_get(&measures, SH_MEASURE_FLINCH_TIME, 0);
    open_dipped(&made, &dip, 1000.0);
    made.shot.event_s[SH_EVENT_FULL_DRAW].value = MADE_CLICKER_S - 0.5499;
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_TOO_SHORT);
    made.shot.event_s[SH_EVENT_FULL_DRAW].value = MADE_CLICKER_S - 0.5501;
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_KNOWN);
    made.flags[0][made_frame(&made, 0, 7.47)] = SH_SHOT_FLAG_CLIPPED;
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_CLIPPED);
    made.flags[0][made_frame(&made, 0, 7.9)] = SH_SHOT_FLAG_FILLED;
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_GAP);
    assert_int_equal(time->why, SH_WHY_GAP);
    made.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_NOT_SEEN);
    made.shot.kind = SH_SHOT_LET_DOWN;
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_NOT_APPLICABLE);
    made.view.force.is_present = false;
    sh_flinch_measure(&made.scene, &measures);
    assert_int_equal(force->why, SH_WHY_NO_CHANNEL);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_dip_of_known_size),
        cmocka_unit_test(test_the_lower_side_counts),
        cmocka_unit_test(test_what_does_not_recover_is_no_flinch),
        cmocka_unit_test(test_only_the_last_part_before_the_click_counts),
        cmocka_unit_test(test_the_drop_itself_is_no_dips_other_side),
        cmocka_unit_test(test_leaving_is_found_before_the_release),
        cmocka_unit_test(test_a_slow_sensor),
        cmocka_unit_test(test_uncertainty_of_the_force),
        cmocka_unit_test(test_a_rival_dip_lies_within_the_limits),
        cmocka_unit_test(test_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
