/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/kept_draws.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/passes.h"
#include "app/recorded.h"
#include "recording/scratch.h"
#include "recording/session_json.h"
#include "report/analysis_json.h"
#include "support/cmocka_all.h"

#define DRAWS 3u

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES]; /* analysis.json */
    struct sh_session session;
    struct sh_kept_draws analysed;
};

static struct sh_kept_draws read_draws(const struct place *place, bool may_analyze)
{
    struct sh_kept_draws draws = {0};
    struct sh_error err = {0};
    assert_int_equal(
        sh_kept_draws_read(place->folder, &place->session, may_analyze, &draws, &err), SH_OK);
    return draws;
}

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_error err = {0};
    assert_non_null(place);
    config.set = "fingers";
    config.n_draws = DRAWS;
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "evening", place->folder);
    scratch_path(&place->scratch, "evening/analysis.json", place->json);
    recorded_write(&config, place->folder);
    assert_int_equal(sh_session_json_read(place->folder, &place->session, NULL, &err), SH_OK);
    place->analysed = read_draws(place, true);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_kept_draws_close(&place->analysed);
    sh_session_close(&place->session);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

/* The analysis as `capture` leaves it beside the samples. */
static char *make_analysis(const struct place *place)
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config config = {.thresholds = &thresholds};
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_passes_run(place->folder, &config, &analysis, &err), SH_OK);
    assert_int_equal(sh_analysis_json_write(&analysis, &text), SH_OK);
    sh_analysis_close(&analysis);
    return text.data;
}

static void check_same(const struct sh_quantity *a, const struct sh_quantity *b)
{
    assert_int_equal(a->why, b->why);
    if (sh_quantity_is_known(a)) {
        assert_memory_equal(&a->value, &b->value, sizeof a->value);
        assert_memory_equal(&a->u, &b->u, sizeof a->u);
    }
}

static void check_draws(const struct sh_kept_draws *a, const struct sh_kept_draws *b)
{
    assert_int_equal(a->n_draws, b->n_draws);
    for (size_t i = 0; i < a->n_draws; i++) {
        assert_int_equal(a->draws[i].is_let_down, b->draws[i].is_let_down);
        for (size_t k = 0; k < SH_DAY_LOAD_FINGERS; k++) {
            check_same(&a->draws[i].impulse_n_s[k], &b->draws[i].impulse_n_s[k]);
            check_same(&a->draws[i].peak_n[k], &b->draws[i].peak_n[k]);
        }
    }
}

static void test_analysed(void **state)
{
    const struct place *place = *state;
    assert_int_equal(place->analysed.n_draws, DRAWS);
    for (size_t k = 0; k < SH_DAY_LOAD_FINGERS; k++) {
        const struct sh_quantity *impulse = &place->analysed.draws[0].impulse_n_s[k];
        assert_true(sh_quantity_is_known(impulse));
        assert_true(impulse->value > 20.0 && impulse->u > 0.0);
    }
}

/* To the bit; the file is not asked for more than reading. */
static void test_kept_is_what_is_analysed(void **state)
{
    const struct place *place = *state;
    char *analysis = make_analysis(place);
    scratch_write(place->json, analysis, strlen(analysis));
    struct sh_kept_draws kept = read_draws(place, false);
    check_draws(&kept, &place->analysed);
    sh_kept_draws_close(&kept);
    free(analysis);
}

static void check_not_used(const struct place *place)
{
    struct sh_kept_draws draws = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_kept_draws_read(place->folder, &place->session, false, &draws, &err),
                     SH_ERR_NOT_FOUND);
    assert_null(draws.draws);
    assert_non_null(strstr(err.what, "not been analysed"));
}

static void replace(char *text, const char *from, const char *to)
{
    char *at = strstr(text, from);
    assert_non_null(at);
    assert_int_equal(strlen(from), strlen(to));
    memcpy(at, to, strlen(to));
}

/* Another version's, cut off, no JSON, another form, older than recording.json: analysed anew.
 */
static void test_an_analysis_that_cannot_be_used(void **state)
{
    const struct place *place = *state;
    char *analysis = make_analysis(place);
    scratch_write(place->json, analysis, strlen(analysis) / 2);
    check_not_used(place);
    scratch_write(place->json, "[]", 2);
    check_not_used(place);
    scratch_write(place->json, "", 0);
    check_not_used(place);
    char *other = strdup(analysis);
    assert_non_null(other);
    replace(other, "stringhand " SH_VERSION, "stringhand 9.9.9");
    scratch_write(place->json, other, strlen(other));
    check_not_used(place);
    (void)strcpy(other, analysis);
    replace(other, "\"measures\"", "\"mxasures\"");
    scratch_write(place->json, other, strlen(other));
    check_not_used(place);
    scratch_write(place->json, analysis, strlen(analysis));
    const struct timespec old[2] = {{1000, 0}, {1000, 0}};
    assert_int_equal(utimensat(-1, place->json, old, 0), 0);
    check_not_used(place);
    free(other);
    free(analysis);
    struct sh_kept_draws draws = read_draws(place, true);
    check_draws(&draws, &place->analysed);
    sh_kept_draws_close(&draws);
    assert_int_equal(remove(place->json), 0);
    check_not_used(place);
}

static void write_analysis(const struct place *place, const struct sh_analysis *analysis)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_json_write(analysis, &text), SH_OK);
    scratch_write(place->json, text.data, text.n_bytes);
    sh_text_close(&text);
}

static void lose(struct sh_shot_record *record, enum sh_measure measure, size_t finger)
{
    *sh_catalog_get_mutable(&record->measures, measure, finger) =
        sh_quantity_unknown(SH_WHY_TOO_SHORT);
}

/* Reasons are taken from what both ways know: the shot's quality. */
static void test_why_a_figure_is_unknown(void **state)
{
    struct place place = *(struct place *)*state;
    struct sh_analysis analysis;
    struct sh_shot_record record = {.shot = {.n = 1, .kind = SH_SHOT_SHOT}};
    sh_analysis_init(&analysis, "evening", "wren");
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        lose(&record, SH_MEASURE_FINGER_PEAK, i);
        lose(&record, SH_MEASURE_FINGER_IMPULSE, i);
    }
    record.quality[SH_CODE_QUALITY_CLIPPED] = true;
    record.quality[SH_CODE_QUALITY_GAP] = true;
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    record.quality[SH_CODE_QUALITY_CLIPPED] = false;
    record.shot.kind = SH_SHOT_LET_DOWN;
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_IMPULSE, 0) =
        sh_quantity_known(1.5, 0.1);
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    record.quality[SH_CODE_QUALITY_GAP] = false;
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    write_analysis(&place, &analysis);
    sh_analysis_close(&analysis);
    struct sh_kept_draws draws = read_draws(&place, false);
    assert_int_equal(draws.n_draws, 3);
    assert_int_equal(draws.draws[0].impulse_n_s[0].why, SH_WHY_CLIPPED);
    assert_true(draws.draws[1].is_let_down);
    assert_int_equal(draws.draws[1].impulse_n_s[0].why, SH_WHY_KNOWN);
    assert_int_equal(draws.draws[1].impulse_n_s[1].why, SH_WHY_GAP);
    assert_int_equal(draws.draws[1].peak_n[0].why, SH_WHY_GAP);
    assert_int_equal(draws.draws[2].peak_n[2].why, SH_WHY_UNRESOLVED);
    sh_kept_draws_close(&draws);
    place.session.n_streams = 0; /* no finger has a channel */
    draws = read_draws(&place, false);
    assert_int_equal(draws.draws[0].impulse_n_s[2].why, SH_WHY_NO_CHANNEL);
    sh_kept_draws_close(&draws);
    assert_int_equal(remove(place.json), 0);
}

static void test_a_recording_that_cannot_be_read(void **state)
{
    const struct place *place = *state;
    struct sh_kept_draws draws = {0};
    struct sh_error err = {0};
    assert_int_equal(
        sh_kept_draws_read(place->scratch.folder, &place->session, true, &draws, &err),
        SH_ERR_NOT_FOUND);
    assert_true(err.what[0] != '\0');
    assert_null(draws.draws);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_analysed),
        cmocka_unit_test(test_kept_is_what_is_analysed),
        cmocka_unit_test(test_an_analysis_that_cannot_be_used),
        cmocka_unit_test(test_why_a_figure_is_unknown),
        cmocka_unit_test(test_a_recording_that_cannot_be_read),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
