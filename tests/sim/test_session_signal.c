/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/session_signal.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define ALL_PARTS 31u

static struct sh_session_plan *open_plan(void)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = 3;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    return plan;
}

/* Each part is that of the draw's own signal on its own clock. */
static void test_parts(void **state)
{
    struct sh_session_plan *plan = open_plan();
    const struct sh_session_draw *draw = &plan->draw[1];
    const struct sh_archer_plan *archer = &draw->string.plan;
    const double draw_t_s = archer->expansion_end_s - 0.3;
    const double t_s = draw->hand_s + draw_t_s;
    struct sh_session_sample sample = {0};
    double finger_n[3];
    double bow_m_s2[3];
    assert_ptr_equal(sh_session_plan_find_draw(plan, t_s), draw);
    sh_session_signal_add(plan, draw, t_s, ALL_PARTS, &sample);
    assert_true(sample.string_n > 150.0);
    assert_near(sample.string_n, sh_string_signal_get_force_n(&draw->string, draw_t_s), 1e-9,
                0.0);
    sh_finger_signal_get_force_n(&draw->finger, &draw->string, draw_t_s, finger_n);
    sh_bow_signal_get_acceleration_m_s2(&draw->bow, draw_t_s, bow_m_s2);
    for (size_t i = 0; i < 3; i++) {
        assert_near(sample.finger_n[i], finger_n[i], 1e-9, 0.0);
        assert_near(sample.acceleration_m_s2[i], bow_m_s2[i], 1e-9, 0.0);
    }
    assert_near(sample.contact, 1.0, 0.0, 0.0);
    const double heard_s = draw->hand_s + draw->bow.blow_s + draw->bow.voice.sound_lag_s + 4e-4;
    sh_session_signal_add(plan, draw, heard_s, SH_SESSION_PART_SOUND, &sample);
    assert_near(sample.sound_pa,
                sh_bow_signal_get_sound_pa(&draw->bow, draw_t_s) +
                    sh_bow_signal_get_sound_pa(&draw->bow, heard_s - draw->hand_s),
                1e-9, 0.0);
    sh_session_plan_close(&plan);
}

/* Twice adds twice; what is not wanted stays untouched. */
static void test_adds(void **state)
{
    struct sh_session_plan *plan = open_plan();
    const struct sh_session_draw *draw = &plan->draw[0];
    const double t_s = plan->truth[0].full_draw_s + 0.5;
    struct sh_session_sample once = {0};
    struct sh_session_sample twice = {0};
    sh_session_signal_add(plan, draw, t_s, SH_SESSION_PART_STRING, &once);
    sh_session_signal_add(plan, draw, t_s, SH_SESSION_PART_STRING, &twice);
    sh_session_signal_add(plan, draw, t_s, SH_SESSION_PART_STRING, &twice);
    assert_near(twice.string_n, 2.0 * once.string_n, 0.0, 1e-15);
    once.string_n = 0.0;
    assert_memory_equal(&once, &(struct sh_session_sample){0}, sizeof once);
    sh_session_plan_close(&plan);
}

/* Between draws there is gravity and nothing else. */
static void test_rest(void **state)
{
    struct sh_session_plan *plan = open_plan();
    struct sh_session_sample sample = {0};
    double rest_m_s2[3];
    assert_null(sh_session_plan_find_draw(plan, 0.5));
    sh_session_signal_add(plan, NULL, 0.5, ALL_PARTS, &sample);
    sh_bow_signal_get_rest_m_s2(&plan->archer.voice, rest_m_s2);
    assert_memory_equal(sample.acceleration_m_s2, rest_m_s2, sizeof rest_m_s2);
    memset(sample.acceleration_m_s2, 0, sizeof sample.acceleration_m_s2);
    assert_memory_equal(&sample, &(struct sh_session_sample){0}, sizeof sample);
    sh_session_plan_close(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_parts),
        cmocka_unit_test(test_adds),
        cmocka_unit_test(test_rest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
