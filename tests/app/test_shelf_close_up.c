/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>

#include "app/shelved.h"
#include "support/cmocka_all.h"

/* An arrow of each of three recordings: with the string's force, with fingers and bow alone,
 * and with the bow alone. */
static int open_shelf(void **state)
{
    static struct shelved shelved;
    static const struct {
        const char *name;
        const char *set;
    } recordings[] = {
        {"string", "force_fingers_bow"}, {"fingers", "fingers_bow"}, {"bow", "bow"}};
    struct sh_simulation_config config = sh_simulation_config_default();
    char folder[SCRATCH_PATH_BYTES];
    config.athlete = "plover";
    config.n_draws = 1;
    shelved_open(&shelved);
    for (unsigned i = 0; i < 3; i++) {
        config.set = recordings[i].set;
        assert_int_equal(shelved_add(&shelved, &config, recordings[i].name, folder), i + 1);
    }
    *state = &shelved;
    return 0;
}

static int close_shelf(void **state)
{
    shelved_close(*state);
    return 0;
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
        json_t *whole = shelved_ask(*state, cases[i].path, "", 200);
        json_t *all = shelved_ask(*state, cases[i].path, "channels=all", 200);
        json_t *parts = shelved_ask(*state, cases[i].path, "channels=main", 200);
        json_t *others = shelved_ask(*state, cases[i].path, "channels=others", 200);
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
        json_t *answer =
            shelved_ask(*state, "/api/recordings/1/shots/1/trace", queries[i], 400);
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
    return cmocka_run_group_tests(tests, open_shelf, close_shelf);
}
