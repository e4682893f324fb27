/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/scene.h"

#include <math.h>

#include "measure/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* 100 N at the first sample, rising by 2 N/s. */
static double get_line(const void *context, double t_s, size_t k)
{
    return 100.0 + 2.0 * (t_s - MADE_FROM_S);
}

static struct made_config line_config(void)
{
    return (struct made_config){.rate_hz = 1000.0, .force = {.get = get_line}};
}

static void test_events_of_a_let_down_do_not_apply(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    struct sh_quantity at = sh_scene_event(&made.scene, SH_EVENT_CLICKER);
    assert_near(at.value, MADE_CLICKER_S, 0.0, 0.0);
    at = sh_scene_click_or_release(&made.scene);
    assert_near(at.value, MADE_CLICKER_S, 0.0, 0.0);
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    at = sh_scene_click_or_release(&made.scene);
    assert_near(at.value, MADE_RELEASE_S, 0.0, 0.0);
    assert_int_equal(sh_scene_event(&made.scene, SH_EVENT_CLICKER).why, SH_WHY_NO_CHANNEL);
    made.shot.event_s[SH_EVENT_FULL_DRAW] = (struct sh_quantity){0};
    assert_int_equal(sh_scene_event(&made.scene, SH_EVENT_FULL_DRAW).why, SH_WHY_NOT_SEEN);
    made.shot.kind = SH_SHOT_LET_DOWN;
    assert_int_equal(sh_scene_event(&made.scene, SH_EVENT_RELEASE).why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(sh_scene_click_or_release(&made.scene).why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(sh_scene_event(&made.scene, SH_EVENT_DRAW_START).why, SH_WHY_KNOWN);
    made_close(&made);
}

static void test_a_difference_has_both_uncertainties(void **state)
{
    struct sh_quantity later = sh_quantity_known(5.0, 0.03);
    struct sh_quantity earlier = sh_quantity_known(2.0, 0.04);
    struct sh_quantity difference = sh_scene_difference(&later, &earlier);
    assert_near(difference.value, 3.0, 0.0, 1e-12);
    assert_near(difference.u, 0.05, 0.0, 1e-12);
    assert_false(difference.has_interval);

    later.has_interval = true; /* 4.9 to 5.3, the other 2 -+ 0.0784 */
    later.lo = 4.9;
    later.hi = 5.3;
    difference = sh_scene_difference(&later, &earlier);
    assert_true(difference.has_interval);
    assert_near(difference.lo, 3.0 - hypot(0.1, 0.0784), 0.0, 1e-4);
    assert_near(difference.hi, 3.0 + hypot(0.3, 0.0784), 0.0, 1e-4);

    earlier = sh_quantity_unknown(SH_WHY_GAP);
    assert_int_equal(sh_scene_difference(&later, &earlier).why, SH_WHY_GAP);
    later = sh_quantity_unknown(SH_WHY_CLIPPED);
    assert_int_equal(sh_scene_difference(&later, &earlier).why, SH_WHY_GAP);
}

/* Two events of the force: 3 ms each of their own, 40 ms of the clock, 5 ms of the delay. */
static void share_force(struct made *made)
{
    const struct sh_event_share force = {
        .is_known = true, .clock_u_s = 0.04, .delay_u_s = 0.005};
    const double u_s = sqrt(0.003 * 0.003 + 0.04 * 0.04 + 0.005 * 0.005);
    made->shot.event_s[SH_EVENT_FULL_DRAW].u = u_s;
    made->shot.event_s[SH_EVENT_RELEASE].u = u_s;
    made->shot.event_share[SH_EVENT_FULL_DRAW] = force;
    made->shot.event_share[SH_EVENT_RELEASE] = force;
    made->shot.event_s[SH_EVENT_CLICKER].u = hypot(0.001, 0.04);
    made->shot.event_share[SH_EVENT_CLICKER] =
        (struct sh_event_share){.is_known = true, .channel = 1, .clock_u_s = 0.04};
    made->view.force.time_u_s = 0.04;
    made->view.force.delay_u_s = 0.005;
}

static void test_what_events_share_cancels(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    struct sh_anchor anchors[2] = {{0, 0.0, 0.004}, {10000, 10.0, 0.003}};
    const struct sh_timebase timebase = {
        .rate_hz = 1000.0, .anchors = anchors, .n_anchors = 2, .capacity = 2};
    made_open(&made, &config);
    share_force(&made);
    struct sh_quantity hold =
        sh_scene_between(&made.scene, SH_EVENT_RELEASE, SH_EVENT_FULL_DRAW);
    assert_near(hold.value, MADE_RELEASE_S - MADE_FULL_DRAW_S, 0.0, 1e-12);
    assert_near(hold.u, 0.003 * sqrt(2.0), 1e-9, 0.0);
    /* one clock, two delays */
    hold = sh_scene_between(&made.scene, SH_EVENT_RELEASE, SH_EVENT_CLICKER);
    assert_near(hold.u, sqrt(0.003 * 0.003 + 0.005 * 0.005 + 0.001 * 0.001), 1e-9, 0.0);
    /* the clock's rate, known to 0.5 ms in a second, over 3.15 s */
    made.view.stream[0].timebase = &timebase;
    made.view.stream[0].reading = SH_TIMEBASE_BETWEEN;
    hold = sh_scene_between(&made.scene, SH_EVENT_RELEASE, SH_EVENT_FULL_DRAW);
    assert_near(hold.u, hypot(0.003 * sqrt(2.0), 0.0005 * 3.15), 1e-9, 0.0);
    /* another clock shares nothing */
    made.shot.event_share[SH_EVENT_CLICKER].stream = 1;
    hold = sh_scene_between(&made.scene, SH_EVENT_RELEASE, SH_EVENT_CLICKER);
    assert_near(hold.u, hypot(made.shot.event_s[SH_EVENT_RELEASE].u, hypot(0.001, 0.04)), 1e-9,
                0.0);
    made.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_unknown(SH_WHY_GAP);
    hold = sh_scene_between(&made.scene, SH_EVENT_RELEASE, SH_EVENT_FULL_DRAW);
    assert_int_equal(hold.why, SH_WHY_GAP);
    made_close(&made);
}

static void test_an_interval_loses_what_is_shared(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    share_force(&made);
    struct sh_quantity *release = &made.shot.event_s[SH_EVENT_RELEASE];
    const double common_s = 1.959963984540054 * hypot(0.04, 0.005);
    release->has_interval = true;
    release->lo = release->value - hypot(0.002, common_s);
    release->hi = release->value + hypot(0.009, common_s);
    const struct sh_quantity own = sh_scene_event_in_force(&made.scene, SH_EVENT_RELEASE);
    assert_near(own.u, 0.003, 1e-9, 0.0);
    assert_near(own.value - own.lo, 0.002, 1e-9, 0.0);
    assert_near(own.hi - own.value, 0.009, 1e-9, 0.0);
    /* seen from the force's samples, an event of another channel has the force's delay too */
    struct sh_quantity click = sh_scene_c_in_force(&made.scene);
    assert_near(click.value, MADE_CLICKER_S, 0.0, 1e-12);
    assert_near(click.u, hypot(0.001, 0.005), 1e-9, 0.0);
    made.shot.event_share[SH_EVENT_CLICKER].stream = 1;
    click = sh_scene_c_in_force(&made.scene);
    assert_near(click.u, sqrt(0.001 * 0.001 + 2.0 * 0.04 * 0.04 + 0.005 * 0.005), 1e-9, 0.0);
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    assert_near(sh_scene_c_in_force(&made.scene).value, MADE_RELEASE_S, 0.0, 1e-12);
    made_close(&made);
}

static void test_mean_and_median_of_a_line(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    double value = 0.0;
    made_open(&made, &config);
    /* 101 samples, 2.5 to 2.6 s: the middle one is at 2.55 s. */
    assert_int_equal(sh_scene_force_mean(&made.scene, 2.5, 2.601, &value), SH_WHY_KNOWN);
    assert_near(value, 104.1, 1e-9, 0.0);
    assert_int_equal(sh_scene_force_median(&made.scene, 2.5, 2.601, &value), SH_WHY_KNOWN);
    assert_near(value, 104.1, 1e-9, 0.0);
    assert_int_equal(sh_scene_force_window(&made.scene, 0.02), 20);
    assert_int_equal(sh_scene_force_window(&made.scene, 0.0005), 1);
    assert_int_equal(sh_scene_force_window(&made.scene, 0.0004), 0);
    made.flags[0][made_frame(&made, 0, 2.55)] = SH_SHOT_FLAG_FILLED;
    assert_int_equal(sh_scene_force_mean(&made.scene, 2.5, 2.601, &value), SH_WHY_GAP);
    assert_int_equal(sh_scene_force_median(&made.scene, 2.5, 2.601, &value), SH_WHY_GAP);
    made.scene.workspace->n_scratch = 50;
    assert_int_equal(sh_scene_force_mean(&made.scene, 3.0, 3.049, &value), SH_WHY_KNOWN);
    assert_int_equal(sh_scene_force_mean(&made.scene, 3.0, 3.051, &value), SH_WHY_UNRESOLVED);
    made.view.force.is_present = false;
    assert_int_equal(sh_scene_force_mean(&made.scene, 3.0, 3.01, &value), SH_WHY_NO_CHANNEL);
    made_close(&made);
}

static enum sh_why
evaluate_product(const struct sh_scene *scene, const double at_s[2], double *value)
{
    *value = at_s[0] * at_s[0] + 3.0 * at_s[1];
    return at_s[1] > 8.2 ? SH_WHY_TOO_SHORT : SH_WHY_KNOWN;
}

static void test_a_probe_feels_its_events(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    struct sh_scene_probe probe = {
        evaluate_product, {sh_quantity_known(5.0, 0.01), sh_quantity_known(8.0, 0.02)}, false};
    struct sh_quantity figure = sh_scene_run_probe(&made.scene, &probe);
    assert_near(figure.value, 49.0, 0.0, 1e-12);
    assert_near(figure.u, hypot(2.0 * 5.0 * 0.01, 3.0 * 0.02), 0.0, 1e-9);
    probe.at[1].u = 0.5; /* one side does not fit: the other stands for it */
    figure = sh_scene_run_probe(&made.scene, &probe);
    assert_near(figure.u, hypot(0.1, 1.5), 0.0, 1e-9);
    probe.is_bound = true; /* the second event may only be earlier: 3 N/s by 20 ms */
    probe.at[1] = sh_quantity_known(8.0, 0.02);
    figure = sh_scene_run_probe(&made.scene, &probe);
    assert_near(figure.u, hypot(0.1, 0.06), 0.0, 1e-9);
    probe.at[1].value = 8.3;
    assert_int_equal(sh_scene_run_probe(&made.scene, &probe).why, SH_WHY_TOO_SHORT);
    probe.at[0] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    assert_int_equal(sh_scene_run_probe(&made.scene, &probe).why, SH_WHY_NOT_SEEN);
    made.view.force.is_present = false;
    assert_int_equal(sh_scene_run_probe(&made.scene, &probe).why, SH_WHY_NO_CHANNEL);
    made_close(&made);
}

/* Of 20 samples 2 mN apart 11 lie within 10 mN of the median; the median itself does not count.
 */
static void test_noise_of_a_median(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    made.view.force.noise_n = 0.0101;
    const double got_n = sh_scene_get_median_noise(&made.scene, 2.5, 2.52);
    assert_near(got_n, 0.0101 * sqrt(2.0 / sqrt(3.14159265) / 10.0), 0.0, 1e-6);
    assert_near(sh_scene_get_mean_noise(&made.scene, 0.02), 0.0101 / sqrt(20.0), 0.0, 1e-9);
    assert_near(sh_scene_get_median_noise(&made.scene, 2.5, 2.501), 0.0101, 0.0, 1e-9);
    assert_near(sh_scene_get_median_noise(&made.scene, 2.5, 2.5), 0.0, 0.0, 0.0);
    made_close(&made);
}

/* The release known to 2 ms each way (4 to the 95 % limit), samples 1 ms apart. */
static void test_a_window_ends_before_the_fall(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    made.shot.event_s[SH_EVENT_RELEASE].u = 0.002;
    struct sh_quantity end = sh_scene_release_in_force(&made.scene);
    const double back_s = 1.959963984540054 * 0.002 + 0.0005;
    assert_near(end.value, MADE_RELEASE_S - back_s, 1e-9, 0.0);
    assert_near(end.u, sqrt(0.002 * 0.002 + back_s * back_s + 1e-6), 1e-9, 0.0);
    assert_near(sh_scene_last_c_in_force(&made.scene).value, MADE_CLICKER_S, 0.0, 1e-12);
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    assert_near(sh_scene_last_c_in_force(&made.scene).value, end.value, 0.0, 1e-12);
    made.view.force.is_present = false;
    end = sh_scene_release_in_force(&made.scene);
    assert_near(end.value, MADE_RELEASE_S, 0.0, 1e-12);
    made_close(&made);
}

static void test_parts_of_a_forces_uncertainty_add_as_squares(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    made.view.force.scale_u_ratio = 0.002;
    made.shot.rest_n = sh_quantity_known(1.0, 0.3);
    struct sh_quantity figure = sh_quantity_known(200.0, 0.1);
    sh_scene_add_force_u(&made.scene, &figure, 0.2, false);
    assert_near(figure.u, sqrt(0.01 + 0.04 + 0.16), 0.0, 1e-12);
    figure = sh_quantity_known(200.0, 0.1);
    sh_scene_add_force_u(&made.scene, &figure, 0.2, true);
    assert_near(figure.u, sqrt(0.01 + 0.04 + 0.16 + 0.09), 0.0, 1e-12);
    made_close(&made);
}

static void test_a_channels_calibration(void **state)
{
    struct sh_channel channel = {.scale = -0.02, .scale_u = 0.0001};
    assert_near(sh_scene_get_channel_u_ratio(&channel, 100.0), 0.005, 0.0, 1e-12);
    channel.quadratic_u = 1e-8; /* of 5000 counts: 0.25 N of 100 N */
    assert_near(sh_scene_get_channel_u_ratio(&channel, 100.0), hypot(0.005, 0.0025), 0.0, 1e-9);
    channel = (struct sh_channel){.is_physical = true, .scale_u = 0.01};
    assert_near(sh_scene_get_channel_u_ratio(&channel, 100.0), 0.01, 0.0, 1e-12);
    channel = (struct sh_channel){
        .n_curve = 3, .curve = {{900.0, 0.0, 0.1}, {500.0, 50.0, 0.2}, {100.0, 150.0, 0.6}}};
    assert_near(sh_scene_get_channel_u_ratio(&channel, 100.0), 0.004, 0.0, 1e-12);
    assert_near(sh_scene_get_channel_u_ratio(&channel, 300.0), 0.002, 0.0, 1e-12);
    assert_near(sh_scene_get_channel_u_ratio(&channel, -10.0), 0.01, 0.0, 1e-12);
    assert_near(sh_scene_get_channel_u_ratio(&channel, 0.0), 0.0, 0.0, 0.0);
}

static void test_a_length_needs_the_stiffness(void **state)
{
    struct made made;
    const struct made_config config = line_config();
    made_open(&made, &config);
    made.bow.stiffness_n_per_m = sh_quantity_known(400.0, 8.0);
    struct sh_quantity figure_n = sh_quantity_known(2.0, 0.1);
    struct sh_quantity length = sh_scene_get_length(&made.scene, &figure_n);
    assert_near(length.value, 0.005, 0.0, 1e-12);
    assert_near(length.u, hypot(0.1 / 400.0, 0.005 * 0.02), 0.0, 1e-9);
    assert_false(length.has_interval);
    figure_n.has_interval = true;
    figure_n.lo = 1.2;
    figure_n.hi = 2.2;
    length = sh_scene_get_length(&made.scene, &figure_n);
    assert_true(length.has_interval);
    assert_near(length.lo, 0.005 - hypot(0.002, 0.000196), 1e-9, 0.0);
    assert_near(length.hi, 0.005 + hypot(0.0005, 0.000196), 1e-9, 0.0);
    made.bow.stiffness_n_per_m.value = 0.0;
    assert_int_equal(sh_scene_get_length(&made.scene, &figure_n).why, SH_WHY_NOT_GIVEN);
    made.scene.bow = NULL;
    assert_int_equal(sh_scene_get_length(&made.scene, &figure_n).why, SH_WHY_NOT_GIVEN);
    figure_n = sh_quantity_unknown(SH_WHY_GAP);
    assert_int_equal(sh_scene_get_length(&made.scene, &figure_n).why, SH_WHY_GAP);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_events_of_a_let_down_do_not_apply),
        cmocka_unit_test(test_a_difference_has_both_uncertainties),
        cmocka_unit_test(test_what_events_share_cancels),
        cmocka_unit_test(test_an_interval_loses_what_is_shared),
        cmocka_unit_test(test_mean_and_median_of_a_line),
        cmocka_unit_test(test_a_probe_feels_its_events),
        cmocka_unit_test(test_noise_of_a_median),
        cmocka_unit_test(test_a_window_ends_before_the_fall),
        cmocka_unit_test(test_parts_of_a_forces_uncertainty_add_as_squares),
        cmocka_unit_test(test_a_channels_calibration),
        cmocka_unit_test(test_a_length_needs_the_stiffness),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
