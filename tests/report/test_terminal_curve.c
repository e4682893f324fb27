/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_curve.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define FRAMES 2000u
#define RATE   1000.0

/* Two seconds from 10 s on: a string's force, a finger, three axes. */
struct scene {
    struct sh_stream stream;
    double time_s[FRAMES];
    double value[5][FRAMES];
    unsigned char flags[FRAMES];
    struct sh_shot_view view;
};

static int make_scene(void **state)
{
    static const struct sh_channel channels[5] = {
        {.role = SH_ROLE_STRING_FORCE, .delay_s = 0.01},
        {.role = SH_ROLE_FINGER_FORCE, .finger = SH_FINGER_RING, .delay_s = 0.02},
        {.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_X},
        {.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_Y},
        {.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_Z}};
    static struct scene scene;
    scene = (struct scene){.stream = {.rate_hz = RATE, .n_channels = 5}};
    for (size_t c = 0; c < 5; c++) {
        scene.stream.channel[c] = channels[c];
    }
    for (size_t i = 0; i < FRAMES; i++) {
        scene.time_s[i] = 10.0 + (double)i / RATE;
        scene.value[0][i] = (double)i;
        scene.value[1][i] = 25.0;
        scene.value[2][i] = i < 1000 ? 0.0 : 3.0;
        scene.value[3][i] = i < 1000 ? 0.5 : 4.5;
        scene.value[4][i] = 9.8;
    }
    scene.view = (struct sh_shot_view){.n_streams = 1};
    struct sh_shot_stream *stream = &scene.view.stream[0];
    stream->stream = &scene.stream;
    stream->n_frames = FRAMES;
    stream->time_s = scene.time_s;
    stream->flags = scene.flags;
    for (size_t c = 0; c < 5; c++) {
        stream->value[c] = scene.value[c];
    }
    stream->rest_n[1] = sh_quantity_known(5.0, 0.1);
    scene.view.force = (struct sh_shot_force){
        .is_present = true, .n_frames = FRAMES, .net_n = scene.value[0], .delay_s = 0.01};
    *state = &scene;
    return 0;
}

static void test_every_piece_has_its_ends(void **state)
{
    struct scene *scene = *state;
    static struct sh_terminal_curve curve;
    const struct sh_terminal_source source = sh_terminal_source_get_force(&scene->view);
    sh_terminal_curve_fill(&curve, &source, 10.0, 11.9);
    assert_int_equal(curve.n, 2 * SH_TERMINAL_CURVE_PIECES);
    assert_near(curve.x[0], 10.0, 1e-9, 0.0); /* sample 10: the delay is taken off */
    assert_near(curve.y[0], 10.0, 1e-9, 0.0);
    assert_near(curve.y[curve.n - 1], 1909.0, 1e-9, 0.0);
    for (size_t i = 1; i < curve.n; i++) {
        assert_true(curve.x[i] > curve.x[i - 1]);
    }
}

/* A peak of one sample between others is not missed, and stands at its time. */
static void test_a_peak_is_kept(void **state)
{
    struct scene *scene = *state;
    static struct sh_terminal_curve curve;
    double range[2];
    scene->value[0][777] = -500.0;
    const struct sh_terminal_source source = sh_terminal_source_get_force(&scene->view);
    sh_terminal_curve_fill(&curve, &source, 9.0, 30.0);
    assert_true(curve.n <= 2 * SH_TERMINAL_CURVE_PIECES);
    assert_true(sh_terminal_curve_find_range(&curve, 10.7669, 10.7671, range));
    assert_near(range[0], -500.0, 0.0, 0.0);
    assert_true(sh_terminal_curve_find_range(&curve, 9.0, 30.0, range));
    assert_near(range[0], -500.0, 0.0, 0.0);
    assert_near(range[1], 1999.0, 0.0, 0.0);
}

static void test_lost_samples_leave_a_gap(void **state)
{
    struct scene *scene = *state;
    static struct sh_terminal_curve curve;
    size_t n_gaps = 0;
    for (size_t i = 500; i < 700; i++) {
        scene->flags[i] = SH_SHOT_FLAG_FILLED;
    }
    const struct sh_terminal_source source = sh_terminal_source_get_force(&scene->view);
    sh_terminal_curve_fill(&curve, &source, 10.0, 12.0);
    for (size_t i = 0; i < curve.n; i++) {
        n_gaps += isnan(curve.y[i]) ? 1 : 0;
        assert_false(curve.x[i] > 10.4895 && curve.x[i] < 10.6895);
    }
    assert_int_equal(n_gaps, 1);
}

static void test_fingers_less_their_rest(void **state)
{
    struct scene *scene = *state;
    static struct sh_terminal_curve curve;
    double mean = 0.0;
    const struct sh_terminal_source ring =
        sh_terminal_source_get_finger(&scene->view, SH_FINGER_RING);
    const struct sh_terminal_source index =
        sh_terminal_source_get_finger(&scene->view, SH_FINGER_INDEX);
    sh_terminal_curve_fill(&curve, &ring, 10.0, 12.0);
    assert_near(curve.y[0], 20.0, 1e-12, 0.0);
    assert_near(curve.x[0], 10.0, 1e-9, 0.0);
    assert_true(sh_terminal_source_find_mean(&ring, 10.0, 11.0, &mean));
    assert_near(mean, 20.0, 1e-12, 0.0);
    assert_null(index.stream);
    sh_terminal_curve_fill(&curve, &index, 10.0, 12.0);
    assert_int_equal(curve.n, 0);
    assert_false(sh_terminal_source_find_mean(&index, 10.0, 11.0, &mean));
}

static void test_other_channels(void **state)
{
    struct scene *scene = *state;
    const struct sh_terminal_source string =
        sh_terminal_source_get_channel(&scene->view, SH_ROLE_STRING_FORCE);
    const struct sh_terminal_source sound =
        sh_terminal_source_get_channel(&scene->view, SH_ROLE_SOUND);
    assert_ptr_equal(string.value[0], scene->value[0]);
    assert_int_equal(string.n_parts, 1);
    assert_near(string.delay_s, 0.01, 0.0, 0.0);
    assert_null(sound.stream);
}

/* Gravity off, the axes together: 3, 4, 0. */
static void test_acceleration(void **state)
{
    struct scene *scene = *state;
    static struct sh_terminal_curve curve;
    double range[2];
    const struct sh_terminal_source source =
        sh_terminal_source_get_acceleration(&scene->view, 10.0, 10.9);
    assert_int_equal(source.n_parts, 3);
    sh_terminal_curve_fill(&curve, &source, 10.0, 12.0);
    assert_true(sh_terminal_curve_find_range(&curve, 10.0, 10.99, range));
    assert_near(range[1], 0.0, 1e-9, 0.0);
    assert_true(sh_terminal_curve_find_range(&curve, 11.01, 12.0, range));
    assert_near(range[0], 5.0, 1e-9, 0.0);
    assert_near(range[1], 5.0, 1e-9, 0.0);
}

static void test_range_and_cut(void **state)
{
    struct sh_terminal_curve curve = {.n = 4, .x = {0, 1, 2, 3}, .y = {9, 5, 1, 7}};
    double range[2] = {-1.0, -1.0};
    assert_false(sh_terminal_curve_find_range(&curve, 3.5, 9.0, range));
    assert_near(range[0], -1.0, 0.0, 0.0);
    assert_true(sh_terminal_curve_find_range(&curve, 1.0, 2.0, range)); /* 2 is not in it */
    assert_near(range[0], 5.0, 0.0, 0.0);
    assert_near(range[1], 5.0, 0.0, 0.0);
    const double limits[2] = {2.0, 6.0};
    sh_terminal_curve_cut(&curve, 1.0, limits); /* 9 comes before */
    assert_int_equal(curve.n, 3);
    assert_near(curve.y[0], 9.0, 0.0, 0.0);
    assert_near(curve.y[2], 2.0, 0.0, 0.0);
    sh_terminal_curve_cut(&curve, 1.0, limits);
    assert_int_equal(curve.n, 3);
    sh_terminal_curve_cut(&curve, 0.0, limits);
    assert_int_equal(curve.n, 1);
    assert_near(curve.y[0], 6.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_every_piece_has_its_ends, make_scene),
        cmocka_unit_test_setup(test_a_peak_is_kept, make_scene),
        cmocka_unit_test_setup(test_lost_samples_leave_a_gap, make_scene),
        cmocka_unit_test_setup(test_fingers_less_their_rest, make_scene),
        cmocka_unit_test_setup(test_other_channels, make_scene),
        cmocka_unit_test_setup(test_acceleration, make_scene),
        cmocka_unit_test(test_range_and_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
