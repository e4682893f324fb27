/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/simulation.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "recording/scratch.h"
#include "sensor/profile_format.h"
#include "sim/archer.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void open_simulation(const struct sh_simulation_config *config,
                            struct sh_simulation *simulation)
{
    struct sh_error err = {0};
    assert_int_equal(sh_simulation_open(config, simulation, &err), SH_OK);
}

static void test_the_default_evening(void **state)
{
    const struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    open_simulation(&config, &simulation);
    assert_int_equal(simulation.plan->n_draws, 12);
    assert_int_equal(simulation.n_sources, 2);
    assert_int_equal(simulation.session->n_streams, 2);
    assert_string_equal(simulation.session->streams[0].stream.name, "string");
    assert_string_equal(simulation.session->athlete, "wren");
    assert_int_equal(simulation.session->n_marks, 0);
    assert_int_equal(simulation.session->bow.clicker, SH_ANSWER_YES);
    assert_near(simulation.session->bow.draw_weight_n.value, config.draw_weight_n, 0, 0);
    for (size_t i = 0; i < simulation.plan->n_draws; i++) {
        assert_int_equal(simulation.plan->truth[i].faults, 0);
    }
    sh_simulation_close(&simulation);
    assert_null(simulation.plan);
    assert_null(simulation.session);
}

static void test_every_set_has_its_streams(void **state)
{
    size_t n_sets = 0;
    for (const char *name = NULL; (name = sh_channel_set_get_name(n_sets)) != NULL; n_sets++) {
        struct sh_simulation_config config = sh_simulation_config_default();
        config.set = name;
        config.n_draws = 1;
        struct sh_simulation simulation;
        open_simulation(&config, &simulation);
        assert_in_range(simulation.n_sources, 1, SH_CHANNEL_SET_STREAMS_MAX);
        assert_int_equal(simulation.session->n_streams, simulation.n_sources);
        sh_simulation_close(&simulation);
    }
    assert_int_equal(n_sets, 12);
}

static void test_what_is_asked_for_is_there(void **state)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    config.athlete = "plover";
    config.n_draws = 14;
    config.clock_s = 120.0;
    config.draw_weight_n = 120.0;
    config.faults = SH_ARCHER_CREEP;
    config.fault_ratio = 1.0;
    struct sh_simulation simulation;
    open_simulation(&config, &simulation);
    const struct sh_session *session = simulation.session;
    assert_string_equal(session->athlete, "plover");
    assert_near(session->bow.draw_weight_n.value, 120.0, 0, 0);
    assert_int_equal(session->n_marks, simulation.plan->n_ends);
    assert_int_equal(simulation.plan->n_ends, 3);
    for (size_t i = 0; i < session->n_marks; i++) {
        assert_int_equal(session->marks[i].kind, SH_MARK_CLOCK);
        assert_near(session->marks[i].t_s, simulation.plan->end[i].begin_s, 0, 0);
        assert_near(session->marks[i].seconds.value, 120.0, 0, 0);
        assert_near(session->marks[i].arrows.value, 6.0, 0, 0);
    }
    for (size_t i = 0; i < simulation.plan->n_draws; i++) {
        assert_int_equal(simulation.plan->truth[i].faults, SH_ARCHER_CREEP);
    }
    sh_simulation_close(&simulation);
}

/* A heavy and a light bow stay within what the bow's law takes. */
static void test_bows_at_the_limits(void **state)
{
    static const double weight_n[] = {40.0, 300.0};
    static const double stiffness_n_per_m[] = {280.0, 600.0};
    for (size_t i = 0; i < 2; i++) {
        struct sh_simulation_config config = sh_simulation_config_default();
        config.draw_weight_n = weight_n[i];
        struct sh_simulation simulation;
        open_simulation(&config, &simulation);
        assert_near(simulation.plan->config.bow.stiffness_n_per_m, stiffness_n_per_m[i], 0, 0);
        /* stated as it was measured: within four of its uncertainties, but not exact */
        const struct sh_quantity *stated = &simulation.session->bow.stiffness_n_per_m;
        assert_near(stated->value, stiffness_n_per_m[i], 4.0 * stated->u, 0);
        assert_true(fabs(stated->value - stiffness_n_per_m[i]) > 1e-3);
        sh_simulation_close(&simulation);
    }
}

static void test_the_end_of_the_range(void **state)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    config.force_range_n = 150.0;
    open_simulation(&config, &simulation);
    const struct sh_channel *force = &simulation.session->streams[0].stream.channel[0];
    assert_near(force->range_high, floor(force->zero + 150.0 / force->scale), 0, 0);
    const struct sh_channel *bow = &simulation.session->streams[1].stream.channel[0];
    assert_near(bow->range_high, 4096.0, 1.0, 0);
    sh_simulation_close(&simulation);
}

static void test_one_device_has_one_clock(void **state)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    open_simulation(&config, &simulation);
    assert_true(fabs(simulation.source[0].clock_ppm - simulation.source[1].clock_ppm) > 0.0);
    sh_simulation_close(&simulation);
    config.is_one_device = true;
    open_simulation(&config, &simulation);
    assert_near(simulation.source[1].clock_ppm, simulation.source[0].clock_ppm, 0, 0);
    assert_near(simulation.source[1].offset_error_s, simulation.source[0].offset_error_s, 0, 0);
    sh_simulation_close(&simulation);
}

static void test_what_is_refused(void **state)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    struct sh_error unknown = {0};
    config.set = "smoke";
    assert_int_equal(sh_simulation_open(&config, &simulation, &unknown), SH_ERR_NOT_FOUND);
    assert_true(strlen(unknown.what) > 0);
    sh_simulation_close(&simulation);
    struct sh_error none = {0};
    config = sh_simulation_config_default();
    config.n_draws = 0;
    assert_int_equal(sh_simulation_open(&config, &simulation, &none), SH_ERR_ARGUMENT);
    sh_simulation_close(&simulation);
    sh_simulation_close(&simulation);
}

/* The profile, written and read again, reads what the simulated sensor sends. */
static void test_profile_reads_the_sensor(void **state)
{
    static const char *const sets[] = {"force1000", "force_bow", "all"};
    static const enum sh_framing framing[] = {SH_FRAMING_TEXT, SH_FRAMING_PACKETS,
                                              SH_FRAMING_PACKETS};
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_profile *profile = calloc(2, sizeof *profile);
    assert_non_null(profile);
    scratch_open(&scratch);
    scratch_path(&scratch, "sensor.ini", path);
    for (size_t i = 0; i < sizeof sets / sizeof sets[0]; i++) {
        struct sh_simulation_config config = sh_simulation_config_default();
        config.set = sets[i];
        config.n_draws = 1;
        struct sh_simulation simulation;
        struct sh_error err = {0};
        open_simulation(&config, &simulation);
        sh_simulation_make_profile(&simulation, &profile[0]);
        assert_int_equal(sh_profile_format_write(&profile[0], path, &err), SH_OK);
        assert_int_equal(sh_profile_read(path, &profile[1], &err), SH_OK);
        assert_int_equal(profile[1].framing, framing[i]);
        assert_int_equal(profile[1].n_streams, simulation.n_sources);
        for (size_t k = 0; k < simulation.n_sources; k++) {
            const struct sh_stream *sent = &simulation.source[k].stream;
            const struct sh_stream *read = &profile[1].streams[k].stream;
            assert_string_equal(read->name, sent->name);
            assert_near(read->rate_hz, sent->rate_hz, 0, 0);
            assert_int_equal(read->n_channels, sent->n_channels);
            assert_near(read->channel[0].scale, sent->channel[0].scale, 0, 0);
        }
        sh_simulation_close(&simulation);
    }
    free(profile);
    scratch_close(&scratch);
}

static void test_truth_is_what_was_planned(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    struct sh_truth_set *read = NULL;
    struct sh_error err = {0};
    config.seed = 77;
    config.n_draws = 3;
    open_simulation(&config, &simulation);
    scratch_open(&scratch);
    scratch_path(&scratch, "truth.json", path);
    assert_int_equal(sh_simulation_write_truth(&simulation, path, &err), SH_OK);
    assert_int_equal(sh_truth_json_read(path, &read, &err), SH_OK);
    assert_int_equal(read->seed, 77);
    assert_int_equal(read->n_truths, 3);
    assert_near(read->duration_s, simulation.plan->duration_s, 0, 0);
    assert_near(read->truth[2].release_s, simulation.plan->truth[2].release_s, 0, 0);
    sh_truth_json_close(&read);
    scratch_close(&scratch);
    sh_simulation_close(&simulation);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_default_evening),
        cmocka_unit_test(test_every_set_has_its_streams),
        cmocka_unit_test(test_what_is_asked_for_is_there),
        cmocka_unit_test(test_bows_at_the_limits),
        cmocka_unit_test(test_the_end_of_the_range),
        cmocka_unit_test(test_one_device_has_one_clock),
        cmocka_unit_test(test_what_is_refused),
        cmocka_unit_test(test_profile_reads_the_sensor),
        cmocka_unit_test(test_truth_is_what_was_planned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
