/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/trace.h"

#include <math.h>

#include "base/units.h"
#include "measure/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A straight draw, a hold with 0.5 N at 9 Hz, nothing after the release. */
static double get_shot(const void *context, double t_s, size_t k)
{
    const double drawn = fmin(fmax(t_s - MADE_DRAW_START_S, 0.0), 1.0);
    const double tremor = t_s > MADE_FULL_DRAW_S ? 0.5 * sin(2.0 * SH_PI * 9.0 * t_s) : 0.0;
    return t_s < MADE_RELEASE_S - 1e-9 ? 180.0 * drawn + tremor : 0.0;
}

static void open_shot(struct made *made, double rate_hz)
{
    const struct made_config config = {.rate_hz = rate_hz, .force = {.get = get_shot}};
    made_open(made, &config);
}

static void make(struct made *made, struct sh_trace *trace)
{
    assert_int_equal(sh_trace_make(made->scene.workspace, &made->shot, &made->view, trace),
                     SH_OK);
}

static void test_times_are_relative_to_the_release(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    made.shot.event_s[SH_EVENT_RELEASE].u = 0.003;
    made.shot.event_s[SH_EVENT_CLICKER].u = 0.004;
    make(&made, &trace);
    assert_int_equal(trace.zero, SH_EVENT_RELEASE);
    assert_near(trace.event_s[SH_EVENT_RELEASE].value, 0.0, 0.0, 0.0);
    assert_near(trace.event_s[SH_EVENT_RELEASE].u, 0.0, 0.0, 0.0);
    assert_near(trace.event_s[SH_EVENT_CLICKER].value, -0.15, 1e-9, 0.0);
    assert_near(trace.event_s[SH_EVENT_CLICKER].u, 0.005, 1e-9, 0.0);
    assert_int_equal(trace.event_s[SH_EVENT_LET_DOWN].why, SH_WHY_NOT_APPLICABLE);
    made_close(&made);
}

static void test_the_whole_shot_keeps_extremes(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    made.net_n[made_frame(&made, 0, 6.4321)] = 250.0; /* single samples */
    made.net_n[made_frame(&made, 0, 7.1234)] = 90.0;
    make(&made, &trace);
    assert_int_equal(trace.n_whole, SH_TRACE_WHOLE_MAX);
    const double length_s = MADE_RELEASE_S - MADE_DRAW_START_S + 1.0;
    assert_near(trace.whole_s[0], -(length_s - 0.5) + 0.5 * length_s / 512.0, 1e-9, 0.0);
    assert_near(trace.whole_s[511], 0.5 - 0.5 * length_s / 512.0, 1e-9, 0.0);
    double most_n = 0.0;
    double least_n = 180.0;
    for (size_t i = 0; i < trace.n_whole; i++) {
        assert_true(trace.whole_low_n[i] <= trace.whole_high_n[i]);
        most_n = fmax(most_n, trace.whole_high_n[i]);
        const bool is_hold = trace.whole_s[i] > -3.0 && trace.whole_s[i] < -0.1;
        least_n = is_hold ? fmin(least_n, trace.whole_low_n[i]) : least_n;
    }
    assert_near(most_n, 250.0, 0.0, 0.0);
    assert_near(least_n, 90.0, 0.0, 0.0);
    made_close(&made);
}

static void test_the_close_view_follows_the_force(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    make(&made, &trace);
    assert_int_equal(trace.n_close, SH_TRACE_CLOSE_MAX);
    assert_true(trace.close_s[0] >= -1.5 && trace.close_s[0] < -1.495);
    assert_true(trace.close_s[399] > 0.295 && trace.close_s[399] < 0.3);
    for (size_t i = 0; i < trace.n_close; i++) {
        const double at_s = trace.close_s[i] + MADE_RELEASE_S;
        if (fabs(trace.close_s[i]) > 0.005) {
            assert_near(trace.close_n[i], get_shot(NULL, at_s, 0), 0.02, 0.0);
        }
    }
    made_close(&made);
}

/* 80 Hz: fewer samples than pieces, each its own point at its own time. */
static void test_a_slow_sensor_has_its_samples(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 80.0);
    made.shot.event_s[SH_EVENT_DRAW_START].value += 0.003; /* no sample lies on a limit */
    made.shot.event_s[SH_EVENT_RELEASE].value += 0.003;
    make(&made, &trace);
    assert_int_equal(trace.n_close, 144); /* 1.8 s */
    assert_int_equal(trace.n_whole, 412); /* 5.15 s */
    for (size_t i = 1; i < trace.n_close; i++) {
        assert_near(trace.close_s[i] - trace.close_s[i - 1], 0.0125, 1e-9, 0.0);
    }
    made_close(&made);
}

static void test_a_gap_stays_a_gap(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    const size_t from = made_frame(&made, 0, MADE_RELEASE_S - 1.0);
    for (size_t i = from; i < from + 200; i++) {
        made.flags[0][i] = SH_SHOT_FLAG_FILLED;
        made.net_n[i] = 999.0;
    }
    make(&made, &trace);
    double widest_s = 0.0;
    for (size_t i = 1; i < trace.n_close; i++) {
        assert_true(trace.close_n[i] < 200.0);
        widest_s = fmax(widest_s, trace.close_s[i] - trace.close_s[i - 1]);
    }
    assert_near(widest_s, 0.203, 0.005, 0.0);
    for (size_t i = 0; i < trace.n_whole; i++) {
        assert_true(trace.whole_high_n[i] < 200.0);
    }
    assert_int_equal(trace.n_spectrum, 0); /* no tremor from a hold with a gap */
    made_close(&made);
}

/* The power under the line is half its amplitude's square. */
static void test_the_spectrum_has_the_tremors_power(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    make(&made, &trace);
    assert_int_equal(trace.n_spectrum, SH_TRACE_SPECTRUM_MAX);
    assert_near(trace.spectrum_hz[0], 25.0 / 256.0, 1e-9, 0.0);
    assert_near(trace.spectrum_hz[127], 25.0 - 25.0 / 256.0, 1e-9, 0.0);
    double power_n2 = 0.0;
    double highest = 0.0;
    double highest_hz = 0.0;
    for (size_t i = 0; i < trace.n_spectrum; i++) {
        power_n2 += trace.spectrum_n2_per_hz[i] * 25.0 / 128.0;
        if (trace.spectrum_n2_per_hz[i] > highest) {
            highest = trace.spectrum_n2_per_hz[i];
            highest_hz = trace.spectrum_hz[i];
        }
    }
    assert_near(power_n2, 0.125, 0.0, 0.05);
    assert_near(highest_hz, 9.0, 3.0 / 2.7, 0.0);
    made_close(&made);
}

static void test_other_zeros(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    made.shot.kind = SH_SHOT_LET_DOWN;
    made.shot.event_s[SH_EVENT_LET_DOWN] = sh_quantity_known(7.5, 0.01);
    make(&made, &trace);
    assert_int_equal(trace.zero, SH_EVENT_LET_DOWN);
    assert_int_equal(trace.n_close, 0);
    assert_int_equal(trace.n_spectrum, 0);
    assert_true(trace.n_whole > 400);
    assert_near(trace.event_s[SH_EVENT_DRAW_START].value, -3.5, 1e-9, 0.0);
    made.shot.kind = SH_SHOT_UNRESOLVED;
    for (int e = 0; e < SH_EVENT_COUNT; e++) {
        made.shot.event_s[e] = sh_quantity_unknown(SH_WHY_UNRESOLVED);
    }
    make(&made, &trace);
    assert_int_equal(trace.zero, SH_EVENT_COUNT);
    assert_int_equal(trace.n_whole, 0);
    assert_int_equal(trace.event_s[SH_EVENT_RELEASE].why, SH_WHY_UNRESOLVED);
    made.shot.event_s[SH_EVENT_END] = sh_quantity_known(8.0, 0.0);
    make(&made, &trace);
    assert_int_equal(trace.zero, SH_EVENT_END);
    assert_int_equal(trace.n_whole, 0);
    made_close(&made);
}

static void test_without_force_or_with_other_streams(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    made.view.force.is_present = false;
    make(&made, &trace);
    assert_int_equal(trace.n_whole + trace.n_close + trace.n_spectrum, 0);
    assert_near(trace.event_s[SH_EVENT_CLICKER].value, -0.15, 1e-9, 0.0);
    made.stream[0].rate_hz = 999.0;
    assert_int_equal(sh_trace_make(made.scene.workspace, &made.shot, &made.view, &trace),
                     SH_ERR_ARGUMENT);
    made_close(&made);
}

/* A window that reaches beyond the samples shows what there is. */
static void test_samples_that_end_early(void **state)
{
    static struct sh_trace trace;
    struct made made;
    open_shot(&made, 1000.0);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_UNTIL_S - 0.1;
    make(&made, &trace);
    assert_near(trace.close_s[trace.n_close - 1], 0.098, 0.004, 0.0);
    assert_true(trace.whole_s[trace.n_whole - 1] <= 0.11);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_times_are_relative_to_the_release),
        cmocka_unit_test(test_the_whole_shot_keeps_extremes),
        cmocka_unit_test(test_the_close_view_follows_the_force),
        cmocka_unit_test(test_a_slow_sensor_has_its_samples),
        cmocka_unit_test(test_a_gap_stays_a_gap),
        cmocka_unit_test(test_the_spectrum_has_the_tremors_power),
        cmocka_unit_test(test_other_zeros),
        cmocka_unit_test(test_without_force_or_with_other_streams),
        cmocka_unit_test(test_samples_that_end_early),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
