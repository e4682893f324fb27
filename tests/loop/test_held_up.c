/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/capture.h"
#include "app/commands.h"
#include "app/simulation.h"
#include "app/typed.h"
#include "loop/sensor.h"
#include "loop/terminal.h"
#include "recording/collector.h"
#include "recording/recording_reader.h"
#include "sim/sampler.h"
#include "support/cmocka_all.h"

/*
 * A capture whose thread is held up, as by a slow card or a loaded machine: not a sample is
 * lost, and each is the one that was sent; beyond what a port's buffer holds it is told.
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

/* A sensor that sends much while the capture's thread stands still: N_LINES, then garbage that
 * finds no room, then as many lines again; or lines alone, before the end. */
struct flood {
    struct terminal terminal;
    size_t n_garbage_bytes;
    size_t n_steps;
    char said[4096];
};

#define N_LINES       1500u
#define GARBAGE_BYTES 6000000u

static void keep_words(void *context, const char *text)
{
    struct flood *flood = context;
    const size_t n = strlen(flood->said);
    (void)snprintf(flood->said + n, sizeof flood->said - n, "%s", text);
}

static enum sh_status flood_it(void *context, struct sh_capture *capture, struct sh_error *err)
{
    struct flood *flood = context;
    struct sh_entry end = {.kind = SH_ENTRY_END};
    flood->n_steps++;
    if (flood->n_steps > 2) {
        return SH_OK;
    }
    const size_t from = flood->n_steps == 1 ? 0 : N_LINES;
    terminal_send(&flood->terminal, "\n", 1);
    terminal_send_lines(&flood->terminal, from, from + N_LINES);
    if (flood->n_steps == 1) {
        terminal_send_garbage(&flood->terminal, flood->n_garbage_bytes);
        return SH_OK;
    }
    program_pause(0.2); /* the reader's thread has them */
    return sh_capture_obey(capture, &end, err);
}

/* Captures a sensor in this process, before a front. */
static void
capture(const struct sensor *sensor, const char *folder, const struct sh_capture_front *front)
{
    const char *words[] = {"--sensor", sensor->profile, "--port", sensor->port,
                           "--out",    folder,          NULL};
    struct typed typed;
    struct sh_capture_setup setup;
    struct sh_capture_result result = {0};
    struct sh_error err = {0};
    const volatile sig_atomic_t should_end = 0;
    typed_parse(&typed, &sh_command_capture, words);
    assert_int_equal(
        sh_capture_setup_read(&sh_command_capture, &typed.line, false, &setup, &err), SH_OK);
    assert_int_equal(sh_capture_run(&setup, front, 1, &should_end, &result, &err), SH_OK);
    assert_int_equal(result.n_recordings, 1);
    sh_capture_result_close(&result);
    sh_capture_setup_close(&setup);
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

/* Reads the folder back; gives the first stream's counts. */
static struct sh_frame_counts read_folder(const char *folder, struct collector *kept)
{
    struct sh_recording_reader *reader = NULL;
    assert_int_equal(collector_read(kept, folder, &reader, NULL), SH_OK);
    const struct sh_session *session = sh_recording_reader_session(reader);
    const struct sh_frame_counts first = session->streams[0].frames;
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_frame_counts *frames = &session->streams[i].frames;
        assert_int_equal(frames->lost + frames->late + frames->repeated, 0);
        assert_int_equal(frames->good, kept->streams[i].n_frames);
    }
    sh_recording_reader_close(&reader);
    return first;
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
    const struct sh_capture_front front = {
        .shot = count_shot, .step = hold_up, .context = &brake};
    sensor_start(&sensor, &config);
    capture(&sensor, folder, &front);
    sensor_end(&sensor);
    assert_true(brake.was_held);
    sample(1, &sent);
    const struct sh_frame_counts first = read_folder(folder, &kept);
    assert_int_equal(first.damaged + first.skipped_bytes, 0);
    check_same(&kept, &sent);
    assert_int_equal(brake.n_shots, 1);
    collector_close(&sent);
    collector_close(&kept);
    scratch_close(&scratch);
}

static size_t count_text(const char *said, const char *text)
{
    size_t n = 0;
    for (const char *at = strstr(said, text); at != NULL; at = strstr(at + 1, text)) {
        n++;
    }
    return n;
}

/* Runs a flood; gives what became of its frames. */
static struct sh_frame_counts run_flood(struct flood *flood)
{
    struct scratch scratch;
    struct sensor sensor;
    struct program program;
    struct collector kept;
    char folder[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "flood", folder);
    scratch_path(&scratch, "simulated", out);
    scratch_path(&scratch, "sensor.ini", sensor.profile);
    const char *words[] = {"simulate", "--set", "force1000",      "--out",        out,
                           "--draws",  "1",     "--write-sensor", sensor.profile, NULL};
    assert_int_equal(program_run(&program, &scratch, "profile", words), 0);
    terminal_open(&flood->terminal);
    (void)snprintf(sensor.port, sizeof sensor.port, "%s", flood->terminal.path);
    const struct sh_capture_front front = {
        .say = keep_words, .step = flood_it, .context = flood};
    capture(&sensor, folder, &front);
    terminal_close(&flood->terminal);
    const struct sh_frame_counts counts = read_folder(folder, &kept);
    collector_close(&kept);
    scratch_close(&scratch);
    return counts;
}

/* Beyond the bound: what came before and what comes after is kept, and the rest is told. */
static void test_what_finds_no_room_is_told(void **state)
{
    struct flood flood = {.n_garbage_bytes = GARBAGE_BYTES};
    const struct sh_frame_counts counts = run_flood(&flood);
    assert_int_equal(counts.good, 2 * N_LINES);
    assert_in_range(counts.skipped_bytes, GARBAGE_BYTES / 2, GARBAGE_BYTES + 100);
    assert_int_equal(count_text(flood.said, "found no room"), 1);
    assert_int_equal(count_text(flood.said, "no room: "), 1);
    const char *at = strstr(flood.said, "no room: ");
    assert_in_range(strtoul(at + strlen("no room: "), NULL, 10), GARBAGE_BYTES / 4,
                    GARBAGE_BYTES);
}

/* What had come before the end was asked for belongs to the recording. */
static void test_the_end_takes_what_waits(void **state)
{
    struct flood flood = {.n_garbage_bytes = 0};
    const struct sh_frame_counts counts = run_flood(&flood);
    assert_int_equal(counts.good, 2 * N_LINES);
    assert_int_equal(counts.damaged + counts.skipped_bytes, 0);
    assert_int_equal(count_text(flood.said, "no room"), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_sample_is_lost_in_mid_hold),
        cmocka_unit_test(test_what_finds_no_room_is_told),
        cmocka_unit_test(test_the_end_takes_what_waits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
