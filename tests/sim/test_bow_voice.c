/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/bow_voice.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_VOICES 300u

static void check_modes(const struct sh_bow_voice *voice, size_t blow)
{
    assert_true(voice->n_modes[blow] >= 1 && voice->n_modes[blow] <= SH_BOW_VOICE_MODES_MAX);
    for (size_t m = 0; m < voice->n_modes[blow]; m++) {
        const struct sh_bow_mode *mode = &voice->mode[blow][m];
        assert_true(mode->damping >= 0.02 && mode->damping <= 0.15);
        assert_true(sh_bow_voice_get_envelope_m_s2(mode, 0.0) >= 4.0 - 1e-9);
        assert_true(blow != SH_BOW_BLOW_CLICKER || (mode->hz >= 300.0 && mode->hz <= 900.0));
    }
}

/* The clicker lies in 300 to 900 Hz, every mode is damped and moves, lags are in their range.
 */
static void test_ranges(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 1);
    for (unsigned i = 0; i < N_VOICES; i++) {
        struct sh_bow_voice voice;
        sh_bow_voice_draw(&voice, &random);
        for (size_t blow = 0; blow < SH_BOW_BLOWS; blow++) {
            check_modes(&voice, blow);
        }
        assert_true(voice.blow_lag_s >= 0.002 && voice.blow_lag_s <= 0.005);
        assert_true(voice.shock_lag_s >= 0.013 && voice.shock_lag_s <= 0.017);
    }
}

static void check_stands_out(const struct sh_bow_voice *voice, const struct sh_bow_mode *best)
{
    const double strongest = sh_bow_voice_get_envelope_m_s2(best, 0.02);
    for (size_t m = 0; m < voice->n_modes[SH_BOW_BLOW_RING]; m++) {
        const struct sh_bow_mode *mode = &voice->mode[SH_BOW_BLOW_RING][m];
        assert_true(mode == best ||
                    strongest >= 1.3 * sh_bow_voice_get_envelope_m_s2(mode, 0.02));
    }
}

/* One mode stands out 20 ms after the shock, and it is not always of the same band. */
static void test_ring(void **state)
{
    struct sh_random random;
    unsigned n_low = 0;
    sh_random_init(&random, 2);
    for (unsigned i = 0; i < N_VOICES; i++) {
        struct sh_bow_voice voice;
        sh_bow_voice_draw(&voice, &random);
        const struct sh_bow_mode *best = sh_bow_voice_get_ring(&voice);
        check_stands_out(&voice, best);
        n_low += best->hz < 60.0 ? 1u : 0u;
    }
    assert_true(n_low > N_VOICES / 10 && n_low < N_VOICES);
}

static void test_envelope(void **state)
{
    const struct sh_bow_mode mode = {40.0, 0.03, {3.0, 0.0, 4.0}};
    assert_near(sh_bow_voice_get_envelope_m_s2(&mode, 0.0), 5.0, 0.0, 1e-15);
    const double decay_per_s = 2.0 * SH_PI * 40.0 * 0.03;
    assert_near(sh_bow_voice_get_envelope_m_s2(&mode, 1.0 / decay_per_s), 5.0 / exp(1.0), 0.0,
                1e-12);
    struct sh_bow_voice voice = {0};
    voice.n_modes[SH_BOW_BLOW_KNOCK] = 1;
    voice.mode[SH_BOW_BLOW_KNOCK][0] = mode;
    const double length_s = sh_bow_voice_get_length_s(&voice, SH_BOW_BLOW_KNOCK);
    assert_near(sh_bow_voice_get_envelope_m_s2(&mode, length_s), 5e-4, 0.0, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ranges),
        cmocka_unit_test(test_ring),
        cmocka_unit_test(test_envelope),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
