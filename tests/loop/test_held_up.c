/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/capture.h"
#include "app/commands.h"
#include "app/simulation.h"
#include "loop/sensor.h"
#include "recording/collector.h"
#include "recording/recording_reader.h"
#include "sim/sampler.h"
#include "support/cmocka_all.h"

/*
 * A capture whose thread is held up in mid-hold, as by a slow card or a loaded machine: not a
 * sample is lost, and each is the one that was sent.
 */

#define SET    "force_fingers_bow" /* 4 channels at 1000 Hz, 3 at 3200 Hz */
#define HELD_S 3.0

/* A front that stands in the way once. */
struct brake {
    double held_s;
    bool was_held;
    size_t n_shots;
};

static void
count_shot(void *context, const struct sh_shot_record *record, const struct sh_shot_view *view)
{
    struct brake *brake = context;
    brake->n_shots += record->shot.kind == SH_SHOT_SHOT ? 1 : 0;
}

static enum sh_status hold_up(void *context, struct sh_capture *capture, struct sh_error *err)
{
    struct brake *brake = context;
    struct sh_capture_view view;
    (void)err;
    sh_capture_get_view(capture, &view);
    if (!brake->was_held && view.state.phase == SH_SEGMENTER_HOLD) {
        brake->was_held = true;
        program_pause(brake->held_s);
    }
    return SH_OK;
}

static char *copy_word(const char *word)
{
    char *copy = strdup(word);
    assert_non_null(copy);
    return copy;
}

/* Captures a sensor in this process, behind the brake. */
static void capture(const struct sensor *sensor, const char *folder, struct brake *brake)
{
    const char *words[] = {"capture",    "--sensor", sensor->profile, "--port",
                           sensor->port, "--out",    folder};
    enum { N_WORDS = sizeof words / sizeof words[0] };
    char *argv[N_WORDS + 1] = {NULL};
    for (size_t i = 0; i < N_WORDS; i++) {
        argv[i] = copy_word(words[i]);
    }
    struct sh_command_line line;
    struct sh_capture_setup setup;
    struct sh_capture_result result = {0};
    struct sh_error err = {0};
    enum sh_command_wish wish = SH_COMMAND_HELP;
    const volatile sig_atomic_t should_end = 0;
    const struct sh_capture_front front = {
        .shot = count_shot, .step = hold_up, .context = brake};
    assert_int_equal(sh_command_parse(&sh_command_capture, N_WORDS, argv, &line, &wish, &err),
                     SH_OK);
    assert_int_equal(sh_capture_setup_read(&sh_command_capture, &line, &setup, &err), SH_OK);
    assert_int_equal(sh_capture_run(&setup, &front, 1, &should_end, &result, &err), SH_OK);
    assert_int_equal(result.n_recordings, 1);
    sh_capture_result_close(&result);
    sh_capture_setup_close(&setup);
    for (size_t i = 0; i < N_WORDS; i++) {
        free(argv[i]);
    }
}

/* What the simulator has sent, from the same seed. */
static void sample(size_t n_draws, struct collector *sent)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    struct sh_error err = {0};
    config.set = SET;
    config.n_draws = n_draws;
    config.is_one_device = true;
    assert_int_equal(sh_simulation_open(&config, &simulation, &err), SH_OK);
    const struct sh_sampler_config sampling = {.plan = simulation.plan,
                                               .seed = simulation.seed,
                                               .stream = simulation.source,
                                               .n_streams = simulation.n_sources,
                                               .block_frames = 1024,
                                               .has_errors = true};
    const struct sh_block_sink sink = collector_open(sent);
    struct sh_sampler *sampler = NULL;
    assert_int_equal(sh_sampler_open(&sampling, &sink, &sampler, &err), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, simulation.plan->duration_s + 1.0, &err),
                     SH_OK);
    sh_sampler_close(&sampler);
    sh_simulation_close(&simulation);
}

static void read_folder(const char *folder, struct collector *kept)
{
    struct sh_recording_reader *reader = NULL;
    struct sh_error err = {0};
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    const struct sh_block_sink sink = collector_open(kept);
    assert_int_equal(sh_recording_reader_open(folder, &config, &reader, &err), SH_OK);
    assert_int_equal(sh_recording_reader_push(reader, &sink, &err), SH_OK);
    const struct sh_session *session = sh_recording_reader_session(reader);
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_frame_counts *frames = &session->streams[i].frames;
        print_message("stream %zu: %llu good, %llu lost, %llu late\n", i,
                      (unsigned long long)frames->good, (unsigned long long)frames->lost,
                      (unsigned long long)frames->late);
        assert_int_equal(frames->lost + frames->late + frames->damaged + frames->repeated, 0);
        assert_int_equal(frames->skipped_bytes, 0);
    }
    sh_recording_reader_close(&reader);
}

static void check_same(const struct collector *kept, const struct collector *sent)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        const struct collected_stream *got = &kept->streams[i];
        const struct collected_stream *expected = &sent->streams[i];
        size_t n_other = 0;
        assert_int_equal(got->n_frames, expected->n_frames);
        for (size_t k = 0; k < got->n_frames * got->n_channels; k++) {
            n_other += fabs(got->raw[k] - expected->raw[k]) > 0.0 ? 1 : 0;
        }
        assert_int_equal(n_other, 0);
    }
}

static void test_no_sample_is_lost_in_mid_hold(void **state)
{
    struct scratch scratch;
    struct sensor sensor;
    struct brake brake = {.held_s = HELD_S};
    struct collector sent;
    struct collector kept;
    char folder[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "held", folder);
    const struct sensor_config config = {&scratch, "sensor", SET, "1", "1"};
    sensor_start(&sensor, &config);
    capture(&sensor, folder, &brake);
    sensor_end(&sensor);
    assert_true(brake.was_held);
    sample(1, &sent);
    read_folder(folder, &kept);
    check_same(&kept, &sent);
    assert_int_equal(brake.n_shots, 1);
    collector_close(&sent);
    collector_close(&kept);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_sample_is_lost_in_mid_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
