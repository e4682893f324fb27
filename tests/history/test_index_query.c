/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history/index_query.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/scratch.h"
#include "report/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SHOTS    3u
#define ROWS_MAX 16u
#define A        "7fffffffffffffff"
#define B        "ffffffffffffffff" /* negative where it is taken for signed */
#define C        "0000000000000001"

struct place {
    struct scratch scratch;
    struct sh_index *index;
    struct sh_index_row row[ROWS_MAX];
    char content[ROWS_MAX][SH_DIGEST_TEXT_BYTES];
    size_t n_rows;
    struct sh_index_entry entry[ROWS_MAX];
    size_t n_entries;
};

static void
put(struct place *place, const char *content, const char *athlete, const char *started)
{
    struct sh_index_recording recording = {.stamp_ns = 1};
    const struct sh_arrow arrows[SHOTS] = {
        {.end = 2, .number = 1, .is_clocked = true, .has_score = true, .score = 9.0},
        {.end = 2, .is_clocked = true},
        {.end = 3, .number = 1}};
    struct sh_analysis analysis;
    struct sh_error err = {0};
    (void)snprintf(recording.content, sizeof recording.content, "%s", content);
    (void)snprintf(recording.folder, sizeof recording.folder, "/range/%s", content);
    (void)snprintf(recording.athlete, sizeof recording.athlete, "%s", athlete);
    (void)snprintf(recording.started, sizeof recording.started, "%s", started);
    (void)snprintf(recording.bow, sizeof recording.bow, "kiln");
    made_analysis(&analysis);
    assert_int_equal(sh_index_put(place->index, &recording, &analysis, arrows, &err), SH_OK);
    sh_analysis_close(&analysis);
}

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    char path[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    assert_non_null(place);
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "history.sqlite", path);
    assert_int_equal(sh_index_open(path, &place->index, &err), SH_OK);
    put(place, B, "wren", "2026-05-16T09:30:00.000Z");
    put(place, A, "wren", "2026-05-14T09:30:00.000Z");
    put(place, C, "rook", "2026-05-15T09:30:00.000Z");
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

static enum sh_status take_row(void *context, const struct sh_index_row *row)
{
    struct place *place = context;
    assert_true(place->n_rows < ROWS_MAX);
    place->row[place->n_rows] = *row;
    (void)snprintf(place->content[place->n_rows], SH_DIGEST_TEXT_BYTES, "%s", row->content);
    place->n_rows++;
    return SH_OK;
}

static enum sh_status take_entry(void *context, const struct sh_index_entry *entry)
{
    struct place *place = context;
    assert_true(place->n_entries < ROWS_MAX);
    place->entry[place->n_entries++] = *entry;
    return SH_OK;
}

static enum sh_status end_walk(void *context, const struct sh_index_row *row)
{
    unsigned *n = context;
    assert_true(row->content[0] != 0);
    (*n)++;
    return SH_ERR_FULL;
}

static void test_shots_in_order_of_time_with_their_bits(void **state)
{
    struct place *place = *state;
    struct sh_error err = {0};
    const struct sh_index_query query = {.filter = {.athlete = "wren"},
                                         .place = {{SH_MEASURE_HOLD_TIME, 0},
                                                   {SH_MEASURE_FINGER_SHARE, 2},
                                                   {SH_MEASURE_RING, 0}},
                                         .n_places = 3};
    const struct sh_index_row_sink sink = {take_row, place};
    assert_int_equal(sh_index_query_shots(place->index, &query, &sink, &err), SH_OK);
    assert_int_equal(place->n_rows, 2 * SHOTS);
    for (size_t i = 0; i < place->n_rows; i++) {
        assert_string_equal(place->content[i], i < SHOTS ? A : B);
        assert_int_equal(place->row[i].n, i % SHOTS + 1);
    }
    const struct sh_index_row *first = &place->row[0];
    assert_int_equal(first->kind, SH_SHOT_SHOT);
    assert_int_equal(place->row[1].kind, SH_SHOT_LET_DOWN);
    assert_near(first->value[0].value, 3.607, 0.0, 0.0);
    assert_near(first->value[0].u, 0.01, 0.0, 0.0);
    assert_near(first->value[1].value, 0.19, 0.0, 0.0);
    assert_false(sh_quantity_is_known(&first->value[2]));
    assert_near(first->full_draw_s.value, 21.402, 0.0, 0.0);
    assert_false(sh_quantity_is_known(&first->let_down_s));
    assert_true(sh_quantity_is_known(&place->row[1].let_down_s));
    assert_int_equal(first->arrow.end, 2);
    assert_int_equal(first->arrow.number, 1);
    assert_true(first->arrow.is_clocked);
    assert_true(first->arrow.has_score);
    assert_near(first->arrow.score, 9.0, 0.0, 0.0);
    assert_false(place->row[2].arrow.has_score);
    assert_false(place->row[2].arrow.is_clocked);
}

static size_t count(struct place *place, const struct sh_index_filter *filter)
{
    struct sh_error err = {0};
    const struct sh_index_entry_sink sink = {take_entry, place};
    place->n_entries = 0;
    assert_int_equal(sh_index_query_recordings(place->index, filter, &sink, &err), SH_OK);
    return place->n_entries;
}

static void test_recordings_by_filter(void **state)
{
    struct place *place = *state;
    assert_int_equal(count(place, &(struct sh_index_filter){0}), 3);
    assert_string_equal(place->entry[0].recording.content, A);
    assert_string_equal(place->entry[1].recording.content, C);
    assert_string_equal(place->entry[2].recording.content, B);
    assert_int_equal(place->entry[0].n_shots, SHOTS);
    assert_near(place->entry[0].duration_s, 612.4, 0.0, 0.0);
    assert_int_equal(count(place, &(struct sh_index_filter){.athlete = "rook"}), 1);
    assert_int_equal(count(place, &(struct sh_index_filter){.bow = "blue"}), 0);
    assert_int_equal(count(place, &(struct sh_index_filter){.channels = "sound"}), 0);
    assert_int_equal(count(place, &(struct sh_index_filter){.from = "2026-05-15"}), 2);
    assert_int_equal(
        count(place, &(struct sh_index_filter){.from = "2026-05-15", .until = "2026-05-16"}),
        1);
    /* a name that would be SQL stays a name */
    assert_int_equal(count(place, &(struct sh_index_filter){.athlete = "x' OR '1'='1"}), 0);
}

static void test_the_sink_ends_the_walk(void **state)
{
    struct place *place = *state;
    unsigned n = 0;
    struct sh_error err = {0};
    const struct sh_index_query query = {.n_places = 0};
    const struct sh_index_row_sink sink = {end_walk, &n};
    assert_int_equal(sh_index_query_shots(place->index, &query, &sink, &err), SH_ERR_FULL);
    assert_int_equal(n, 1);
}

static void test_measures_that_are_none_are_refused(void **state)
{
    struct place *place = *state;
    struct sh_error err = {0};
    const struct sh_index_row_sink sink = {take_row, place};
    struct sh_index_query query = {.place = {{SH_MEASURE_HOLD_TIME, 1}}, .n_places = 1};
    assert_int_equal(sh_index_query_shots(place->index, &query, &sink, &err), SH_ERR_ARGUMENT);
    query.place[0].part = 0;
    query.place[0].measure = SH_MEASURE_COUNT;
    assert_int_equal(sh_index_query_shots(place->index, &query, &sink, &err), SH_ERR_ARGUMENT);
    query.n_places = SH_INDEX_QUERY_PLACES_MAX + 1;
    assert_int_equal(sh_index_query_shots(place->index, &query, &sink, &err), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_shots_in_order_of_time_with_their_bits, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_recordings_by_filter, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_the_sink_ends_the_walk, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_measures_that_are_none_are_refused, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
