/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/intake.h"

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "app/sensor_file.h"
#include "recording/collector.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

struct bench {
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES]; /* of the sensor's bytes */
    struct sh_simulation simulation;
    struct sh_profile *profile;
    struct collector got;
    struct sh_intake_config config;
};

static void open_bench(struct bench *bench, const char *set)
{
    scratch_open(&bench->scratch);
    scratch_path(&bench->scratch, "bytes", bench->path);
    sensor_file_open_simulation(set, 1, &bench->simulation);
    bench->profile = sensor_file_make_profile(&bench->simulation);
    bench->config = (struct sh_intake_config){.profile = bench->profile,
                                              .address = bench->path,
                                              .is_replay = true,
                                              .timeout_ms = 10,
                                              .sink = collector_open(&bench->got)};
}

static void close_bench(struct bench *bench)
{
    collector_close(&bench->got);
    free(bench->profile);
    sh_simulation_close(&bench->simulation);
    scratch_close(&bench->scratch);
}

/* Steps to the end of the bytes and flushes. */
static void run(struct sh_intake *intake)
{
    enum sh_intake_answer answer = SH_INTAKE_DATA;
    struct sh_error err = {0};
    while (answer != SH_INTAKE_END) {
        assert_int_equal(sh_intake_step(intake, &answer, &err), SH_OK);
    }
    assert_false(sh_intake_is_open(intake));
    assert_int_equal(sh_intake_flush(intake, &err), SH_OK);
    assert_int_equal(sh_intake_flush(intake, &err), SH_OK); /* adds nothing */
}

static struct sh_intake *open_intake(const struct bench *bench)
{
    struct sh_intake *intake = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_intake_open(&bench->config, &intake, &err), SH_OK);
    return intake;
}

/* Values that differ; 0 and -0 are one count. */
static size_t count_differences(const struct collected_stream *got,
                                const struct collected_stream *expected)
{
    size_t n = 0;
    for (size_t i = 0; i < got->n_frames * got->n_channels; i++) {
        n += fabs(got->raw[i] - expected->raw[i]) > 0.0 ? 1 : 0;
    }
    return n;
}

/* What comes out is what the sensor sampled, frame by frame, with a clock of its own. */
static void check_whole(const char *set)
{
    struct bench bench;
    open_bench(&bench, set);
    struct collector sampled;
    const struct sh_block_sink sink = collector_open(&sampled);
    sensor_file_sample(&bench.simulation, &sink);
    assert_int_equal(sensor_file_write(&bench.simulation, 0.0, bench.path), 0);
    struct sh_intake *intake = open_intake(&bench);
    run(intake);
    for (size_t i = 0; i < bench.simulation.n_sources; i++) {
        const struct collected_stream *got = &bench.got.streams[i];
        const struct collected_stream *expected = &sampled.streams[i];
        assert_int_equal(got->n_frames, expected->n_frames);
        assert_int_equal(got->n_channels, expected->n_channels);
        assert_int_equal(count_differences(got, expected), 0);
        assert_true(got->n_anchors >= 2);
        assert_int_equal(got->anchors[0].frame, 0);
        const struct sh_frame_counts counts = sh_intake_get_counts(intake, i);
        assert_int_equal(counts.good, expected->n_frames);
        assert_int_equal(counts.lost + counts.damaged + counts.repeated + counts.late, 0);
        assert_int_equal(counts.skipped_bytes, 0);
    }
    assert_int_equal(sh_intake_get_strange(intake), 0);
    struct stat file;
    assert_int_equal(stat(bench.path, &file), 0);
    assert_int_equal(sh_intake_get_bytes(intake), file.st_size);
    sh_intake_close(&intake);
    assert_null(intake);
    collector_close(&sampled);
    close_bench(&bench);
}

static void test_lines_of_a_file(void **state)
{
    check_whole("force1000");
}

static void test_packets_of_a_file(void **state)
{
    check_whole("fingers_bow");
}

/* Spoilt lines and packets are counted, and what they held is filled. */
static void check_damage(const char *set, bool is_packets)
{
    struct bench bench;
    open_bench(&bench, set);
    uint64_t n_damaged = sensor_file_write(&bench.simulation, 0.02, bench.path);
    assert_true(n_damaged > 10);
    struct sh_intake *intake = open_intake(&bench);
    run(intake);
    uint64_t n_filled = 0;
    uint64_t n_lost = 0;
    uint64_t n_good = 0;
    uint64_t n_frames = 0;
    for (size_t i = 0; i < bench.simulation.n_sources; i++) {
        const struct collected_stream *got = &bench.got.streams[i];
        const struct sh_frame_counts counts = sh_intake_get_counts(intake, i);
        n_lost += counts.lost;
        n_good += counts.good;
        n_frames += got->n_frames;
        for (size_t k = 0; k < got->n_frames; k++) {
            n_filled += got->is_filled[k] ? 1 : 0;
        }
    }
    const struct sh_frame_counts first = sh_intake_get_counts(intake, 0);
    assert_int_equal(n_filled, n_lost);
    assert_int_equal(n_good + n_lost, n_frames);
    /* the last ones leave no hole that a later frame would show */
    assert_in_range(n_lost, (is_packets ? 10 : 1) * (n_damaged - 2), 20 * n_damaged);
    assert_in_range(first.damaged, n_damaged - 1, 2 * n_damaged);
    assert_true(first.skipped_bytes >= first.damaged);
    sh_intake_close(&intake);
    close_bench(&bench);
}

static void test_spoilt_lines(void **state)
{
    check_damage("force1000", false);
}

static void test_spoilt_packets(void **state)
{
    check_damage("force_bow", true);
}

/* Frames of a stream that the profile does not know, or with other columns. */
static void test_frames_that_do_not_fit(void **state)
{
    struct bench bench;
    open_bench(&bench, "force_bow");
    (void)sensor_file_write(&bench.simulation, 0.0, bench.path);
    struct collector sampled;
    const struct sh_block_sink sink = collector_open(&sampled);
    sensor_file_sample(&bench.simulation, &sink);
    bench.profile->n_streams = 1; /* knows the string only */
    struct sh_intake *intake = open_intake(&bench);
    run(intake);
    assert_int_equal(sh_intake_get_strange(intake), sampled.streams[1].n_frames);
    assert_int_equal(bench.got.streams[0].n_frames, sampled.streams[0].n_frames);
    assert_int_equal(bench.got.streams[1].n_frames, 0);
    sh_intake_close(&intake);
    collector_close(&sampled);
    close_bench(&bench);
}

static void test_streams_are_numbered_behind_those_before(void **state)
{
    struct bench bench;
    open_bench(&bench, "force_bow");
    (void)sensor_file_write(&bench.simulation, 0.0, bench.path);
    bench.config.first_stream = 3;
    struct sh_intake *intake = open_intake(&bench);
    run(intake);
    assert_int_equal(bench.got.streams[0].n_frames + bench.got.streams[1].n_frames, 0);
    assert_true(bench.got.streams[3].n_frames > 0);
    assert_true(bench.got.streams[3].n_anchors > 0);
    assert_true(bench.got.streams[4].n_frames > 0);
    assert_int_equal(sh_intake_get_counts(intake, 1).good, bench.got.streams[4].n_frames);
    sh_intake_close(&intake);
    close_bench(&bench);
}

/* The sink's refusal comes back from the step or flush that met it, with its words. */
static void test_a_sink_that_refuses(void **state)
{
    struct bench bench;
    open_bench(&bench, "force1000");
    (void)sensor_file_write(&bench.simulation, 0.0, bench.path);
    for (size_t n = 0; n < 4; n++) {
        collector_close(&bench.got);
        bench.config.sink = collector_open(&bench.got);
        bench.got.n_events_left = n;
        struct sh_intake *intake = open_intake(&bench);
        enum sh_intake_answer answer = SH_INTAKE_DATA;
        struct sh_error err = {0};
        enum sh_status status = SH_OK;
        while (status == SH_OK && answer != SH_INTAKE_END) {
            status = sh_intake_step(intake, &answer, &err);
        }
        assert_int_equal(status, SH_ERR_BUSY);
        assert_int_equal(err.status, SH_ERR_BUSY);
        assert_string_equal(err.what, "asked to stop");
        sh_intake_close(&intake);
    }
    close_bench(&bench);
}

static void test_ports_that_cannot_be_opened(void **state)
{
    struct bench bench;
    struct sh_intake *intake = NULL;
    open_bench(&bench, "force1000");
    struct sh_error gone = {0};
    assert_int_equal(sh_intake_open(&bench.config, &intake, &gone), SH_ERR_NOT_FOUND);
    assert_null(intake);
    assert_string_equal(gone.where, bench.path);
    struct sh_error folder = {0};
    bench.config.address = bench.scratch.folder;
    assert_int_equal(sh_intake_open(&bench.config, &intake, &folder), SH_ERR_UNSUPPORTED);
    bench.config.address = bench.path;
    (void)sensor_file_write(&bench.simulation, 0.0, bench.path);
    bench.profile->streams[0].n_columns = 0;
    struct sh_error columns = {0};
    assert_int_equal(sh_intake_open(&bench.config, &intake, &columns), SH_ERR_ARGUMENT);
    assert_string_equal(columns.todo, "give 1 to 16 columns");
    assert_null(intake);
    close_bench(&bench);
}

/* Steps until the port's thread has come that far. */
static void step_to(struct sh_intake *intake, enum sh_intake_answer wanted)
{
    enum sh_intake_answer answer = SH_INTAKE_NOTHING_YET;
    struct sh_error err = {0};
    for (int i = 0; i < 1000 && answer == SH_INTAKE_NOTHING_YET; i++) {
        assert_int_equal(sh_intake_step(intake, &answer, &err), SH_OK);
    }
    assert_int_equal(answer, wanted);
}

/* Lines into a pipe, bit by bit, at host time. */
static void test_a_pipe_that_speaks_pauses_and_ends(void **state)
{
    struct bench bench;
    char line[] = "1000,812\n2000,813\n300";
    enum sh_intake_answer answer = SH_INTAKE_END;
    open_bench(&bench, "force1000");
    bench.config.is_replay = false;
    assert_int_equal(mkfifo(bench.path, 0600), 0);
    int end = open(bench.path, O_RDWR | O_NONBLOCK);
    assert_true(end >= 0);
    struct sh_intake *intake = open_intake(&bench);
    struct sh_error err = {0};
    assert_int_equal(sh_intake_step(intake, &answer, &err), SH_OK);
    assert_int_equal(answer, SH_INTAKE_NOTHING_YET);
    assert_int_equal(write(end, line, sizeof line - 1), sizeof line - 1);
    step_to(intake, SH_INTAKE_DATA);
    (void)close(end);
    step_to(intake, SH_INTAKE_END);
    assert_false(sh_intake_is_open(intake));
    assert_int_equal(sh_intake_step(intake, &answer, &err), SH_OK); /* only the clock goes on */
    assert_int_equal(answer, SH_INTAKE_END);
    assert_int_equal(sh_intake_flush(intake, &err), SH_OK); /* the first second is held back */
    const struct sh_frame_counts counts = sh_intake_get_counts(intake, 0);
    assert_int_equal(counts.good, 2);
    assert_int_equal(counts.damaged, 1); /* the line that was cut off */
    assert_int_equal(bench.got.streams[0].n_frames, 2);
    assert_near(bench.got.streams[0].raw[1], 813.0, 0, 0);
    sh_intake_close(&intake);
    close_bench(&bench);
}

/* From then on its streams go on by the host's clock, a second behind, for whoever waits. */
static void test_a_port_that_has_ended_goes_on(void **state)
{
    struct bench bench;
    char line[64];
    open_bench(&bench, "force1000");
    bench.config.is_replay = false;
    assert_int_equal(mkfifo(bench.path, 0600), 0);
    int end = open(bench.path, O_RDWR | O_NONBLOCK);
    assert_true(end >= 0);
    struct sh_intake *intake = open_intake(&bench);
    for (int i = 0; i < 1500; i++) {
        int n = snprintf(line, sizeof line, "%d,812\n", 1000 * i);
        assert_int_equal(write(end, line, (size_t)n), n);
    }
    step_to(intake, SH_INTAKE_DATA);
    (void)close(end);
    enum sh_intake_answer answer = SH_INTAKE_DATA;
    struct sh_error err = {0};
    for (int i = 0; i < 1000 && answer != SH_INTAKE_END; i++) {
        assert_int_equal(sh_intake_step(intake, &answer, &err), SH_OK);
    }
    const struct timespec pause = {.tv_sec = 2, .tv_nsec = 200000000};
    assert_int_equal(nanosleep(&pause, NULL), 0);
    assert_int_equal(sh_intake_step(intake, &answer, &err), SH_OK);
    const struct sh_frame_counts counts = sh_intake_get_counts(intake, 0);
    assert_int_equal(counts.good, 1500);
    assert_true(counts.lost >= 1190); /* 1.5 s came at once, at the beginning */
    assert_int_equal(bench.got.streams[0].n_frames, counts.good + counts.lost);
    sh_intake_close(&intake);
    close_bench(&bench);
}

static void test_opened_again_after_its_end(void **state)
{
    struct bench bench;
    open_bench(&bench, "force1000");
    (void)sensor_file_write(&bench.simulation, 0.0, bench.path);
    struct sh_intake *intake = open_intake(&bench);
    struct sh_error err = {0};
    assert_int_equal(sh_intake_reopen(intake, &err), SH_OK); /* it is open */
    run(intake);
    uint64_t n_good = sh_intake_get_counts(intake, 0).good;
    char away[SCRATCH_PATH_BYTES];
    scratch_path(&bench.scratch, "away", away);
    assert_int_equal(rename(bench.path, away), 0);
    struct sh_error gone = {0};
    assert_int_equal(sh_intake_reopen(intake, &gone), SH_ERR_NOT_FOUND);
    assert_false(sh_intake_is_open(intake));
    assert_int_equal(rename(away, bench.path), 0);
    assert_int_equal(sh_intake_reopen(intake, &err), SH_OK);
    assert_true(sh_intake_is_open(intake));
    step_to(intake, SH_INTAKE_DATA);
    assert_true(sh_intake_get_counts(intake, 0).good > n_good);
    sh_intake_close(&intake);
    sh_intake_close(&intake);
    close_bench(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines_of_a_file),
        cmocka_unit_test(test_packets_of_a_file),
        cmocka_unit_test(test_spoilt_lines),
        cmocka_unit_test(test_spoilt_packets),
        cmocka_unit_test(test_frames_that_do_not_fit),
        cmocka_unit_test(test_streams_are_numbered_behind_those_before),
        cmocka_unit_test(test_a_sink_that_refuses),
        cmocka_unit_test(test_ports_that_cannot_be_opened),
        cmocka_unit_test(test_a_pipe_that_speaks_pauses_and_ends),
        cmocka_unit_test(test_a_port_that_has_ended_goes_on),
        cmocka_unit_test(test_opened_again_after_its_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
