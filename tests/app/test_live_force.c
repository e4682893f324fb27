/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "app/live_force.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 200.0

/* Rest at an offset, a draw of some seconds, gone at once. */
static double get_pull(double t_s)
{
    return t_s < 2.0 ? 0.0 : t_s < 3.0 ? t_s - 2.0 : t_s < 6.0 ? 1.0 : 0.0;
}

static struct sh_session *open_session(bool has_string)
{
    static const enum sh_finger fingers[] = {SH_FINGER_INDEX, SH_FINGER_MIDDLE, SH_FINGER_RING};
    struct sh_session *session = calloc(1, sizeof *session);
    assert_non_null(session);
    session->n_streams = has_string ? 2 : 1;
    struct sh_stream *stream = &session->streams[0].stream;
    stream->rate_hz = RATE_HZ;
    stream->n_channels = 3;
    for (size_t i = 0; i < 3; i++) {
        stream->channel[i] =
            (struct sh_channel){.role = SH_ROLE_FINGER_FORCE, .finger = fingers[i]};
    }
    session->streams[1].stream = (struct sh_stream){
        .rate_hz = RATE_HZ, .n_channels = 1, .channel = {{.role = SH_ROLE_STRING_FORCE}}};
    return session;
}

static void run(bool has_string)
{
    struct sh_session *session = open_session(has_string);
    struct sh_live_force *force = calloc(1, sizeof *force);
    struct sh_release_watch_event event;
    const struct sh_quantity measured_n = sh_quantity_known(55.0, 0.1);
    const struct sh_quantity unknown_n = sh_quantity_unknown(SH_WHY_TOO_SHORT);
    unsigned n_released = 0;
    assert_non_null(force);
    sh_live_force_init(force, session);
    assert_true(force->is_present);
    assert_int_equal(force->stream, has_string ? 1 : 0);
    assert_int_equal(force->n_channels, has_string ? 1 : 3);
    assert_false(sh_live_force_has_fingers(force));
    for (uint64_t frame = 0; frame < (uint64_t)(7.0 * RATE_HZ); frame++) {
        const double pull = get_pull((double)frame / RATE_HZ);
        const double finger[3] = {5.0 + 60.0 * pull, -3.0 + 70.0 * pull, 40.0 * pull};
        const double string = 10.0 + 165.0 * pull;
        n_released += sh_live_force_push(force, 0, frame, finger, false, &event);
        if (has_string) {
            n_released += sh_live_force_push(force, 1, frame, &string, false, &event);
        }
        if (frame == (uint64_t)(5.0 * RATE_HZ)) {
            assert_near(force->finger[0].force_n, 60.0, 1.0, 0.0);
            assert_near(force->finger[1].force_n, 70.0, 1.0, 0.0);
            assert_near(force->finger[2].force_n, 40.0, 1.0, 0.0);
            sh_live_force_set_peak(force, 0, &measured_n); /* of the draw before this one */
        }
    }
    assert_int_equal(n_released, 1);
    assert_near(event.release_frame, 6.0 * RATE_HZ, 1.0, 0.0);
    assert_near(force->finger[0].force_n, 0.0, 1.0, 0.0);
    assert_near(force->finger[0].peak_n, 60.0, 1.0, 0.0); /* of the last draw */
    assert_near(force->finger[1].peak_n, 70.0, 1.0, 0.0);
    sh_live_force_set_peak(force, 0, &measured_n);
    sh_live_force_set_peak(force, 1, &unknown_n);
    assert_near(force->finger[0].peak_n, 55.0, 0.0, 0.0);
    assert_near(force->finger[1].peak_n, 70.0, 1.0, 0.0);
    free(force);
    free(session);
}

static void test_string_and_fingers(void **state)
{
    run(true);
}

static void test_fingers_stand_in(void **state)
{
    run(false);
}

static void test_no_force(void **state)
{
    struct sh_session *session = open_session(false);
    struct sh_live_force *force = calloc(1, sizeof *force);
    struct sh_release_watch_event event;
    const double value[3] = {1.0, 2.0, 3.0};
    assert_non_null(force);
    for (size_t i = 0; i < 3; i++) {
        session->streams[0].stream.channel[i] =
            (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION};
    }
    sh_live_force_init(force, session);
    assert_false(force->is_present);
    assert_false(sh_live_force_push(force, 0, 0, value, false, &event));
    assert_false(sh_live_force_has_fingers(force));
    free(force);
    free(session);
}

static void test_threshold_follows_the_bow(void **state)
{
    struct sh_session *session = open_session(true);
    struct sh_live_force *force = calloc(1, sizeof *force);
    assert_non_null(force);
    sh_live_force_init(force, session);
    assert_near(force->threshold_n, 20.0, 0.0, 1e-12);
    session->bow.draw_weight_n = sh_quantity_known(178.0, 0.0);
    sh_live_force_init(force, session);
    assert_near(force->threshold_n, 62.3, 0.0, 1e-12);
    free(force);
    free(session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_string_and_fingers), cmocka_unit_test(test_fingers_stand_in),
        cmocka_unit_test(test_no_force), cmocka_unit_test(test_threshold_follows_the_bow)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
