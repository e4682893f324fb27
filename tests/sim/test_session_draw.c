/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/session_draw.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_DRAWS 40u

static void make_archer(struct sh_session_archer *archer, bool has_clicker)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_random random;
    sh_random_init(&random, 5);
    assert_int_equal(sh_bow_law_init(&archer->law, &config, NULL), SH_OK);
    sh_bow_voice_draw(&archer->voice, &random);
    archer->has_clicker = has_clicker;
    archer->fault_size_ratio = 1.0;
}

static void
make_draw(struct sh_session_draw *draw, unsigned faults, bool has_clicker, uint64_t seed)
{
    struct sh_session_archer archer;
    struct sh_random random;
    make_archer(&archer, has_clicker);
    sh_random_init(&random, seed);
    assert_int_equal(sh_session_draw_make(draw, &archer, faults, &random, NULL), SH_OK);
}

/* Every set of faults can be made: the contract finds a full draw in each. */
static void test_all_faults(void **state)
{
    for (unsigned faults = 0; faults < 1u << SH_ARCHER_FAULTS; faults += 5) {
        struct sh_session_draw draw;
        struct sh_truth truth;
        make_draw(&draw, faults, true, faults);
        sh_session_draw_get_truth(&draw, &truth);
        assert_true(truth.draw_start_s < truth.full_draw_s);
        const double done_s = truth.kind == SH_TRUTH_SHOT ? truth.release_s : truth.let_down_s;
        assert_true(truth.full_draw_s < done_s);
        assert_true((truth.kind == SH_TRUTH_LET_DOWN) == ((faults & SH_ARCHER_LET_DOWN) != 0));
        assert_true(sh_session_draw_get_begin_s(&draw) < truth.draw_start_s);
        assert_true(sh_session_draw_get_end_s(&draw) > done_s);
        assert_true(sh_session_draw_get_done_s(&draw) >= done_s);
    }
}

/* The same plan with faults of half the size. */
static void test_fault_size(void **state)
{
    struct sh_session_archer archer;
    struct sh_session_draw draw[2];
    const unsigned faults =
        SH_ARCHER_CREEP | SH_ARCHER_FLINCH | SH_ARCHER_COLLAPSE | SH_ARCHER_FINGER_SLIDE;
    make_archer(&archer, true);
    for (size_t i = 0; i < 2; i++) {
        struct sh_random random;
        sh_random_init(&random, 11);
        archer.fault_size_ratio = i == 0 ? 1.0 : 0.5;
        assert_int_equal(sh_session_draw_make(&draw[i], &archer, faults, &random, NULL), SH_OK);
    }
    const struct sh_archer_plan *full = &draw[0].string.plan;
    const struct sh_archer_plan *half = &draw[1].string.plan;
    assert_true(full->creep_m >= 0.006 && full->flinch_m >= 0.005 && full->collapse_m >= 0.005);
    assert_near(half->creep_m, 0.5 * full->creep_m, 1e-15, 0.0);
    assert_near(half->flinch_m, 0.5 * full->flinch_m, 1e-15, 0.0);
    assert_near(half->collapse_m, 0.5 * full->collapse_m, 1e-15, 0.0);
    assert_near(draw[1].finger.slide_share, 0.5 * draw[0].finger.slide_share, 1e-15, 0.0);
}

/* On the session's clock all times move along, no length does. */
static void test_shift(void **state)
{
    struct sh_session_draw draw;
    struct sh_truth at_zero;
    struct sh_truth later;
    make_draw(&draw, SH_ARCHER_FLINCH | SH_ARCHER_FINGER_SLIDE, true, 3);
    sh_session_draw_get_truth(&draw, &at_zero);
    draw.hand_s = 100.0;
    sh_session_draw_get_truth(&draw, &later);
    assert_near(later.draw_start_s - at_zero.draw_start_s, 100.0, 1e-9, 0.0);
    assert_near(later.full_draw_s - at_zero.full_draw_s, 100.0, 1e-9, 0.0);
    assert_near(later.clicker_contact_s - at_zero.clicker_contact_s, 100.0, 1e-9, 0.0);
    assert_near(later.clicker_blow_s - at_zero.clicker_blow_s, 100.0, 1e-9, 0.0);
    assert_near(later.clicker_sound_s - at_zero.clicker_sound_s, 100.0, 1e-9, 0.0);
    assert_near(later.release_s - at_zero.release_s, 100.0, 1e-9, 0.0);
    assert_near(later.flinch_s - at_zero.flinch_s, 100.0, 1e-9, 0.0);
    assert_near(later.finger_slide_s - at_zero.finger_slide_s, 100.0, 1e-9, 0.0);
    assert_near(later.hold_time_s, at_zero.hold_time_s, 1e-12, 0.0);
    assert_near(later.clicker_reaction_s, at_zero.clicker_reaction_s, 1e-9, 0.0);
}

/* Order of the clicker's signs, and what a draw without them says. */
static void test_clicker(void **state)
{
    struct sh_session_draw draw;
    struct sh_truth truth;
    for (uint64_t seed = 0; seed < N_DRAWS; seed++) {
        make_draw(&draw, 0, true, seed);
        sh_session_draw_get_truth(&draw, &truth);
        assert_true(truth.has_clicker);
        assert_true(truth.clicker_contact_s < truth.clicker_blow_s);
        assert_true(truth.clicker_blow_s < truth.clicker_sound_s);
        assert_true(truth.clicker_sound_s < truth.release_s);
        assert_near(truth.clicker_reaction_s, truth.release_s - truth.clicker_contact_s, 1e-12,
                    0.0);
    }
    make_draw(&draw, SH_ARCHER_EARLY_LOOSE, true, 1);
    sh_session_draw_get_truth(&draw, &truth);
    assert_false(truth.has_clicker);
    assert_near(truth.clicker_contact_s + truth.clicker_reaction_s, 0.0, 0.0, 0.0);
    make_draw(&draw, SH_ARCHER_EARLY_LOOSE | SH_ARCHER_FLINCH | SH_ARCHER_CREEP, false, 1);
    sh_session_draw_get_truth(&draw, &truth);
    assert_false(truth.has_clicker);
    assert_int_equal(truth.faults, SH_ARCHER_CREEP);
}

/* Shares of the hold sum to 1; a slide shows in the change, plain drift stays small. */
static void test_fingers(void **state)
{
    for (uint64_t seed = 0; seed < N_DRAWS; seed++) {
        struct sh_session_draw draw;
        struct sh_truth truth;
        make_draw(&draw, 0, true, seed);
        sh_session_draw_get_truth(&draw, &truth);
        assert_near(truth.finger_share[0] + truth.finger_share[1] + truth.finger_share[2], 1.0,
                    1e-9, 0.0);
        for (size_t i = 0; i < 3; i++) {
            assert_true(fabs(truth.finger_share_change[i]) <= 0.024);
            assert_near(truth.finger_share[i],
                        draw.finger.share[i] + 0.5 * draw.finger.share_drift[i], 0.01, 0.0);
            assert_true(fabs(truth.finger_release_s[i]) < 0.015);
        }
        assert_false(truth.has_finger_slide);
        make_draw(&draw, SH_ARCHER_FINGER_SLIDE, true, seed);
        sh_session_draw_get_truth(&draw, &truth);
        assert_true(truth.has_finger_slide);
        assert_true(truth.finger_share_change[2] <= -0.06);
        assert_true(truth.finger_slide_s > truth.full_draw_s);
    }
}

/* The fingers' impulses add up to the string's times their ratio, whose own is summed with
 * other steps here; no 20 ms mean is above the largest force, and the peak is near that of the
 * hold. */
static void test_loads(void **state)
{
    static const unsigned faults[] = {0u, SH_ARCHER_LET_DOWN, SH_ARCHER_FINGER_SLIDE};
    for (size_t f = 0; f < sizeof faults / sizeof faults[0]; f++) {
        struct sh_session_draw draw;
        struct sh_truth truth;
        make_draw(&draw, faults[f], true, 3);
        sh_session_draw_get_truth(&draw, &truth);
        const bool is_shot = truth.kind == SH_TRUTH_SHOT;
        const double until_s = is_shot ? truth.release_s : truth.let_down_s;
        const double length_s = until_s - truth.draw_start_s;
        double impulse_n_s = 0.0;
        double largest_n[3] = {0.0, 0.0, 0.0};
        double held_n[3] = {0.0, 0.0, 0.0};
        for (int i = 0; i <= 3333; i++) {
            const double t_s = truth.draw_start_s - draw.hand_s + length_s * i / 3333.0;
            const double weight = i == 0 || i == 3333 ? 0.5 : 1.0;
            double force_n[3];
            sh_finger_signal_get_force_n(&draw.finger, &draw.string, t_s, force_n);
            impulse_n_s += weight * sh_string_signal_get_force_n(&draw.string, t_s) * length_s /
                           3333.0 * truth.finger_sum_ratio;
            for (size_t k = 0; k < 3; k++) {
                largest_n[k] = fmax(largest_n[k], force_n[k]);
                held_n[k] = t_s < draw.string.plan.loose_s ? largest_n[k] : held_n[k];
            }
        }
        assert_near(truth.finger_impulse_n_s[0] + truth.finger_impulse_n_s[1] +
                        truth.finger_impulse_n_s[2],
                    impulse_n_s, 0.0, 1e-3);
        for (size_t k = 0; k < 3; k++) {
            assert_true(truth.finger_peak_n[k] <= largest_n[k]);
            assert_true(truth.finger_peak_n[k] > 0.98 * held_n[k]);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_faults), cmocka_unit_test(test_fault_size),
        cmocka_unit_test(test_shift),      cmocka_unit_test(test_clicker),
        cmocka_unit_test(test_fingers),    cmocka_unit_test(test_loads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
