/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/wave.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define CHANNELS 3u
#define FRAMES   6000u

/* Two streams: one of two channels at 400 Hz, one of one at 1300 Hz, with lost pieces. */
struct course {
    size_t first_channel;
    size_t n_channels;
    double start_s;
    double step_s;
    double value[FRAMES * 2u];
    bool is_lost[FRAMES];
};

static struct course courses[2];

static int make_courses(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 20260514);
    const double rate_hz[2] = {400.0, 1300.0};
    for (size_t s = 0; s < 2; s++) {
        struct course *course = &courses[s];
        *course = (struct course){.first_channel = s == 0 ? 0 : 2,
                                  .n_channels = s == 0 ? 2 : 1,
                                  .start_s = s == 0 ? 0.0 : 0.0031,
                                  .step_s = 1.0 / rate_hz[s]};
        for (size_t i = 0; i < FRAMES; i++) {
            course->is_lost[i] = i % 700 > 640;
            for (size_t k = 0; k < course->n_channels; k++) {
                course->value[i * course->n_channels + k] =
                    40.0 * sh_random_get_normal(&random) + (i % 997 == 5 ? 900.0 : 0.0);
            }
        }
    }
    return 0;
}

/* Pushes frames from .. until in blocks of one kind each, at most most long. */
static void push(struct sh_wave *wave, const struct course *course, size_t most)
{
    for (size_t from = 0, n; from < FRAMES; from += n) {
        for (n = 1; from + n < FRAMES && n < most &&
                    course->is_lost[from + n] == course->is_lost[from];) {
            n++;
        }
        const struct sh_wave_frames frames = {
            .first_channel = course->first_channel,
            .n_channels = course->n_channels,
            .n_frames = n,
            .value = course->value + from * course->n_channels,
            .start_s = course->start_s + (double)from * course->step_s,
            .step_s = course->step_s,
            .is_lost = course->is_lost[from]};
        assert_int_equal(sh_wave_push(wave, &frames), SH_OK);
    }
}

static struct sh_wave *open_wave(size_t n_channels, double bin_s, size_t n_bins_max)
{
    struct sh_wave *wave = NULL;
    struct sh_wave_config config = sh_wave_config_default();
    config.n_channels = n_channels;
    config.bin_s = bin_s;
    config.n_bins_max = n_bins_max;
    assert_int_equal(sh_wave_open(&config, &wave, NULL), SH_OK);
    return wave;
}

/* Lowest and highest sample with from_s <= t < until_s but for rounding, by looking at all. */
static bool find_slowly(const struct course *course,
                        size_t k,
                        double from_s,
                        double until_s,
                        double *lo,
                        double *hi)
{
    bool is_found = false;
    for (size_t i = 0; i < FRAMES; i++) {
        double time_s = course->start_s + (double)i * course->step_s + 1e-8;
        double value = (double)(float)course->value[i * course->n_channels + k];
        if (!course->is_lost[i] && time_s >= from_s && time_s < until_s) {
            *lo = is_found ? fmin(*lo, value) : value;
            *hi = is_found ? fmax(*hi, value) : value;
            is_found = true;
        }
    }
    return is_found;
}

static void check_window(const struct sh_wave *wave, double from_s, double until_s, size_t n)
{
    struct sh_wave_window window;
    assert_int_equal(sh_wave_select(wave, from_s, until_s, n, &window), SH_OK);
    assert_true(window.n_steps <= n + 1);
    assert_true(window.start_s <= from_s);
    assert_true(window.start_s + (double)window.n_steps * window.step_s >= until_s - 1e-9);
    for (size_t channel = 0; channel < CHANNELS; channel++) {
        const struct course *course = &courses[channel < 2 ? 0 : 1];
        for (size_t step = 0; step < window.n_steps; step++) {
            double got[2] = {0.0, 0.0};
            double want[2] = {0.0, 0.0};
            double at_s = window.start_s + (double)step * window.step_s;
            bool is_there = find_slowly(course, channel < 2 ? channel : 0, at_s,
                                        at_s + window.step_s, &want[0], &want[1]);
            assert_int_equal(sh_wave_find(wave, &window, channel, step, &got[0], &got[1]),
                             is_there);
            assert_memory_equal(got, want, sizeof got);
        }
    }
}

static void test_any_window_is_what_all_samples_say(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 7);
    struct sh_wave *wave = open_wave(CHANNELS, 1.0 / 64.0, 4096);
    push(wave, &courses[0], 37);
    push(wave, &courses[1], 150);
    for (int i = 0; i < 60; i++) {
        double from_s = 15.0 * sh_random_get_uniform(&random);
        double long_s = 0.05 + 15.0 * sh_random_get_uniform(&random);
        check_window(wave, from_s, from_s + long_s,
                     1 + (size_t)(300.0 * sh_random_get_uniform(&random)));
    }
    sh_wave_close(&wave);
}

static void test_full_wave_lays_pieces_together(void **state)
{
    struct sh_wave *wave = open_wave(CHANNELS, 1.0 / 256.0, 100);
    push(wave, &courses[0], 50);
    push(wave, &courses[1], 50);
    check_window(wave, 0.0, 15.0, 100);
    check_window(wave, 3.0, 4.0, 10);
    check_window(wave, 0.0, 15.0, 3);
    sh_wave_close(&wave);
}

static void test_cut_changes_nothing(void **state)
{
    struct sh_text whole;
    sh_text_init(&whole, 0);
    for (size_t most = 1; most < 4000; most = most * 3 + 1) {
        struct sh_text text;
        struct sh_wave_window window;
        struct sh_wave *wave = open_wave(CHANNELS, 0.005, 512);
        push(wave, &courses[0], most);
        push(wave, &courses[1], most);
        sh_text_init(&text, 0);
        assert_int_equal(sh_wave_select(wave, 0.0, 16.0, 400, &window), SH_OK);
        sh_wave_format(wave, &window, 4, &text);
        assert_int_equal(text.status, SH_OK);
        if (whole.data == NULL) {
            sh_text_puts(&whole, text.data);
        }
        assert_string_equal(text.data, whole.data);
        sh_text_close(&text);
        sh_wave_close(&wave);
    }
    sh_text_close(&whole);
}

/* 20 samples a second in pieces of 5 ms: each stands for its time, a loss is a hole. */
static void test_slow_sensor_has_no_holes(void **state)
{
    struct sh_wave_window window;
    double value[40];
    double lo = 0.0;
    double hi = 0.0;
    struct sh_wave *wave = open_wave(1, 0.005, 4096);
    for (size_t i = 0; i < 40; i++) {
        value[i] = (double)i;
    }
    struct sh_wave_frames frames = {.n_channels = 1, .value = value, .step_s = 0.05};
    frames.n_frames = 20;
    assert_int_equal(sh_wave_push(wave, &frames), SH_OK);
    frames = (struct sh_wave_frames){
        .n_channels = 1, .n_frames = 10, .value = value + 20, .start_s = 1.0, .step_s = 0.05};
    frames.is_lost = true;
    assert_int_equal(sh_wave_push(wave, &frames), SH_OK);
    frames = (struct sh_wave_frames){
        .n_channels = 1, .n_frames = 10, .value = value + 30, .start_s = 1.5, .step_s = 0.05};
    assert_int_equal(sh_wave_push(wave, &frames), SH_OK);
    assert_int_equal(sh_wave_select(wave, 0.0, 2.0, 400, &window), SH_OK);
    for (size_t step = 0; step < 190; step++) {
        bool is_there = sh_wave_find(wave, &window, 0, step, &lo, &hi);
        assert_int_equal(is_there, step * 5 <= 950 || step * 5 >= 1500);
        if (is_there) {
            assert_true(fabs(lo - (double)(step / 10)) <= 1.0);
        }
    }
    sh_wave_close(&wave);
}

static void test_json(void **state)
{
    const double value[] = {1.0, -2.0, 3.0, 4.5, 5.0, (double)NAN};
    const struct sh_wave_frames frames = {
        .n_channels = 2, .n_frames = 3, .value = value, .start_s = 0.0, .step_s = 0.5};
    struct sh_wave_window window;
    struct sh_text text;
    struct sh_wave *wave = open_wave(2, 0.25, 16);
    assert_int_equal(sh_wave_push(wave, &frames), SH_OK);
    assert_int_equal(sh_wave_select(wave, 0.0, 1.5, 3, &window), SH_OK);
    sh_text_init(&text, 0);
    sh_wave_format(wave, &window, 7, &text);
    assert_string_equal(text.data,
                        "{\"type\":\"wave\",\"recording\":7,\"t0\":0,\"dt\":0.5,\"channels\":["
                        "{\"lo\":[1,3,5],\"hi\":[1,3,5]},{\"lo\":[-2,4.5,null],"
                        "\"hi\":[-2,4.5,null]}]}");
    json_t *read = json_loads(text.data, 0, NULL);
    assert_non_null(read);
    json_decref(read);
    sh_text_close(&text);
    sh_wave_close(&wave);
}

static void test_refusals(void **state)
{
    const double value[] = {1.0, 2.0};
    struct sh_wave_window window;
    struct sh_wave *wave = NULL;
    struct sh_error err = {0};
    struct sh_wave_config config = sh_wave_config_default();
    assert_int_equal(sh_wave_open(&config, &wave, &err), SH_ERR_ARGUMENT);
    config.n_channels = SH_WAVE_CHANNELS_MAX + 1;
    assert_int_equal(sh_wave_open(&config, &wave, NULL), SH_ERR_ARGUMENT);
    config = (struct sh_wave_config){1, 0.0, 16};
    assert_int_equal(sh_wave_open(&config, &wave, NULL), SH_ERR_ARGUMENT);
    config = (struct sh_wave_config){1, 1.0, 15};
    assert_int_equal(sh_wave_open(&config, &wave, NULL), SH_ERR_ARGUMENT);
    config = (struct sh_wave_config){1, 1.0, SH_WAVE_BINS_MAX + 1};
    assert_int_equal(sh_wave_open(&config, &wave, NULL), SH_ERR_ARGUMENT);
    assert_null(wave);
    wave = open_wave(2, 1.0, 16);
    struct sh_wave_frames frames = {
        .n_channels = 2, .n_frames = 1, .value = value, .step_s = 1.0};
    frames.first_channel = 1;
    assert_int_equal(sh_wave_push(wave, &frames), SH_ERR_ARGUMENT);
    frames.first_channel = 0;
    frames.step_s = 0.0;
    assert_int_equal(sh_wave_push(wave, &frames), SH_ERR_ARGUMENT);
    frames.step_s = 1.0;
    frames.start_s = SH_WAVE_TIME_MAX_S;
    assert_int_equal(sh_wave_push(wave, &frames), SH_ERR_ARGUMENT);
    frames.start_s = (double)NAN;
    assert_int_equal(sh_wave_push(wave, &frames), SH_ERR_ARGUMENT);
    assert_near(sh_wave_get_end_s(wave), 0.0, 0.0, 0.0);
    frames.start_s = -1.0;
    assert_int_equal(sh_wave_push(wave, &frames), SH_OK);
    assert_near(sh_wave_get_end_s(wave), 0.0, 0.0, 0.0);
    assert_int_equal(sh_wave_select(wave, 1.0, 1.0, 5, &window), SH_ERR_ARGUMENT);
    assert_int_equal(sh_wave_select(wave, 0.0, 1.0, 0, &window), SH_ERR_ARGUMENT);
    assert_int_equal(sh_wave_select(wave, 0.0, 1.0, SH_WAVE_STEPS_MAX, &window),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_wave_select(wave, 0.0, (double)NAN, 4, &window), SH_ERR_ARGUMENT);
    sh_wave_close(&wave);
    sh_wave_close(&wave);
    sh_wave_close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_any_window_is_what_all_samples_say),
        cmocka_unit_test(test_full_wave_lays_pieces_together),
        cmocka_unit_test(test_cut_changes_nothing),
        cmocka_unit_test(test_slow_sensor_has_no_holes),
        cmocka_unit_test(test_json),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, make_courses, NULL);
}
