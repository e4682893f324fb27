/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/history_folders.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/recorded.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define FOLDERS 2u
#define DRAWS   3u

struct place {
    struct scratch scratch;
    char folder[FOLDERS][SCRATCH_PATH_BYTES];
    const char *history[FOLDERS];
    struct sh_thresholds thresholds;
};

/* Two evenings of heron: the first without a clock, the second under one. */
static int open_place(void **state)
{
    static const char *const names[FOLDERS] = {"monday", "tuesday"};
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    place->thresholds = sh_thresholds_default();
    for (size_t i = 0; i < FOLDERS; i++) {
        struct sh_simulation_config config = sh_simulation_config_default();
        config.seed = 20 + i;
        config.set = "force1000";
        config.athlete = "heron";
        config.n_draws = DRAWS;
        config.clock_s = i == 1 ? 180.0 : 0.0;
        scratch_path(&place->scratch, names[i], place->folder[i]);
        recorded_write(&config, place->folder[i]);
        place->history[i] = place->folder[i];
    }
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

static int compare(const void *a, const void *b)
{
    const double *x = a;
    const double *y = b;
    return *x < *y ? -1 : *x > *y ? 1 : 0;
}

static double find_median(double *value, size_t n)
{
    qsort(value, n, sizeof *value, compare);
    return n % 2 == 1 ? value[n / 2] : 0.5 * (value[n / 2 - 1] + value[n / 2]);
}

/* Values of a measure in the shots of all folders, by analyses of the test's own. */
static size_t
collect(const struct place *place, enum sh_measure measure, double value[FOLDERS * DRAWS])
{
    size_t n = 0;
    for (size_t i = 0; i < FOLDERS; i++) {
        const struct sh_passes_config config = {.thresholds = &place->thresholds};
        struct sh_analysis analysis = {0};
        struct sh_error err = {0};
        assert_int_equal(sh_passes_run(place->folder[i], &config, &analysis, &err), SH_OK);
        for (size_t k = 0; k < analysis.n_shots; k++) {
            const struct sh_quantity *quantity =
                sh_catalog_get(&analysis.shots[k].measures, measure, 0);
            assert_true(n < FOLDERS * DRAWS);
            if (sh_quantity_is_known(quantity)) {
                value[n++] = quantity->value;
            }
        }
        sh_analysis_close(&analysis);
    }
    return n;
}

static void read_history(const struct place *place,
                         size_t n_folders,
                         struct sh_analysis *analysis,
                         struct sh_baseline *baseline)
{
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = place->history, .n_history = n_folders};
    struct sh_error err = {0};
    sh_analysis_init(analysis, "today", "heron");
    assert_int_equal(sh_history_folders_read(&config, analysis, baseline, &err), SH_OK);
}

static void test_median_and_spread_of_all_shots(void **state)
{
    const struct place *place = *state;
    static const enum sh_measure measures[] = {SH_MEASURE_HOLD_TIME, SH_MEASURE_HOLD_FORCE,
                                               SH_MEASURE_TREMOR_RMS};
    static const size_t places[] = {SH_MEASURE_HOLD_TIME_FIRST, SH_MEASURE_HOLD_FORCE_FIRST,
                                    SH_MEASURE_TREMOR_RMS_FIRST};
    struct sh_analysis analysis;
    struct sh_baseline baseline;
    read_history(place, FOLDERS, &analysis, &baseline);
    for (size_t i = 0; i < sizeof measures / sizeof measures[0]; i++) {
        double value[FOLDERS * DRAWS];
        size_t n = collect(place, measures[i], value);
        const struct sh_baseline_place *usual = &baseline.place[places[i]];
        assert_int_equal(n, FOLDERS * DRAWS);
        assert_int_equal(usual->n, n);
        double median = find_median(value, n);
        assert_near(usual->median, median, 0, 1e-12);
        for (size_t k = 0; k < n; k++) {
            value[k] = fabs(value[k] - median);
        }
        assert_near(usual->robust_sd, 1.4826 * find_median(value, n), 0, 1e-12);
    }
    sh_analysis_close(&analysis);
}

static void test_what_no_channel_shows_stays_unknown(void **state)
{
    const struct place *place = *state;
    struct sh_analysis analysis;
    struct sh_baseline baseline;
    read_history(place, FOLDERS, &analysis, &baseline);
    assert_int_equal(baseline.place[SH_MEASURE_RING_FIRST].n, 0);
    assert_int_equal(baseline.place[SH_MEASURE_FINGER_SHARE_FIRST].n, 0);
    sh_analysis_close(&analysis);
}

/* Only arrows under a clock count for the set-up's quantile: those of tuesday. */
static void test_clocked_arrows(void **state)
{
    const struct place *place = *state;
    struct sh_analysis analysis;
    struct sh_baseline baseline;
    read_history(place, 1, &analysis, &baseline);
    assert_int_equal(baseline.n_clocked, 0);
    sh_analysis_close(&analysis);
    read_history(place, FOLDERS, &analysis, &baseline);
    assert_int_equal(baseline.n_clocked, DRAWS);
    double value[FOLDERS * DRAWS];
    size_t n = collect(place, SH_MEASURE_SETUP_TIME, value);
    assert_int_equal(n, FOLDERS * DRAWS - 1); /* monday's first arrow follows nothing */
    double *clocked = value + DRAWS - 1;
    qsort(clocked, DRAWS, sizeof *clocked, compare);
    assert_true(baseline.set_up_quantile_s >= clocked[0]);
    assert_true(baseline.set_up_quantile_s <= clocked[1]); /* 5 % of three lies between them */
    sh_analysis_close(&analysis);
}

static void test_names_in_their_order(void **state)
{
    const struct place *place = *state;
    struct sh_analysis analysis;
    struct sh_baseline baseline;
    read_history(place, FOLDERS, &analysis, &baseline);
    assert_int_equal(analysis.n_history, FOLDERS);
    assert_string_equal(analysis.history[0], "monday");
    assert_string_equal(analysis.history[1], "tuesday");
    assert_int_equal(analysis.n_shots, 0);
    sh_analysis_close(&analysis);
}

static void test_another_athlete_is_refused(void **state)
{
    const struct place *place = *state;
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = place->history, .n_history = FOLDERS};
    struct sh_analysis analysis;
    struct sh_baseline baseline;
    struct sh_error err = {0};
    sh_analysis_init(&analysis, "today", "teal");
    assert_int_equal(sh_history_folders_read(&config, &analysis, &baseline, &err),
                     SH_ERR_ARGUMENT);
    assert_string_equal(err.what, "this recording is of 'heron'");
    assert_string_equal(err.where, place->folder[0]);
    assert_string_equal(err.todo, "compare an athlete with her own recordings");
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_median_and_spread_of_all_shots),
        cmocka_unit_test(test_what_no_channel_shows_stays_unknown),
        cmocka_unit_test(test_clocked_arrows),
        cmocka_unit_test(test_names_in_their_order),
        cmocka_unit_test(test_another_athlete_is_refused),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
