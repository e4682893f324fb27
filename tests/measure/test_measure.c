/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/measure.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "base/units.h"
#include "measure/made.h"
#include "measure/made_fingers.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A whole shot: rise, hold with tremor and some creep, release, all channels. */
static double get_force(const void *context, double t_s, size_t k)
{
    const double gain = *(const double *)context;
    const double drawn = fmin(fmax(t_s - MADE_DRAW_START_S, 0.0), 1.0);
    const double tremor =
        0.3 * sin(2.0 * SH_PI * 8.3 * t_s) + 0.2 * sin(2.0 * SH_PI * 5.9 * t_s);
    const double creep = fmin(fmax(t_s - 6.5, 0.0), 0.5) * 3.0;
    const double left = fmin(fmax((MADE_RELEASE_S + 0.008 - t_s) / 0.01, 0.0), 1.0);
    return gain * drawn * (180.0 - creep + tremor) * left;
}

static double get_bow(const void *context, double t_s, size_t k)
{
    const double since_s = fmax(t_s - MADE_RELEASE_S, 0.0);
    const double ringing = 80.0 * exp(-20.0 * since_s) * sin(2.0 * SH_PI * 55.0 * since_s);
    const double tremor = 0.1 * sin(2.0 * SH_PI * 7.0 * t_s);
    return k == 2 ? SH_UNITS_G0_M_S2 : tremor + ringing;
}

static void open_all(struct made *made, const double *gain, const struct made_fingers *fingers)
{
    const struct made_config config = {.rate_hz = 500.0,
                                       .force = {get_force, gain},
                                       .finger = {made_fingers_get, fingers},
                                       .finger_rest_n = 1.5,
                                       .bow_rate_hz = 3200.0,
                                       .bow = {.get = get_bow},
                                       .noise_n = 0.02};
    made_open(made, &config);
}

static void measure(struct made *made,
                    const struct sh_measure_context *context,
                    struct sh_measures *measures)
{
    assert_int_equal(
        sh_measure_shot(made->scene.workspace, context, &made->shot, &made->view, measures),
        SH_OK);
}

static const struct sh_mark clock_marks[] = {
    {.t_s = 1.0, .kind = SH_MARK_CLOCK, .seconds = {true, 120.0}}};

static struct sh_measure_context make_context(const struct made *made)
{
    return (struct sh_measure_context){.bow = &made->bow,
                                       .marks = clock_marks,
                                       .n_marks = 1,
                                       .previous_release_s =
                                           sh_quantity_unknown(SH_WHY_NOT_SEEN)};
}

/* With every channel there is every measure, but for the slide that did not happen. */
static void test_all_channels_give_all_measures(void **state)
{
    const double gain = 1.0;
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures;
    open_all(&made, &gain, &fingers);
    const struct sh_measure_context context = make_context(&made);
    measure(&made, &context, &measures);
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        const bool is_slide = i == SH_MEASURE_FINGER_SLIDE_FIRST;
        assert_int_equal(measures.quantity[i].why, is_slide ? SH_WHY_NOT_SEEN : SH_WHY_KNOWN);
        assert_true(is_slide || isfinite(measures.quantity[i].value));
        assert_true(is_slide ||
                    (isfinite(measures.quantity[i].u) && measures.quantity[i].u >= 0.0));
    }
    assert_int_equal(measures.vibration_clipped, SH_ANSWER_NO);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_HOLD_TIME, 0)->value, 3.15, 1e-9, 0.0);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_CREEP_FORCE, 0)->value, 1.5, 0.05, 0.0);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_RING, 0)->value, 55.0, 0.3, 0.0);
    assert_near(sh_catalog_get(&measures, SH_MEASURE_SETUP_TIME, 0)->value, 3.0, 1e-9, 0.0);
    made_close(&made);
}

/* No quantity is left without a reason, whatever is missing. */
static void test_nothing_is_left_unasked(void **state)
{
    const double gain = 1.0;
    const struct made_fingers fingers = made_fingers_default();
    const struct sh_measure_context nothing = {.bow = NULL};
    static const enum sh_shot_kind kinds[] = {SH_SHOT_SHOT, SH_SHOT_LET_DOWN,
                                              SH_SHOT_UNRESOLVED};
    struct made made;
    open_all(&made, &gain, &fingers);
    for (size_t k = 0; k < 3; k++) {
        for (int missing = 0; missing < SH_EVENT_COUNT; missing++) {
            struct sh_measures measures;
            made.shot.kind = kinds[k];
            const struct sh_quantity kept = made.shot.event_s[missing];
            made.shot.event_s[missing] = (struct sh_quantity){0};
            measure(&made, &nothing, &measures);
            for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
                assert_int_not_equal(measures.quantity[i].why, SH_WHY_NOT_ASKED);
            }
            assert_int_not_equal(measures.steady_rms_n.why, SH_WHY_NOT_ASKED);
            assert_int_not_equal(measures.tremor_first_third_n.why, SH_WHY_NOT_ASKED);
            assert_int_not_equal(measures.tremor_last_third_n.why, SH_WHY_NOT_ASKED);
            assert_int_not_equal(measures.creep_bias_n.why, SH_WHY_NOT_ASKED);
            made.shot.event_s[missing] = kept;
        }
    }
    made_close(&made);
}

/* What a let-down has: draw time, set-up, time left at its start, impulse. */
static void test_what_a_let_down_has(void **state)
{
    const double gain = 1.0;
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures;
    open_all(&made, &gain, &fingers);
    made.shot.kind = SH_SHOT_LET_DOWN;
    const struct sh_measure_context context = make_context(&made);
    measure(&made, &context, &measures);
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        const bool is_had =
            i == SH_MEASURE_SETUP_TIME_FIRST || i == SH_MEASURE_TIME_LEFT_DRAW_FIRST ||
            i == SH_MEASURE_DRAW_TIME_FIRST ||
            (i >= SH_MEASURE_FINGER_IMPULSE_FIRST && i <= SH_MEASURE_FINGER_IMPULSE_LAST);
        assert_int_equal(measures.quantity[i].why,
                         is_had ? SH_WHY_KNOWN : SH_WHY_NOT_APPLICABLE);
    }
    made_close(&made);
}

static void test_other_streams_are_refused(void **state)
{
    const double gain = 1.0;
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {.vibration_clipped = SH_ANSWER_YES};
    open_all(&made, &gain, &fingers);
    const struct sh_measure_context context = make_context(&made);
    made.view.n_streams = 1;
    assert_int_equal(
        sh_measure_shot(made.scene.workspace, &context, &made.shot, &made.view, &measures),
        SH_ERR_ARGUMENT);
    made.view.n_streams = 2;
    made.stream[MADE_BOW].rate_hz = 3201.0;
    assert_int_equal(
        sh_measure_shot(made.scene.workspace, &context, &made.shot, &made.view, &measures),
        SH_ERR_ARGUMENT);
    assert_int_equal(measures.vibration_clipped, SH_ANSWER_YES);
    made_close(&made);
}

/* The same bits whatever the workspace did before. */
static void test_what_was_measured_before_does_not_matter(void **state)
{
    const double gain = 1.0;
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures first;
    struct sh_measures other;
    struct sh_measures again;
    open_all(&made, &gain, &fingers);
    const struct sh_measure_context context = make_context(&made);
    measure(&made, &context, &first);
    made.shot.event_s[SH_EVENT_CLICKER].value -= 0.7;
    measure(&made, &context, &other);
    made.shot.event_s[SH_EVENT_CLICKER].value = MADE_CLICKER_S;
    measure(&made, &context, &again);
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        assert_memory_equal(&first.quantity[i].value, &again.quantity[i].value, sizeof(double));
        assert_memory_equal(&first.quantity[i].u, &again.quantity[i].u, sizeof(double));
    }
    assert_true(fabs(other.quantity[SH_MEASURE_TREMOR_RMS_FIRST].value -
                     first.quantity[SH_MEASURE_TREMOR_RMS_FIRST].value) > 0.0);
    made_close(&made);
}

/* A later shot has the same measures, but for its times on the clock. */
static void test_a_shift_in_time_moves_only_times(void **state)
{
    const double gain = 1.0;
    const double shift_s = 512.0; /* exact in the samples' times */
    const struct made_fingers fingers = made_fingers_default();
    const struct sh_measure_context nothing = {.bow = NULL};
    struct made made;
    struct sh_measures before;
    struct sh_measures after;
    open_all(&made, &gain, &fingers);
    measure(&made, &nothing, &before);
    for (size_t s = 0; s < MADE_STREAMS; s++) {
        for (size_t i = 0; i < made.view.stream[s].n_frames; i++) {
            made.samples[s][i] += shift_s;
        }
    }
    for (int e = 0; e < SH_EVENT_COUNT; e++) {
        made.shot.event_s[e].value += shift_s;
    }
    measure(&made, &nothing, &after);
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        const double moved = i == SH_MEASURE_FLINCH_TIME_FIRST ? shift_s : 0.0;
        assert_int_equal(before.quantity[i].why, after.quantity[i].why);
        if (before.quantity[i].why == SH_WHY_KNOWN) {
            assert_near(after.quantity[i].value, before.quantity[i].value + moved, 1e-6, 1e-6);
        }
    }
    made_close(&made);
}

/* A force half as large halves forces and lengths and leaves times and frequencies. */
static void test_a_gain_scales_only_forces(void **state)
{
    const double gains[] = {1.0, 0.5};
    const struct made_fingers fingers = made_fingers_default();
    struct sh_measures measures[2];
    for (size_t g = 0; g < 2; g++) {
        struct made made;
        open_all(&made, &gains[g], &fingers);
        made.view.force.noise_n = 0.0;
        const struct sh_measure_context context = make_context(&made);
        measure(&made, &context, &measures[g]);
        made_close(&made);
    }
    for (int m = 0; m < SH_MEASURE_COUNT; m++) {
        const struct sh_catalog_row *row = sh_catalog_get_row((enum sh_measure)m);
        const bool is_finger = strncmp(row->stem, "finger", 6) == 0;
        const bool is_force = row->unit[0] == 'n' || strcmp(row->unit, "m") == 0;
        const double factor = is_force && !is_finger ? 0.5 : 1.0;
        for (size_t part = 0; part < sh_catalog_get_parts((enum sh_measure)m); part++) {
            const struct sh_quantity *whole =
                sh_catalog_get(&measures[0], (enum sh_measure)m, part);
            const struct sh_quantity *half =
                sh_catalog_get(&measures[1], (enum sh_measure)m, part);
            assert_int_equal(whole->why, half->why);
            assert_near(half->value, factor * whole->value, 1e-9, 1e-9);
        }
    }
}

/* "Within a breath": a shot with all channels, sanitizers and all, in well under a second. */
static void test_a_shot_is_measured_within_a_breath(void **state)
{
    const double gain = 1.0;
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures;
    open_all(&made, &gain, &fingers);
    const struct sh_measure_context context = make_context(&made);
    const clock_t began = clock();
    for (int i = 0; i < 5; i++) {
        measure(&made, &context, &measures);
    }
    const double each_s = (double)(clock() - began) / CLOCKS_PER_SEC / 5.0;
    print_message("a shot of 10 s, 500 Hz and 3200 Hz: %.1f ms\n", 1000.0 * each_s);
    assert_true(each_s < 1.0);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_channels_give_all_measures),
        cmocka_unit_test(test_nothing_is_left_unasked),
        cmocka_unit_test(test_what_a_let_down_has),
        cmocka_unit_test(test_other_streams_are_refused),
        cmocka_unit_test(test_what_was_measured_before_does_not_matter),
        cmocka_unit_test(test_a_shift_in_time_moves_only_times),
        cmocka_unit_test(test_a_gain_scales_only_forces),
        cmocka_unit_test(test_a_shot_is_measured_within_a_breath),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
