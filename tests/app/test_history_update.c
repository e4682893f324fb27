/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/history_update.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "app/analysis_store.h"
#include "app/passes.h"
#include "app/recorded.h"
#include "app/recording_content.h"
#include "history/index_query.h"
#include "recording/scratch.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAWS 2u

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    char path[SCRATCH_PATH_BYTES];
    struct sh_index *index;
    struct sh_history_update_result result;
};

static void record(const struct place *place, const char *name, uint64_t seed)
{
    char folder[SCRATCH_PATH_BYTES];
    struct sh_simulation_config config = sh_simulation_config_default();
    config.seed = seed;
    config.set = "force1000";
    config.athlete = "teal";
    config.n_draws = DRAWS;
    (void)snprintf(folder, sizeof folder, "%.400s/%.90s", place->folder, name);
    recorded_write(&config, folder);
}

/* teal's file says what it is given to say. */
static void write_person(const struct place *place, const char *more)
{
    char path[SCRATCH_PATH_BYTES];
    char text[256];
    scratch_path(&place->scratch, "people", path);
    (void)mkdir(path, 0700);
    scratch_path(&place->scratch, "people/teal.json", path);
    const int n = snprintf(text, sizeof text,
                           "{\"format\": \"stringhand-person\", \"version\": 1, "
                           "\"name\": \"teal\"%s}",
                           more);
    scratch_write(path, text, (size_t)n);
}

/* Two evenings of teal, and an index of nothing. */
static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct sh_error err = {0};
    assert_non_null(place);
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "recordings", place->folder);
    scratch_path(&place->scratch, "history.sqlite", place->path);
    assert_int_equal(mkdir(place->folder, 0700), 0);
    record(place, "monday", 41);
    record(place, "tuesday", 42);
    assert_int_equal(sh_index_open(place->path, &place->index, &err), SH_OK);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_index_close(&place->index);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

static void run(struct place *place, bool from_nothing)
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_recording_list list = {0};
    struct sh_error err = {0};
    assert_int_equal(sh_recording_list_add(&list, place->folder, &err), SH_OK);
    sh_recording_list_settle(&list);
    struct sh_hidden_people hidden = sh_hidden_people_open(place->scratch.folder);
    const struct sh_history_update_config config = {.list = &list,
                                                    .thresholds = &thresholds,
                                                    .hidden = &hidden,
                                                    .from_nothing = from_nothing};
    assert_int_equal(sh_history_update_run(place->index, &config, &place->result, &err), SH_OK);
    sh_hidden_people_close(&hidden);
    sh_recording_list_close(&list);
}

static void check(const struct place *place,
                  size_t n_unchanged,
                  size_t n_put,
                  size_t n_moved,
                  size_t n_copies,
                  size_t n_removed)
{
    assert_int_equal(place->result.n_unchanged, n_unchanged);
    assert_int_equal(place->result.n_put, n_put);
    assert_int_equal(place->result.n_moved, n_moved);
    assert_int_equal(place->result.n_copies, n_copies);
    assert_int_equal(place->result.n_removed, n_removed);
    assert_int_equal(place->result.n_failed, 0);
}

static void shell(const struct place *place, const char *command)
{
    char line[1200];
    (void)snprintf(line, sizeof line, "cd '%s' && %s", place->folder, command);
    assert_int_equal(system(line), 0); /* NOLINT(cert-env33-c): our own words */
}

static enum sh_status write_row(void *context, const struct sh_index_row *row)
{
    struct sh_text *text = context;
    sh_text_printf(text, "%s %u %d %u %u %d %.17g %.17g %.17g\n", row->content, row->n,
                   (int)row->kind, row->arrow.end, row->arrow.number,
                   (int)row->arrow.is_clocked, row->value[0].value, row->value[0].u,
                   row->value[1].value);
    return SH_OK;
}

/* All shots as text. */
static void write_rows(const struct place *place, struct sh_text *text)
{
    const struct sh_index_query query = {
        .place = {{SH_MEASURE_HOLD_TIME, 0}, {SH_MEASURE_TREMOR_RMS, 0}}, .n_places = 2};
    const struct sh_index_row_sink sink = {write_row, text};
    struct sh_error err = {0};
    sh_text_init(text, 0);
    assert_int_equal(sh_index_query_shots(place->index, &query, &sink, &err), SH_OK);
}

static void test_the_second_time_nothing_is_read(void **state)
{
    struct place *place = *state;
    run(place, false);
    check(place, 0, 2, 0, 0, 0);
    run(place, false);
    check(place, 2, 0, 0, 0, 0);
}

static void test_rows_are_those_of_the_analysis(void **state)
{
    struct place *place = *state;
    const struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    struct sh_text rows;
    char folder[SCRATCH_PATH_BYTES];
    char part[64];
    run(place, false);
    write_rows(place, &rows);
    (void)snprintf(folder, sizeof folder, "%.400s/monday", place->folder);
    const struct sh_passes_config config = {.thresholds = &thresholds};
    assert_int_equal(sh_passes_run(folder, &config, &analysis, &err), SH_OK);
    assert_int_equal(analysis.n_shots, DRAWS);
    for (size_t i = 0; i < DRAWS; i++) {
        const struct sh_quantity *hold =
            sh_catalog_get(&analysis.shots[i].measures, SH_MEASURE_HOLD_TIME, 0);
        (void)snprintf(part, sizeof part, " %.17g %.17g ", hold->value, hold->u);
        assert_non_null(strstr(rows.data, part));
    }
    sh_analysis_close(&analysis);
    sh_text_close(&rows);
}

static void test_moved_copied_and_gone(void **state)
{
    struct place *place = *state;
    run(place, false);
    shell(place, "mkdir club && mv monday club/first");
    run(place, false);
    check(place, 1, 0, 1, 0, 0);
    shell(place, "cp -a tuesday z-copy");
    run(place, false);
    check(place, 2, 0, 0, 1, 0);
    shell(place, "rm -r tuesday");
    run(place, false);
    check(place, 1, 0, 1, 0, 0); /* the copy stands for it */
    shell(place, "rm -r z-copy");
    run(place, false);
    check(place, 1, 0, 0, 0, 1);
}

static void test_a_mark_makes_it_read_again(void **state)
{
    struct place *place = *state;
    run(place, false);
    shell(place, "sleep 0.02; touch monday/recording.json");
    run(place, false);
    check(place, 1, 1, 0, 0, 0);
}

static void test_built_again_the_rows_are_the_same(void **state)
{
    struct place *place = *state;
    struct sh_text first;
    struct sh_text second;
    struct sh_text third;
    struct sh_error err = {0};
    run(place, false);
    write_rows(place, &first);
    run(place, true);
    check(place, 0, 2, 0, 0, 0);
    write_rows(place, &second);
    assert_string_equal(first.data, second.data);
    sh_index_close(&place->index);
    assert_int_equal(unlink(place->path), 0);
    assert_int_equal(sh_index_open(place->path, &place->index, &err), SH_OK);
    run(place, false);
    write_rows(place, &third);
    assert_string_equal(first.data, third.data);
    sh_text_close(&first);
    sh_text_close(&second);
    sh_text_close(&third);
}

static void test_one_that_cannot_be_read_stops_nothing(void **state)
{
    struct place *place = *state;
    shell(place, "printf '{\"format\": \"stri' > monday/recording.json");
    run(place, false);
    assert_int_equal(place->result.n_failed, 1);
    assert_int_equal(place->result.n_put, 1);
    assert_non_null(strstr(place->result.first_failure.where, "monday"));
}

/* Who is hidden is in no row, whether known before or new; taken back, all is as it was. */
static void test_people_who_are_hidden(void **state)
{
    struct place *place = *state;
    struct sh_text before;
    struct sh_text hidden;
    struct sh_text after;
    run(place, false);
    write_rows(place, &before);
    record(place, "wednesday", 43); /* which the index does not know yet */
    write_person(place, ", \"hidden_on\": \"2026-05-20\"");
    run(place, false);
    assert_int_equal(place->result.n_hidden, 3);
    assert_int_equal(place->result.n_put, 0);
    write_rows(place, &hidden);
    assert_int_equal(hidden.n_bytes, 0);
    run(place, true);
    assert_int_equal(place->result.n_hidden, 3);
    shell(place, "rm -r wednesday");
    write_person(place, "");
    run(place, false);
    check(place, 0, 2, 0, 0, 0);
    assert_int_equal(place->result.n_hidden, 0);
    write_rows(place, &after);
    assert_string_equal(after.data, before.data);
    sh_text_close(&before);
    sh_text_close(&hidden);
    sh_text_close(&after);
}

/* A folder that is handed to somebody who is hidden takes its rows along. */
static void test_a_recording_of_somebody_hidden_by_another_name(void **state)
{
    struct place *place = *state;
    struct sh_text rows;
    run(place, false);
    write_person(place, ", \"hidden_on\": \"2026-05-20\"");
    shell(place, "sed -i 's/\"teal\"/\"heron\"/' */recording.json && rm -f */analysis.json");
    run(place, false);
    assert_int_equal(place->result.n_hidden, 0);
    shell(place, "sed -i 's/\"heron\"/\"teal\"/' monday/recording.json");
    run(place, false);
    assert_int_equal(place->result.n_hidden, 1);
    assert_int_equal(place->result.n_unchanged, 1);
    write_rows(place, &rows);
    assert_int_equal(place->result.n_put, 0);
    sh_text_close(&rows);
}

/* A person's file that cannot be read does not say: the recordings stay as they were. */
static void test_a_file_that_does_not_say_who_is_hidden(void **state)
{
    struct place *place = *state;
    struct sh_text before;
    struct sh_text after;
    run(place, false);
    write_rows(place, &before);
    write_person(place, ", \"hidden_on\": 7");
    record(place, "wednesday", 43);
    run(place, false);
    assert_int_equal(place->result.n_failed, 3);
    assert_non_null(strstr(place->result.first_failure.where, "teal.json"));
    write_rows(place, &after);
    assert_string_equal(after.data, before.data);
    sh_text_close(&before);
    sh_text_close(&after);
}

/* What a recording is known by does not feel what people do to it; another one differs. */
static void test_content(void **state)
{
    const struct place *place = *state;
    static const char *const names[] = {"monday", "tuesday"};
    char content[2][SH_DIGEST_TEXT_BYTES];
    char again[SH_DIGEST_TEXT_BYTES];
    char folder[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    for (size_t i = 0; i < 2; i++) {
        struct sh_session session = {0};
        (void)snprintf(folder, sizeof folder, "%.400s/%s", place->folder, names[i]);
        assert_int_equal(sh_session_json_read(folder, &session, NULL, &err), SH_OK);
        assert_int_equal(sh_recording_content_find(folder, &session, content[i], &err), SH_OK);
        (void)snprintf(session.athlete, sizeof session.athlete, "somebody else");
        session.n_marks = 0;
        assert_int_equal(sh_recording_content_find(folder, &session, again, &err), SH_OK);
        assert_string_equal(again, content[i]);
        session.started[0] = '3';
        assert_int_equal(sh_recording_content_find(folder, &session, again, &err), SH_OK);
        assert_string_not_equal(again, content[i]);
        sh_session_close(&session);
    }
    assert_string_not_equal(content[0], content[1]);
    assert_true(sh_recording_content_get_stamp_ns(folder) > 0);
    assert_true(sh_recording_content_get_stamp_ns("/nowhere/at/all") == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_the_second_time_nothing_is_read, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_rows_are_those_of_the_analysis, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_moved_copied_and_gone, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_mark_makes_it_read_again, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_built_again_the_rows_are_the_same, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_one_that_cannot_be_read_stops_nothing, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_people_who_are_hidden, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_recording_of_somebody_hidden_by_another_name,
                                        open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_file_that_does_not_say_who_is_hidden, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_content, open_place, close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
