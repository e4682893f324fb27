/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/bow_signal.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_SHOTS 40u

struct shot {
    struct sh_string_signal string;
    struct sh_bow_signal bow;
};

static void make_voice(struct sh_bow_voice *voice, uint64_t seed)
{
    struct sh_random random;
    sh_random_init(&random, seed);
    sh_bow_voice_draw(voice, &random);
}

static void make_shot(struct shot *shot, unsigned faults, bool has_strip, uint64_t seed)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_bow_law law;
    struct sh_archer_plan plan;
    struct sh_bow_voice voice;
    struct sh_random random;
    make_voice(&voice, 77);
    sh_random_init(&random, seed);
    sh_archer_plan_draw(&plan, faults, &random);
    plan.has_clicker = plan.has_clicker && has_strip;
    assert_int_equal(sh_bow_law_init(&law, &config, NULL), SH_OK);
    sh_string_signal_init(&shot->string, &law, &plan);
    sh_bow_signal_draw(&shot->bow, &voice, &shot->string, has_strip, &random);
}

static double get_length(const double a[3])
{
    return sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2]);
}

/* Difference of the acceleration from that of the same shot without the events of a kind. */
static double
get_part_m_s2(const struct sh_bow_signal *signal, enum sh_bow_blow blow, double t_s)
{
    struct sh_bow_signal without = *signal;
    double with_m_s2[3];
    double without_m_s2[3];
    without.n_events = 0;
    for (size_t i = 0; i < signal->n_events; i++) {
        if (signal->event[i].blow != blow) {
            without.event[without.n_events++] = signal->event[i];
        }
    }
    sh_bow_signal_get_acceleration_m_s2(signal, t_s, with_m_s2);
    sh_bow_signal_get_acceleration_m_s2(&without, t_s, without_m_s2);
    for (size_t i = 0; i < 3; i++) {
        with_m_s2[i] -= without_m_s2[i];
    }
    return get_length(with_m_s2);
}

/* At both ends of the span the bow hangs as between shots, and feels one g. */
static void test_rest(void **state)
{
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        double rest[3];
        double got[3];
        make_shot(&shot, seed % 3 == 0 ? (unsigned)SH_ARCHER_LET_DOWN : 0u, true, seed);
        sh_bow_signal_get_rest_m_s2(&shot.bow.voice, rest);
        assert_near(get_length(rest), SH_UNITS_G0_M_S2, 0.0, 1e-12);
        sh_bow_signal_get_acceleration_m_s2(&shot.bow, shot.bow.begin_s, got);
        for (size_t i = 0; i < 3; i++) {
            assert_near(got[i], rest[i], 1e-9, 0.0);
        }
        sh_bow_signal_get_acceleration_m_s2(&shot.bow, shot.bow.end_s, got);
        for (size_t i = 0; i < 3; i++) {
            assert_near(got[i], rest[i], 1e-9, 0.0);
        }
        assert_true(shot.bow.begin_s > -5.0);
        assert_true(shot.bow.end_s < shot.bow.release_s + 5.0);
    }
}

/* The rms of the vertical acceleration off gravity, from the anchor to the clicker. */
static double get_hold_rms_m_s2(const struct sh_bow_signal *bow)
{
    const int n = (int)((bow->strip_off_s - bow->anchor_s) / 0.005);
    double square_sum = 0.0;
    for (int i = 0; i < n; i++) {
        double a[3];
        sh_bow_signal_get_acceleration_m_s2(bow, bow->anchor_s + 0.005 * i, a);
        const double off =
            a[2] - SH_UNITS_G0_M_S2 * cos(bow->voice.held_pitch_rad) * cos(bow->voice.cant_rad);
        square_sum += off * off;
    }
    return sqrt(square_sum / n);
}

/* In the hold: gravity at full draw, and no more than the tremor on top. */
static void test_hold(void **state)
{
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        make_shot(&shot, 0, true, seed);
        const double rms_m_s2 = get_hold_rms_m_s2(&shot.bow);
        assert_true(rms_m_s2 > 0.01 && rms_m_s2 < 0.8);
    }
}

/* The blow begins some ms after the contact opens, not before, and dies down. */
static void test_blow(void **state)
{
    double first_gain = 0.0;
    double spread = 0.0;
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        make_shot(&shot, 0, true, seed);
        const struct sh_bow_signal *bow = &shot.bow;
        assert_true(bow->has_blow);
        assert_near(bow->strip_off_s, shot.string.plan.expansion_end_s, 0.0, 0.0);
        const double lag_s = bow->blow_s - bow->strip_off_s;
        assert_near(lag_s, bow->voice.blow_lag_s, 0.0, 0.15);
        assert_near(get_part_m_s2(bow, SH_BOW_BLOW_CLICKER, bow->blow_s - 1e-6), 0.0, 1e-12,
                    0.0);
        double peak_m_s2 = 0.0;
        for (int i = 0; i < 1000; i++) {
            const double t_s = bow->blow_s + 1e-5 * i;
            peak_m_s2 = fmax(peak_m_s2, get_part_m_s2(bow, SH_BOW_BLOW_CLICKER, t_s));
        }
        assert_true(peak_m_s2 > 5.0 && peak_m_s2 < 80.0);
        assert_true(get_part_m_s2(bow, SH_BOW_BLOW_CLICKER, bow->blow_s + 0.25) < 0.01);
        first_gain = seed == 0 ? peak_m_s2 : first_gain;
        spread = fmax(spread, fabs(peak_m_s2 / first_gain - 1.0));
    }
    assert_true(spread > 0.01 && spread < 0.35); /* 5 % from shot to shot */
}

/* Contact: closed from the setting of the strip to the clicker, else to the arrow's going. */
static void test_contact(void **state)
{
    struct shot shot;
    make_shot(&shot, 0, true, 3);
    assert_false(sh_bow_signal_has_contact(&shot.bow, shot.bow.strip_on_s - 1e-6));
    assert_true(sh_bow_signal_has_contact(&shot.bow, shot.bow.strip_on_s));
    assert_true(shot.bow.strip_on_s < 0.0);
    const double clicker_s = shot.string.plan.expansion_end_s;
    assert_true(sh_bow_signal_has_contact(&shot.bow, clicker_s - 1e-6));
    assert_false(sh_bow_signal_has_contact(&shot.bow, clicker_s));

    make_shot(&shot, SH_ARCHER_EARLY_LOOSE, true, 4);
    assert_false(shot.bow.has_blow);
    assert_true(sh_bow_signal_has_contact(&shot.bow, shot.bow.release_s));
    assert_true(shot.bow.strip_off_s < shot.bow.shock_s);

    make_shot(&shot, SH_ARCHER_LET_DOWN, true, 5);
    assert_false(shot.bow.has_blow);
    const double down_s = shot.string.plan.loose_s + shot.string.plan.let_down_s;
    assert_true(sh_bow_signal_has_contact(&shot.bow, down_s));
    assert_false(sh_bow_signal_has_contact(&shot.bow, shot.bow.end_s));

    make_shot(&shot, 0, false, 6);
    assert_false(sh_bow_signal_has_contact(&shot.bow, shot.bow.strip_on_s + 1e-6));
    assert_near(get_part_m_s2(&shot.bow, SH_BOW_BLOW_CLICKER, shot.bow.anchor_s), 0.0, 0.0,
                0.0);
}

/* The largest acceleration within half a second of the release, and when it was. */
static double find_peak_m_s2(const struct sh_bow_signal *bow, double *peak_s)
{
    double peak_m_s2 = 0.0;
    for (int i = -10000; i < 10000; i++) {
        double a[3];
        const double t_s = bow->release_s + 5e-5 * i;
        sh_bow_signal_get_acceleration_m_s2(bow, t_s, a);
        if (get_length(a) > peak_m_s2) {
            peak_m_s2 = get_length(a);
            *peak_s = t_s;
        }
    }
    return peak_m_s2;
}

/* Nothing of the release before release_s; the largest acceleration within 25 ms after it. */
static void test_shock(void **state)
{
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        double peak_s = 0.0;
        make_shot(&shot, 0, true, seed);
        const struct sh_bow_signal *bow = &shot.bow;
        assert_near(bow->release_s, sh_string_signal_get_release_s(&shot.string), 0.0, 0.0);
        const double peak_m_s2 = find_peak_m_s2(bow, &peak_s);
        assert_true(peak_m_s2 > 200.0 && peak_m_s2 < 1200.0);
        assert_true(peak_s > bow->release_s + 0.012 && peak_s < bow->release_s + 0.025);
        assert_near(get_part_m_s2(bow, SH_BOW_BLOW_STRING_OFF, bow->release_s - 1e-6), 0.0,
                    1e-12, 0.0);
        assert_true(get_part_m_s2(bow, SH_BOW_BLOW_STRING_OFF, bow->release_s + 5e-4) > 1.0);
    }
}

/* The ring-down alone decays as its mode says: 1 / e in 1 / (2 pi f d) at the same phase. */
static void test_ring(void **state)
{
    struct shot shot;
    make_shot(&shot, 0, true, 9);
    struct sh_bow_signal *bow = &shot.bow;
    const struct sh_bow_mode mode = *sh_bow_voice_get_ring(&bow->voice);
    bow->voice.n_modes[SH_BOW_BLOW_RING] = 1;
    bow->voice.mode[SH_BOW_BLOW_RING][0] = mode;
    const double period_s = 1.0 / (mode.hz * sqrt(1.0 - mode.damping * mode.damping));
    const double t_s = bow->shock_s + 0.02;
    const double now_m_s2 = get_part_m_s2(bow, SH_BOW_BLOW_RING, t_s);
    const double later_m_s2 = get_part_m_s2(bow, SH_BOW_BLOW_RING, t_s + period_s);
    assert_near(later_m_s2 / now_m_s2, exp(-2.0 * SH_PI * mode.hz * mode.damping * period_s),
                1e-9, 0.0);
}

/* The microphone hears the blow late, and others' clickers, which the riser does not feel. */
static void test_sound(void **state)
{
    struct shot shot;
    make_shot(&shot, 0, true, 10);
    struct sh_bow_signal *bow = &shot.bow;
    const double heard_s = bow->blow_s + bow->voice.sound_lag_s;
    bow->event[0] =
        (struct sh_bow_event){SH_BOW_BLOW_CLICKER, bow->blow_s, bow->blow_s + 0.2, 1.0, 1.0};
    bow->n_events = 1;
    assert_near(sh_bow_signal_get_sound_pa(bow, heard_s - 1e-6), 0.0, 1e-15, 0.0);
    assert_true(fabs(sh_bow_signal_get_sound_pa(bow, heard_s + 4e-4)) > 0.01);
    bow->event[0].blow = SH_BOW_BLOW_NEIGHBOUR;
    assert_true(fabs(sh_bow_signal_get_sound_pa(bow, heard_s + 4e-4)) > 0.001);
    assert_near(get_part_m_s2(bow, SH_BOW_BLOW_NEIGHBOUR, bow->blow_s + 4e-4), 0.0, 0.0, 0.0);
}

/* The same seed gives the same shot, another seed another. */
static void test_seed(void **state)
{
    struct shot a;
    struct shot b;
    double from_a[3];
    double from_b[3];
    make_shot(&a, 0, true, 11);
    make_shot(&b, 0, true, 11);
    sh_bow_signal_get_acceleration_m_s2(&a.bow, a.bow.release_s + 0.02, from_a);
    sh_bow_signal_get_acceleration_m_s2(&b.bow, a.bow.release_s + 0.02, from_b);
    for (size_t i = 0; i < 3; i++) {
        assert_near(from_a[i], from_b[i], 0.0, 0.0);
    }
    make_shot(&b, 0, true, 12);
    sh_bow_signal_get_acceleration_m_s2(&b.bow, b.bow.release_s + 0.02, from_b);
    assert_true(fabs(from_a[0] - from_b[0]) > 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rest),  cmocka_unit_test(test_hold),
        cmocka_unit_test(test_blow),  cmocka_unit_test(test_contact),
        cmocka_unit_test(test_shock), cmocka_unit_test(test_ring),
        cmocka_unit_test(test_sound), cmocka_unit_test(test_seed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
