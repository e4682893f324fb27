/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/analysis_store.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "app/passes.h"
#include "app/recorded.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define TOLD_HOLD_S 77.5 /* no draw of the recording is as long */

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_thresholds thresholds;
    struct sh_analysis analysis;
};

/* One evening of heron and its analysis. */
static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    struct sh_simulation_config simulation = sh_simulation_config_default();
    simulation.seed = 31;
    simulation.set = "force1000";
    simulation.athlete = "heron";
    simulation.n_draws = 2;
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "monday", place->folder);
    recorded_write(&simulation, place->folder);
    place->thresholds = sh_thresholds_default();
    const struct sh_passes_config config = {.thresholds = &place->thresholds};
    struct sh_error err = {0};
    assert_int_equal(sh_passes_run(place->folder, &config, &place->analysis, &err), SH_OK);
    assert_int_equal(place->analysis.n_shots, 2);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_analysis_close(&place->analysis);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

static void format_path(const struct place *place, const char *file, char path[2048])
{
    (void)snprintf(path, 2048, "%s/%s", place->folder, file);
}

/* The first hold that the store gives. */
static double get_hold_s(const struct place *place)
{
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_analysis_store_get(place->folder, &place->thresholds, &analysis, &err),
                     SH_OK);
    assert_string_equal(analysis.recording, "monday");
    assert_int_equal(analysis.n_shots, 2);
    const double hold_s =
        sh_catalog_get(&analysis.shots[0].measures, SH_MEASURE_HOLD_TIME, 0)->value;
    sh_analysis_close(&analysis);
    return hold_s;
}

static double get_true_hold_s(const struct place *place)
{
    return sh_catalog_get(&place->analysis.shots[0].measures, SH_MEASURE_HOLD_TIME, 0)->value;
}

/* Writes an analysis.json that tells another hold, so that it shows who was asked. */
static void write_told(struct place *place)
{
    struct sh_quantity *hold =
        sh_catalog_get_mutable(&place->analysis.shots[0].measures, SH_MEASURE_HOLD_TIME, 0);
    const struct sh_quantity kept = *hold;
    struct sh_error err = {0};
    *hold = sh_quantity_known(TOLD_HOLD_S, 0.01);
    assert_int_equal(sh_analysis_store_write(place->folder, &place->analysis, &err), SH_OK);
    *hold = kept;
}

static void test_without_a_file_it_analyses(void **state)
{
    const struct place *place = *state;
    assert_false(sh_analysis_store_is_fresh(place->folder));
    assert_near(get_hold_s(place), get_true_hold_s(place), 0.0, 0.0);
    assert_false(sh_analysis_store_is_fresh(place->folder)); /* nothing was written */
}

static void test_a_fresh_file_is_taken(void **state)
{
    write_told(*state);
    const struct place *place = *state;
    assert_true(sh_analysis_store_is_fresh(place->folder));
    assert_near(get_hold_s(place), TOLD_HOLD_S, 0.0, 0.0);
}

static void test_a_changed_recording_is_analysed_again(void **state)
{
    char path[2048];
    write_told(*state);
    const struct place *place = *state;
    format_path(place, "recording.json", path);
    struct timespec times[2] = {{.tv_nsec = UTIME_NOW}, {.tv_nsec = UTIME_NOW}};
    struct timespec pause = {.tv_nsec = 20000000}; /* coarser than file systems' clocks */
    (void)nanosleep(&pause, NULL);
    assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
    assert_false(sh_analysis_store_is_fresh(place->folder));
    assert_near(get_hold_s(place), get_true_hold_s(place), 0.0, 0.0);
}

static void test_a_broken_file_is_passed_over(void **state)
{
    const struct place *place = *state;
    char path[2048];
    format_path(place, SH_ANALYSIS_STORE_FILE, path);
    scratch_write(path, "{\"format\": \"stri", 15);
    assert_near(get_hold_s(place), get_true_hold_s(place), 0.0, 0.0);
}

static void test_no_recording(void **state)
{
    const struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    scratch_path(&place->scratch, "nowhere", path);
    assert_false(sh_analysis_store_is_fresh(path));
    assert_int_equal(sh_analysis_store_get(path, &place->thresholds, &analysis, &err),
                     SH_ERR_NOT_FOUND);
    assert_int_equal(sh_analysis_store_write(path, &place->analysis, &err), SH_ERR_NOT_FOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_without_a_file_it_analyses),
        cmocka_unit_test(test_a_fresh_file_is_taken),
        cmocka_unit_test(test_a_changed_recording_is_analysed_again),
        cmocka_unit_test(test_a_broken_file_is_passed_over),
        cmocka_unit_test(test_no_recording),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
