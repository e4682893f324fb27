/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/finger_signal.h"

#include <math.h>
#include <stddef.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N_SHOTS 60u

struct shot {
    struct sh_string_signal string;
    struct sh_finger_signal finger;
};

static void make_shot(struct shot *shot, unsigned faults, uint64_t seed)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_bow_law law;
    struct sh_archer_plan plan;
    struct sh_random random;
    sh_random_init(&random, seed);
    sh_archer_plan_draw(&plan, faults, &random);
    assert_int_equal(sh_bow_law_init(&law, &config, NULL), SH_OK);
    sh_string_signal_init(&shot->string, &law, &plan);
    sh_finger_signal_draw(&shot->finger, &shot->string, &random);
}

/* The sum is 4 to 7 % above the string's force at any time until the string has left. */
static void test_sum(void **state)
{
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        make_shot(&shot, seed % 2 == 0 ? 0u : (unsigned)SH_ARCHER_FINGER_SLIDE, seed);
        const struct sh_archer_plan *plan = &shot.string.plan;
        const double gone_s = plan->loose_s + plan->drop_s;
        assert_true(shot.finger.excess_ratio >= 0.04 && shot.finger.excess_ratio <= 0.07);
        const int n = (int)((gone_s + 0.1) / 7e-4);
        for (int i = 0; i < n; i++) {
            const double t_s = -0.1 + 7e-4 * i;
            double force_n[3];
            sh_finger_signal_get_force_n(&shot.finger, &shot.string, t_s, force_n);
            const double string_n = sh_string_signal_get_force_n(&shot.string, t_s);
            assert_near(force_n[0] + force_n[1] + force_n[2],
                        string_n * (1.0 + shot.finger.excess_ratio), 1e-9, 0.0);
            assert_true(string_n <= 0.0 ||
                        fmin(force_n[0], fmin(force_n[1], force_n[2])) > 0.0);
        }
        double after_n[3];
        sh_finger_signal_get_force_n(&shot.finger, &shot.string, gone_s + 1e-9, after_n);
        assert_near(after_n[0] + after_n[1] + after_n[2], 0.0, 0.0, 0.0);
    }
}

/* Ring finger's share in the last 0.1 s less that in the first 0.5 s after the anchor. */
static double get_ring_change(const struct shot *shot)
{
    double first[3];
    double last[3];
    sh_finger_signal_get_share(&shot->finger, &shot->string, shot->string.plan.anchor_s + 0.5,
                               first);
    sh_finger_signal_get_share(&shot->finger, &shot->string, shot->string.plan.loose_s - 0.1,
                               last);
    assert_near(first[0] + first[1] + first[2], 1.0, 1e-12, 0.0);
    assert_near(last[0] + last[1] + last[2], 1.0, 1e-12, 0.0);
    return last[2] - first[2];
}

/* A slide is beyond the contract's 0.06, plain drift far inside. */
static void test_slide(void **state)
{
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        make_shot(&shot, 0, seed);
        assert_false(shot.finger.has_slide);
        assert_true(fabs(get_ring_change(&shot)) <= 0.024);
        make_shot(&shot, SH_ARCHER_FINGER_SLIDE, seed);
        assert_true(shot.finger.has_slide);
        assert_true(get_ring_change(&shot) < -0.066);
        assert_true(shot.finger.slide_begin_s >= shot.string.plan.anchor_s + 0.6);
        assert_true(shot.finger.slide_end_s <= shot.string.plan.loose_s - 0.15 + 1e-9);
        assert_true(shot.finger.slide_end_s - shot.finger.slide_begin_s > 0.1);
        make_shot(&shot, SH_ARCHER_FINGER_SLIDE | SH_ARCHER_LET_DOWN, seed);
        assert_true(get_ring_change(&shot) < -0.066);
        make_shot(&shot, SH_ARCHER_FINGER_SLIDE | SH_ARCHER_SHORT_HOLD, seed);
        assert_false(shot.finger.has_slide);
    }
}

/* One finger has half its force left at its release time. */
static void check_half(const struct shot *shot, const double release_s[3], size_t which)
{
    double at_loose_n[3];
    double now_n[3];
    const double string_s = sh_string_signal_get_release_s(&shot->string);
    sh_finger_signal_get_force_n(&shot->finger, &shot->string, shot->string.plan.loose_s,
                                 at_loose_n);
    sh_finger_signal_get_force_n(&shot->finger, &shot->string, string_s + release_s[which],
                                 now_n);
    assert_near(now_n[which], 0.5 * at_loose_n[which], 1e-6, 0.0);
}

/* The hastier, the sooner; the spread stays inside the string's own fall. */
static void test_release(void **state)
{
    double largest_spread_s = 0.0;
    for (uint64_t seed = 0; seed < N_SHOTS; seed++) {
        struct shot shot;
        double release_s[3];
        size_t first = 0;
        size_t last = 0;
        make_shot(&shot, 0, seed);
        sh_finger_signal_get_release_s(&shot.finger, &shot.string, release_s);
        for (size_t i = 0; i < 3; i++) {
            check_half(&shot, release_s, i);
            first = shot.finger.haste[i] > shot.finger.haste[first] ? i : first;
            last = shot.finger.haste[i] < shot.finger.haste[last] ? i : last;
        }
        const size_t middle = 3 - first - last;
        assert_true(release_s[first] < release_s[middle]);
        assert_true(release_s[middle] < release_s[last]);
        const double spread_s = release_s[last] - release_s[first];
        assert_true(spread_s > 2e-4 && spread_s < shot.string.plan.drop_s);
        largest_spread_s = fmax(largest_spread_s, spread_s);
    }
    assert_true(largest_spread_s > 0.003);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sum),
        cmocka_unit_test(test_slide),
        cmocka_unit_test(test_release),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
