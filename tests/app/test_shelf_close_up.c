/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdlib.h>

#include "app/recorded.h"
#include "app/shelf.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"

/* An arrow of each of two recordings: with the string's force, and with fingers and bow alone.
 */
struct place {
    struct scratch scratch;
    struct sh_shelf *shelf;
};

static void add_recording(struct place *place, const char *name, const char *set)
{
    char folder[SCRATCH_PATH_BYTES];
    unsigned id = 0;
    struct sh_simulation_config config = sh_simulation_config_default();
    scratch_path(&place->scratch, name, folder);
    config.set = set;
    config.athlete = "plover";
    config.n_draws = 1;
    recorded_write(&config, folder);
    assert_int_equal(sh_shelf_add(place->shelf, folder, &id, NULL), SH_OK);
}

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    const struct sh_shelf_config config = {place->scratch.folder, sh_thresholds_default()};
    assert_int_equal(sh_shelf_open(&config, &place->shelf, NULL), SH_OK);
    add_recording(place, "string", "force_fingers_bow");
    add_recording(place, "fingers", "fingers_bow");
    add_recording(place, "bow", "bow");
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_shelf_close(&place->shelf);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

static json_t *ask(struct place *place, const char *path, const char *query, int status)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_shelf_answer(place->shelf, path, query, &text), status);
    json_t *answer = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(answer);
    sh_text_close(&text);
    return answer;
}

static const char *get_role(const json_t *trace, size_t i)
{
    const json_t *channel = json_array_get(json_object_get(trace, "channels"), i);
    return json_string_value(json_object_get(channel, "role"));
}

/* Both parts together are what comes when nothing is said of channels. */
static void test_main_channel_and_others(void **state)
{
    static const struct {
        const char *path;
        const char *main;
        size_t n_main;
        size_t n_channels;
    } cases[] = {{"/api/recordings/1/shots/1/trace", "string_force", 1, 7},
                 {"/api/recordings/2/shots/1/trace", "finger_force", 3, 6},
                 {"/api/recordings/3/shots/1/trace", "bow_acceleration", 1, 3}};
    for (size_t i = 0; i < 3; i++) {
        json_t *whole = ask(*state, cases[i].path, "", 200);
        json_t *all = ask(*state, cases[i].path, "channels=all", 200);
        json_t *parts = ask(*state, cases[i].path, "channels=main", 200);
        json_t *others = ask(*state, cases[i].path, "channels=others", 200);
        assert_true(json_equal(whole, all));
        assert_int_equal(json_array_size(json_object_get(whole, "channels")),
                         cases[i].n_channels);
        assert_int_equal(json_array_size(json_object_get(parts, "channels")), cases[i].n_main);
        for (size_t k = 0; k < cases[i].n_main; k++) {
            assert_string_equal(get_role(parts, k), cases[i].main);
        }
        assert_int_equal(json_array_extend(json_object_get(parts, "channels"),
                                           json_object_get(others, "channels")),
                         0);
        assert_true(json_equal(parts, whole));
        json_decref(others);
        json_decref(parts);
        json_decref(all);
        json_decref(whole);
    }
}

static void test_no_such_channels(void **state)
{
    static const char *const queries[] = {"channels=", "channels=Main", "channels=mai",
                                          "channels=main,others"};
    for (size_t i = 0; i < sizeof queries / sizeof queries[0]; i++) {
        json_t *answer = ask(*state, "/api/recordings/1/shots/1/trace", queries[i], 400);
        assert_true(json_is_string(json_object_get(answer, "error")));
        json_decref(answer);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_main_channel_and_others),
        cmocka_unit_test(test_no_such_channels),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
