/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/intake_set.h"

#include <stdlib.h>
#include <string.h>

#include "app/sensor_file.h"
#include "recording/collector.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"

#define STEPS_MAX 100000

/* Two sensors in files: the string by itself, the fingers with the bow. */
struct bench {
    struct scratch scratch;
    struct sh_simulation simulation[2];
    char path[2][SCRATCH_PATH_BYTES];
    struct sh_capture_setup setup;
    struct collector got;
};

static struct bench *open_bench(void)
{
    static const char *const sets[] = {"force1000", "fingers_bow"};
    struct bench *bench = calloc(1, sizeof *bench);
    assert_non_null(bench);
    scratch_open(&bench->scratch);
    bench->setup.n_sensors = 2;
    bench->setup.is_replay = true;
    bench->setup.profiles = calloc(2, sizeof *bench->setup.profiles);
    assert_non_null(bench->setup.profiles);
    for (size_t i = 0; i < 2; i++) {
        sensor_file_open_simulation(sets[i], 1, &bench->simulation[i]);
        scratch_path(&bench->scratch, sets[i], bench->path[i]);
        (void)sensor_file_write(&bench->simulation[i], i == 0 ? 0.01 : 0.0, bench->path[i]);
        sh_simulation_make_profile(&bench->simulation[i], &bench->setup.profiles[i]);
        bench->setup.address[i] = bench->path[i];
    }
    return bench;
}

static void close_bench(struct bench *bench)
{
    for (size_t i = 0; i < 2; i++) {
        sh_simulation_close(&bench->simulation[i]);
    }
    collector_close(&bench->got);
    free(bench->setup.profiles);
    scratch_close(&bench->scratch);
    free(bench);
}

static void test_streams_of_all_sensors_in_order(void **state)
{
    struct bench *bench = open_bench();
    struct sh_intake_set set;
    struct sh_error err = {0};
    const struct sh_block_sink sink = collector_open(&bench->got);
    assert_int_equal(sh_intake_set_open(&bench->setup, 0, &sink, &set, &err), SH_OK);
    assert_true(sh_intake_set_is_whole(&set));
    assert_int_equal(sh_intake_set_get_arrival_us(&set), 0);
    bool can_go_on = true;
    for (size_t i = 0; can_go_on; i++) {
        assert_true(i < STEPS_MAX);
        assert_int_equal(sh_intake_set_step(&set, &can_go_on, &err), SH_OK);
    }
    assert_false(sh_intake_set_is_whole(&set)); /* files do not come back */
    assert_true(sh_intake_set_get_arrival_us(&set) > 0);
    assert_int_equal(sh_intake_set_flush(&set, &err), SH_OK);
    struct sh_frame_counts counts[SH_STREAMS_MAX];
    assert_int_equal(sh_intake_set_get_counts(&set, counts), 3);
    uint64_t n_good = 0;
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(bench->got.streams[i].n_frames, counts[i].good + counts[i].lost);
        n_good += counts[i].good;
    }
    assert_int_equal(bench->got.streams[0].n_channels, 1);
    assert_int_equal(bench->got.streams[1].n_channels, 3);
    assert_true(counts[0].damaged > 0);
    const struct sh_frame_counts sum = sh_intake_set_add_up(&set);
    assert_int_equal(sum.good, n_good);
    assert_int_equal(sum.damaged, counts[0].damaged);
    assert_int_equal(sum.lost, counts[0].lost);
    assert_int_equal(sum.skipped_bytes, counts[0].skipped_bytes);
    assert_int_equal(sh_intake_set_get_strange(&set), 0);
    sh_intake_set_close(&set);
    sh_intake_set_close(&set);
    close_bench(bench);
}

static void test_frames_that_fit_no_profile_are_added_up(void **state)
{
    struct bench *bench = open_bench();
    struct sh_intake_set set;
    struct sh_error err = {0};
    const struct sh_block_sink sink = collector_open(&bench->got);
    bench->setup.profiles[1].n_streams = 1;
    assert_int_equal(sh_intake_set_open(&bench->setup, 0, &sink, &set, &err), SH_OK);
    bool can_go_on = true;
    while (can_go_on) {
        assert_int_equal(sh_intake_set_step(&set, &can_go_on, &err), SH_OK);
    }
    assert_true(sh_intake_set_get_strange(&set) > 1000);
    sh_intake_set_close(&set);
    close_bench(bench);
}

static void test_one_port_that_is_not_there(void **state)
{
    struct bench *bench = open_bench();
    struct sh_intake_set set;
    struct sh_error err = {0};
    const struct sh_block_sink sink = collector_open(&bench->got);
    bench->setup.address[1] = "/dev/kiln";
    assert_int_equal(sh_intake_set_open(&bench->setup, 0, &sink, &set, &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "/dev/kiln");
    sh_intake_set_close(&set);
    close_bench(bench);
}

static void test_a_refusal_comes_back(void **state)
{
    struct bench *bench = open_bench();
    struct sh_intake_set set;
    struct sh_error err = {0};
    const struct sh_block_sink sink = collector_open(&bench->got);
    assert_int_equal(sh_intake_set_open(&bench->setup, 0, &sink, &set, &err), SH_OK);
    bench->got.n_events_left = 3;
    bool can_go_on = true;
    enum sh_status status = SH_OK;
    while (can_go_on && status == SH_OK) {
        status = sh_intake_set_step(&set, &can_go_on, &err);
    }
    assert_int_equal(status, SH_ERR_BUSY);
    assert_string_equal(err.what, "asked to stop");
    sh_intake_set_close(&set);
    close_bench(bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_streams_of_all_sensors_in_order),
        cmocka_unit_test(test_frames_that_fit_no_profile_are_added_up),
        cmocka_unit_test(test_one_port_that_is_not_there),
        cmocka_unit_test(test_a_refusal_comes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
