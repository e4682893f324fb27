/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/shot_window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "live/evening.h"
#include "recording/audio_writer.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_recording_reader *open_reader(const struct scratch *scratch)
{
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    assert_int_equal(sh_recording_reader_open(scratch->folder, &config, &reader, NULL), SH_OK);
    return reader;
}

static void check_view(const struct sh_shot_view *view, double from_s, double until_s)
{
    assert_int_equal(view->n_streams, 2);
    for (size_t s = 0; s < 2; s++) {
        const struct sh_shot_stream *stream = &view->stream[s];
        double rate_hz = s == 0 ? 1000.0 : 3200.0;
        assert_near((double)stream->n_frames, (until_s - from_s) * rate_hz, 1.5, 0.0);
        for (size_t i = 0; i < stream->n_frames; i++) {
            double time_s = (double)(stream->first_frame + i) / rate_hz;
            assert_near(stream->time_s[i], time_s, 1e-9, 0.0);
            assert_near(stream->value[0][i],
                        s == 0 ? evening_get_force_n(time_s) : evening_get_bow_m_s2(time_s),
                        1e-12, 0.0);
            bool is_lost =
                s == 0 && stream->first_frame + i >= 24500 && stream->first_frame + i < 24600;
            assert_int_equal(stream->flags[i], is_lost ? SH_SHOT_FLAG_FILLED : 0);
        }
    }
}

static void test_window_is_what_the_files_hold(void **state)
{
    static const double spans_s[][2] = {{16.5, 26.5}, {0.0, 3.0}, {24.45, 24.55}, {38.0, 45.0}};
    struct scratch scratch;
    struct sh_owned_view window;
    scratch_open(&scratch);
    evening_make(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch);
    for (size_t i = 0; i < sizeof spans_s / sizeof spans_s[0]; i++) {
        const struct sh_shot_window_config config = {.from_s = spans_s[i][0],
                                                     .until_s = spans_s[i][1],
                                                     .draw_start_s = 20.0,
                                                     .reading = SH_TIMEBASE_BETWEEN};
        assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_OK);
        check_view(&window.view, spans_s[i][0], fmin(spans_s[i][1], 40.0));
        sh_owned_view_close(&window);
        assert_null(window.net_n);
    }
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_force_is_net_of_rest(void **state)
{
    struct scratch scratch;
    struct sh_owned_view window;
    const struct sh_shot_window_config config = {
        .from_s = 16.5, .until_s = 26.5, .draw_start_s = 20.0, .reading = SH_TIMEBASE_BETWEEN};
    scratch_open(&scratch);
    evening_make(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch);
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_OK);
    const struct sh_shot_force *force = &window.view.force;
    assert_true(force->is_present);
    assert_false(force->is_finger_sum);
    for (size_t i = 0; i < force->n_frames; i++) {
        double time_s = window.view.stream[0].time_s[i];
        assert_near(force->net_n[i], evening_get_force_n(time_s) - 2.0, 0.02, 0.0);
    }
    for (size_t k = 0; k < 4; k++) {
        assert_near(window.view.stream[0].rest_n[k].value, k == 0 ? 2.0 : 1.0, 0.02, 0.0);
    }
    struct sh_shot_window_span span = sh_shot_window_find_force(&window.view, 20.0, 20.1);
    assert_int_equal(span.n, 100);
    assert_int_equal(window.view.stream[0].first_frame + span.first, 20000);
    assert_int_equal(sh_shot_window_find_force(&window.view, 30.0, 31.0).n, 0);
    assert_int_equal(sh_shot_window_find_force(&window.view, 21.0, 20.0).n, 0);
    sh_owned_view_close(&window);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

/* Forces, their rest and all, are the same however little of the bow is read. */
static void test_lead_is_of_forces_alone(void **state)
{
    struct scratch scratch;
    struct sh_owned_view whole;
    struct sh_owned_view led;
    struct sh_shot_window_config config = {
        .from_s = 16.5, .until_s = 26.5, .draw_start_s = 20.0, .reading = SH_TIMEBASE_BETWEEN};
    scratch_open(&scratch);
    evening_make(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch);
    assert_int_equal(sh_shot_window_open(reader, &config, &whole, NULL), SH_OK);
    config.from_s = 24.0;
    config.lead_s = 7.5;
    for (int is_force_only = 0; is_force_only < 2; is_force_only++) {
        config.is_force_only = is_force_only != 0;
        assert_int_equal(sh_shot_window_open(reader, &config, &led, NULL), SH_OK);
        assert_int_equal(led.view.stream[0].n_frames, whole.view.stream[0].n_frames);
        assert_memory_equal(led.net_n, whole.net_n, 10000 * sizeof *led.net_n);
        for (size_t k = 0; k < 4; k++) {
            assert_near(led.view.stream[0].rest_n[k].value,
                        whole.view.stream[0].rest_n[k].value, 0.0, 0.0);
        }
        assert_int_equal(led.view.stream[1].n_frames, is_force_only != 0 ? 0 : 8000);
        assert_int_equal(led.view.stream[1].first_frame, 24 * 3200);
        sh_owned_view_close(&led);
    }
    sh_owned_view_close(&whole);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

/* One finger's channel of counts with a load drift, and a range. */
static const char drifting[] =
    "{\"format\": \"stringhand-recording\", \"version\": 1, \"streams\": [{\"name\": \"f\", "
    "\"file\": \"f.wav\", \"rate_hz\": 100, \"channels\": [{\"role\": \"finger_force\", "
    "\"finger\": \"ring\", \"unit\": \"N\", \"scale\": 0.01, \"zero\": 0, "
    "\"range\": [-20000, 10400], \"load_drift\": {\"ratio\": 0.05, \"time_s\": 10.0}}]}]}";

/* 100 N from 20 s on, as such a sensor shows it. */
static void make_drifting(const struct scratch *scratch)
{
    char path[SCRATCH_PATH_BYTES];
    double raw[9000];
    struct sh_audio_writer *writer = NULL;
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 1, 100.0};
    for (size_t i = 0; i < 9000; i++) {
        double loaded_s = ((double)i - 2000.0) / 100.0;
        raw[i] = loaded_s < 0.0 ? 0.0
                                : round(10000.0 * (1.0 + 0.05 * (1.0 - exp(-loaded_s / 10.0))));
    }
    scratch_path(scratch, SH_SESSION_JSON_FILE, path);
    scratch_write(path, drifting, strlen(drifting));
    scratch_path(scratch, "f.wav", path);
    assert_int_equal(sh_audio_writer_open(path, &config, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, raw, 9000, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_finish(writer, NULL), SH_OK);
    sh_audio_writer_close(&writer);
}

static void test_load_drift_is_taken_off_and_range_told(void **state)
{
    struct scratch scratch;
    struct sh_owned_view window;
    const struct sh_shot_window_config config = {
        .from_s = 80.0, .until_s = 81.0, .draw_start_s = (double)NAN};
    const struct sh_shot_window_config early = {
        .from_s = 19.0, .until_s = 21.0, .draw_start_s = 20.0};
    scratch_open(&scratch);
    make_drifting(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch);
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_OK);
    for (size_t i = 0; i < 100; i++) {
        assert_near(window.view.stream[0].value[0][i], 100.0, 0.06, 0.0);
        assert_int_equal(window.view.stream[0].flags[i],
                         SH_SHOT_FLAG_CLIPPED | SH_SHOT_FLAG_FULL);
    }
    sh_owned_view_close(&window);
    assert_int_equal(sh_shot_window_open(reader, &early, &window, NULL), SH_OK);
    assert_true(window.view.force.is_finger_sum);
    assert_near(window.net_n[50], 0.0, 0.01, 0.0);
    assert_near(window.net_n[150], 100.0, 0.2, 0.0);
    assert_int_equal(window.view.stream[0].flags[150], 0);
    sh_owned_view_close(&window);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_refusals(void **state)
{
    struct scratch scratch;
    struct sh_owned_view window;
    struct sh_error err = {0};
    scratch_open(&scratch);
    evening_make(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch);
    struct sh_shot_window_config config = {.from_s = 5.0, .until_s = 5.0, .draw_start_s = 5.0};
    assert_int_equal(sh_shot_window_open(reader, &config, &window, &err), SH_ERR_ARGUMENT);
    config.until_s = 5.1 + SH_SHOT_WINDOW_S_MAX;
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_ERR_ARGUMENT);
    config.until_s = (double)NAN;
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_ERR_ARGUMENT);
    config.until_s = 5.0 + SH_SHOT_WINDOW_S_MAX;
    config.lead_s = 0.1;
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_ERR_ARGUMENT);
    config = (struct sh_shot_window_config){.from_s = 5.0, .until_s = 6.0, .lead_s = -0.1};
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_ERR_ARGUMENT);
    config = (struct sh_shot_window_config){
        .from_s = 100.0, .until_s = 105.0, .draw_start_s = 100.0};
    assert_int_equal(sh_shot_window_open(reader, &config, &window, NULL), SH_OK);
    assert_int_equal(window.view.stream[0].n_frames, 0);
    sh_owned_view_close(&window);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_window_is_what_the_files_hold),
        cmocka_unit_test(test_force_is_net_of_rest),
        cmocka_unit_test(test_lead_is_of_forces_alone),
        cmocka_unit_test(test_load_drift_is_taken_off_and_range_told),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
