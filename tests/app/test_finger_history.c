/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/finger_history.h"

#include <jansson.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/finger_check.h"
#include "app/recorded.h"
#include "recording/scratch.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"
#include "support/near.h"

#define FOLDERS  4u /* three of the past, and today's */
#define TODAY    3u
#define DRAWS    11u
#define SLIDING  0.6 /* of the fingers' force today, where a sensor lies otherwise */
#define CHANNELS 8

struct place {
    struct scratch scratch;
    char folder[FOLDERS][SCRATCH_PATH_BYTES];
    const char *history[FOLDERS];
    struct sh_thresholds thresholds;
};

/* Sets a member of recording.json, or of the first channel of its last stream. */
static void set_member(const char *folder, bool is_of_channel, const char *key, json_t *value)
{
    json_t *root = json_file_load_in(folder, "recording.json");
    const json_t *streams = json_object_get(root, "streams");
    const json_t *stream = json_array_get(streams, json_array_size(streams) - 1);
    json_t *channel = json_array_get(json_object_get(stream, "channels"), 0);
    assert_int_equal(json_object_set_new(is_of_channel ? channel : root, key, value), 0);
    json_file_store_in(folder, "recording.json", root);
}

static void set_day(const struct place *place, size_t i, unsigned day)
{
    char started[64];
    (void)snprintf(started, sizeof started, "2026-05-%02uT09:30:00.000Z", day);
    set_member(place->folder[i], false, "started", json_string(started));
}

static int open_place(void **state)
{
    static const char *const names[FOLDERS] = {"monday", "tuesday", "wednesday", "today"};
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    place->thresholds = sh_thresholds_default();
    for (size_t i = 0; i < FOLDERS; i++) {
        struct sh_simulation_config config = sh_simulation_config_default();
        config.seed = 40 + i;
        config.set = "thin_force";
        config.athlete = "heron";
        config.n_draws = DRAWS;
        scratch_path(&place->scratch, names[i], place->folder[i]);
        recorded_write(&config, place->folder[i]);
        place->history[i] = place->folder[i];
        set_day(place, i, 4 + (unsigned)i);
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

static struct sh_finger_sum_past read_past(const struct place *place, size_t n_history)
{
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = place->history, .n_history = n_history};
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    struct sh_finger_sum_past past;
    struct sh_error err = {0};
    assert_int_equal(sh_session_json_read(place->folder[TODAY], &session, &kept, &err), SH_OK);
    assert_int_equal(sh_finger_history_read(&config, &session, &past, &err), SH_OK);
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return past;
}

/* Against analyses of the test's own. */
static void test_three_days(void **state)
{
    const struct place *place = *state;
    double mean = 0.0;
    for (size_t i = 0; i < TODAY; i++) {
        const struct sh_passes_config config = {.thresholds = &place->thresholds};
        struct sh_analysis analysis = {0};
        struct sh_finger_sum_usual usual;
        struct sh_error err = {0};
        assert_int_equal(sh_passes_run(place->folder[i], &config, &analysis, &err), SH_OK);
        assert_int_equal(sh_finger_check_find(&analysis, &usual), SH_OK);
        assert_true(usual.n >= 9);
        mean += usual.ratio / 3.0;
        sh_analysis_close(&analysis);
    }
    const struct sh_finger_sum_past past = read_past(place, TODAY);
    assert_int_equal(past.n_sessions, 3);
    assert_near(past.ratio, mean, 0.0, 1e-12);
    assert_true(past.ratio > 0.8 && past.ratio < 1.3);
    assert_int_equal(read_past(place, 2).n_sessions, 0);
}

/* Two recordings of one day are one session. */
static void test_days_not_recordings(void **state)
{
    const struct place *place = *state;
    set_day(place, 1, 4);
    assert_int_equal(read_past(place, TODAY).n_sessions, 0);
    set_day(place, 1, 5);
    assert_int_equal(read_past(place, TODAY).n_sessions, 3);
}

/* What was calibrated otherwise is left out: its ratio may differ for that alone. */
static void test_other_calibration(void **state)
{
    const struct place *place = *state;
    set_member(place->folder[2], true, "calibrated", json_string("2026-01-01"));
    assert_int_equal(read_past(place, TODAY).n_sessions, 0);
    set_member(place->folder[2], true, "calibrated", json_string("2026-05-01"));
    assert_int_equal(read_past(place, TODAY).n_sessions, 3);
}

static struct sh_analysis analyse_today(const struct place *place)
{
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = place->history, .n_history = TODAY};
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_passes_run(place->folder[TODAY], &config, &analysis, &err), SH_OK);
    return analysis;
}

static bool is_of_the_past(const struct sh_analysis *analysis)
{
    for (size_t i = 0; i < analysis->n_quality; i++) {
        if (strstr(analysis->quality[i].text, "in 3 earlier sessions") != NULL) {
            return true;
        }
    }
    return false;
}

/* The fingers' readings become smaller, as where sensors have slid out from under them. */
static void weaken_fingers(const struct place *place)
{
    char path[SCRATCH_PATH_BYTES + 32];
    SF_INFO info = {.format = 0};
    short frame[CHANNELS];
    (void)snprintf(path, sizeof path, "%s/fingers.wav", place->folder[TODAY]);
    SNDFILE *file = sf_open(path, SFM_RDWR, &info);
    assert_non_null(file);
    assert_true(info.channels <= CHANNELS);
    for (sf_count_t i = 0; i < info.frames; i++) {
        assert_int_equal(sf_seek(file, i, SEEK_SET | SFM_READ), i);
        assert_int_equal(sf_readf_short(file, frame, 1), 1);
        for (int c = 0; c < info.channels; c++) {
            frame[c] = (short)(SLIDING * frame[c]);
        }
        assert_int_equal(sf_seek(file, i, SEEK_SET | SFM_WRITE), i);
        assert_int_equal(sf_writef_short(file, frame, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
}

/* All shots alike differ from earlier days: seen, though not within the session. */
static void test_a_whole_session_is_apart(void **state)
{
    const struct place *place = *state;
    struct sh_analysis analysis = analyse_today(place);
    assert_false(is_of_the_past(&analysis));
    sh_analysis_close(&analysis);
    weaken_fingers(place);
    analysis = analyse_today(place);
    assert_true(is_of_the_past(&analysis));
    size_t n_marked = 0;
    for (size_t i = 0; i < analysis.n_shots; i++) {
        n_marked += analysis.shots[i].quality[SH_CODE_QUALITY_FINGER_SUM] ? 1u : 0u;
    }
    assert_true(n_marked >= 9);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_three_days),
        cmocka_unit_test(test_days_not_recordings),
        cmocka_unit_test(test_other_calibration),
        cmocka_unit_test(test_a_whole_session_is_apart),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
