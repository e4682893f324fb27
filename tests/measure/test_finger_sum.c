/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_sum.h"

#include <math.h>

#include "measure/made.h"
#include "measure/made_fingers.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The string: the fingers' sum over 1.05, a little noise stated. */
static double get_string(const void *context, double t_s, size_t k)
{
    double sum_n = 0.0;
    for (size_t i = 0; i < 3; i++) {
        sum_n += made_fingers_get(context, t_s, i);
    }
    return sum_n / 1.05;
}

static struct made_config make_config(const struct made_fingers *fingers)
{
    return (struct made_config){.rate_hz = 500.0,
                                .force = {get_string, fingers},
                                .finger = {made_fingers_get, fingers},
                                .finger_rest_n = 2.5};
}

static struct sh_quantity measure(struct made *made)
{
    struct sh_measures measures = {.quantity = {{0}}};
    struct sh_finger_net net;
    sh_finger_net_find(&made->scene, &net);
    sh_finger_sum_measure(&made->scene, &net, &measures);
    return measures.finger_sum_ratio;
}

/* A slide changes no sum: means add up, as medians would not. */
static void test_ratio(void **state)
{
    struct made_fingers fingers = made_fingers_default();
    fingers.slide_n = 20.0;
    fingers.slide_s[0] = 5.5;
    fingers.slide_s[1] = 7.0;
    const struct made_config config = make_config(&fingers);
    struct made made;
    made_open(&made, &config);
    const struct sh_quantity ratio = measure(&made);
    assert_int_equal(ratio.why, SH_WHY_KNOWN);
    assert_near(ratio.value, 1.05, 1e-3, 0.0);
    assert_true(ratio.u > 0.0 && ratio.u < 1e-3);
    made_close(&made);
}

/* What differs between shots counts, what a session has in common does not. */
static void test_uncertainty(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    const struct made_config config = make_config(&fingers);
    struct made made;
    made_open(&made, &config);
    const struct sh_quantity plain = measure(&made);
    struct sh_channel *ring = &made.stream[0].channel[3];
    assert_int_equal(ring->finger, SH_FINGER_RING);
    ring->scale_u = 0.05 * ring->scale;
    assert_near(measure(&made).u, plain.u, 0.0, 1e-9);
    ring->load_drift_ratio = 0.1;
    ring->load_drift_time_s = 0.01; /* all of it has come */
    const double drift_u = 0.1 * 0.1 * 50.0 / (180.0 / 1.05);
    assert_near(measure(&made).u, hypot(plain.u, drift_u), 0.0, 1e-3);
    made_close(&made);
}

static void test_reasons(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made_config config = make_config(&fingers);
    struct made made;
    config.force.get = NULL; /* the fingers' sum stands in for the string's force */
    made_open(&made, &config);
    assert_int_equal(measure(&made).why, SH_WHY_NO_CHANNEL);
    made_close(&made);
    config = make_config(&fingers);
    config.finger.get = NULL;
    made_open(&made, &config);
    assert_int_equal(measure(&made).why, SH_WHY_NO_CHANNEL);
    made_close(&made);
    config = make_config(&fingers);
    made_open(&made, &config);
    made.shot.kind = SH_SHOT_LET_DOWN;
    assert_true(measure(&made).why != SH_WHY_KNOWN);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ratio),
        cmocka_unit_test(test_uncertainty),
        cmocka_unit_test(test_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
