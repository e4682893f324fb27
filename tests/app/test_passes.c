/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/passes.h"

#include <stdlib.h>
#include <string.h>

#include "app/recorded.h"
#include "recording/scratch.h"
#include "report/analysis_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAWS 2u

struct place {
    struct scratch scratch;
    char wren[SCRATCH_PATH_BYTES];
    char earlier[SCRATCH_PATH_BYTES];
    char rook[SCRATCH_PATH_BYTES];
    struct sh_thresholds thresholds;
};

static void
record(uint64_t seed, const char *athlete, const char *set, size_t n_draws, const char *folder)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    config.seed = seed;
    config.athlete = athlete;
    config.set = set;
    config.n_draws = n_draws;
    recorded_write(&config, folder);
}

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    place->thresholds = sh_thresholds_default();
    scratch_path(&place->scratch, "2026-05-14_0930_wren", place->wren);
    scratch_path(&place->scratch, "earlier", place->earlier);
    scratch_path(&place->scratch, "rook", place->rook);
    record(7, "wren", "force_bow", DRAWS, place->wren);
    record(8, "wren", "force1000", 1, place->earlier);
    record(9, "rook", "force1000", 1, place->rook);
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

static char *make_json(const struct sh_analysis *analysis)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_json_write(analysis, &text), SH_OK);
    return text.data; /* the caller frees it */
}

static void
run(const char *folder, const struct sh_passes_config *config, struct sh_analysis *out)
{
    struct sh_error err = {0};
    enum sh_status status = sh_passes_run(folder, config, out, &err);
    if (status != SH_OK) {
        fail_msg("%s: %s", sh_status_name(status), err.what);
    }
}

static size_t count_changes(const struct sh_analysis *analysis)
{
    size_t n = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *shot = &analysis->shots[i];
        n += shot->is_kind_changed ? 1 : 0;
        for (size_t k = 0; k < SH_EVENT_COUNT; k++) {
            n += shot->is_event_changed[k] ? 1 : 0;
        }
    }
    return n;
}

static void test_the_first_pass_alone(void **state)
{
    const struct place *place = *state;
    const struct sh_passes_config config = {.thresholds = &place->thresholds,
                                            .is_first_only = true};
    struct sh_analysis first = {0};
    run(place->wren, &config, &first);
    assert_string_equal(first.recording, "2026-05-14_0930_wren");
    assert_string_equal(first.athlete, "wren");
    assert_int_equal(first.n_shots, DRAWS);
    assert_int_equal(count_changes(&first), 0);
    assert_int_equal(first.n_history, 0);
    assert_true(first.duration_s > 20.0);
    sh_analysis_close(&first);
}

/* The clock of the simulated sensors drifts, so reading between its anchors moves events. */
static void test_the_second_pass_says_what_it_moved(void **state)
{
    const struct place *place = *state;
    const struct sh_passes_config first_only = {.thresholds = &place->thresholds,
                                                .is_first_only = true};
    const struct sh_passes_config both = {.thresholds = &place->thresholds};
    struct sh_analysis first = {0};
    struct sh_analysis second = {0};
    run(place->wren, &first_only, &first);
    run(place->wren, &both, &second);
    assert_int_equal(second.n_shots, DRAWS);
    assert_true(count_changes(&second) > 0);
    for (size_t i = 0; i < DRAWS; i++) {
        const struct sh_quantity *before = &first.shots[i].shot.event_s[SH_EVENT_RELEASE];
        const struct sh_quantity *after = &second.shots[i].shot.event_s[SH_EVENT_RELEASE];
        assert_near(after->value, before->value, 0.002, 0);
        bool is_same = memcmp(&before->value, &after->value, sizeof before->value) == 0 &&
                       memcmp(&before->u, &after->u, sizeof before->u) == 0;
        assert_true(second.shots[i].is_event_changed[SH_EVENT_RELEASE] || is_same);
    }
    sh_analysis_close(&first);
    sh_analysis_close(&second);
}

static void test_the_same_again_to_the_byte(void **state)
{
    const struct place *place = *state;
    const char *history[] = {place->earlier};
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = history, .n_history = 1};
    struct sh_analysis once = {0};
    struct sh_analysis again = {0};
    run(place->wren, &config, &once);
    run(place->wren, &config, &again);
    char *a = make_json(&once);
    char *b = make_json(&again);
    assert_string_equal(a, b);
    free(a);
    free(b);
    sh_analysis_close(&once);
    sh_analysis_close(&again);
}

static void test_slashes_behind_the_name(void **state)
{
    const struct place *place = *state;
    char folder[SCRATCH_PATH_BYTES];
    const struct sh_passes_config config = {.thresholds = &place->thresholds,
                                            .is_first_only = true};
    struct sh_analysis analysis = {0};
    scratch_path(&place->scratch, "2026-05-14_0930_wren//", folder);
    run(folder, &config, &analysis);
    assert_string_equal(analysis.recording, "2026-05-14_0930_wren");
    sh_analysis_close(&analysis);
}

struct watched {
    size_t n;
    size_t n_most; /* then it refuses */
};

static enum sh_status watch(void *context,
                            const struct sh_shot_record *shot,
                            const struct sh_shot_view *view,
                            struct sh_error *err)
{
    struct watched *watched = context;
    assert_int_equal(shot->shot.n, watched->n + 1);
    assert_int_equal(view->n_streams, 2);
    assert_true(view->force.is_present);
    return watched->n++ < watched->n_most
               ? SH_OK
               : sh_error_set(err, SH_ERR_BUSY, "watcher", NULL, "seen enough");
}

/* It sees the last pass only, each shot once. */
static void test_a_watcher_sees_each_shot_once(void **state)
{
    const struct place *place = *state;
    for (int i = 0; i < 2; i++) {
        struct watched watched = {.n_most = DRAWS};
        const struct sh_passes_config config = {.thresholds = &place->thresholds,
                                                .is_first_only = i == 0,
                                                .watcher = {watch, &watched}};
        struct sh_analysis analysis = {0};
        run(place->wren, &config, &analysis);
        assert_int_equal(watched.n, DRAWS);
        sh_analysis_close(&analysis);
    }
    struct watched refusing = {.n_most = 1};
    const struct sh_passes_config config = {.thresholds = &place->thresholds,
                                            .watcher = {watch, &refusing}};
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_passes_run(place->wren, &config, &analysis, &err), SH_ERR_BUSY);
    assert_string_equal(err.what, "seen enough");
    assert_null(analysis.shots); /* untouched */
}

static void test_history_is_named_and_used(void **state)
{
    const struct place *place = *state;
    const char *history[] = {place->earlier, place->wren};
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = history, .n_history = 2};
    struct sh_analysis analysis = {0};
    run(place->wren, &config, &analysis);
    assert_int_equal(analysis.n_history, 2);
    assert_string_equal(analysis.history[0], "earlier");
    assert_string_equal(analysis.history[1], "2026-05-14_0930_wren");
    assert_int_equal(analysis.n_shots, DRAWS); /* those of the history are not its shots */
    sh_analysis_close(&analysis);
}

static void test_history_of_another_athlete_is_refused(void **state)
{
    const struct place *place = *state;
    const char *history[] = {place->earlier, place->rook};
    const struct sh_passes_config config = {
        .thresholds = &place->thresholds, .history = history, .n_history = 2};
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_passes_run(place->wren, &config, &analysis, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.what, "this recording is of 'rook'");
    assert_string_equal(err.where, place->rook);
    assert_null(analysis.shots);
}

static void test_folders_that_cannot_be_used(void **state)
{
    const struct place *place = *state;
    char folder[SCRATCH_PATH_BYTES];
    const char *history[] = {folder};
    const struct sh_passes_config plain = {.thresholds = &place->thresholds};
    const struct sh_passes_config with_history = {
        .thresholds = &place->thresholds, .history = history, .n_history = 1};
    struct sh_analysis analysis = {0};
    struct sh_error gone = {0};
    scratch_path(&place->scratch, "none", folder);
    assert_int_equal(sh_passes_run(folder, &plain, &analysis, &gone), SH_ERR_NOT_FOUND);
    struct sh_error gone_history = {0};
    assert_int_equal(sh_passes_run(place->wren, &with_history, &analysis, &gone_history),
                     SH_ERR_NOT_FOUND);
    assert_non_null(strstr(gone_history.where, "none"));
    assert_null(analysis.shots);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_first_pass_alone),
        cmocka_unit_test(test_the_second_pass_says_what_it_moved),
        cmocka_unit_test(test_the_same_again_to_the_byte),
        cmocka_unit_test(test_slashes_behind_the_name),
        cmocka_unit_test(test_a_watcher_sees_each_shot_once),
        cmocka_unit_test(test_history_is_named_and_used),
        cmocka_unit_test(test_history_of_another_athlete_is_refused),
        cmocka_unit_test(test_folders_that_cannot_be_used),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
