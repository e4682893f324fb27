/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/person_json.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

struct home {
    struct scratch scratch;
    char file[SCRATCH_PATH_BYTES]; /* of wren */
};

static int open_home(void **state)
{
    static struct home home;
    char people[SCRATCH_PATH_BYTES];
    scratch_open(&home.scratch);
    scratch_path(&home.scratch, "people", people);
    assert_int_equal(mkdir(people, 0700), 0);
    scratch_path(&home.scratch, "people/wren.json", home.file);
    *state = &home;
    return 0;
}

static int close_home(void **state)
{
    struct home *home = *state;
    scratch_close(&home->scratch);
    return 0;
}

static const char whole[] =
    "{\"format\": \"stringhand-person\", \"version\": 1, \"name\": \"wren\", \"eyes\": "
    "\"brown\",\n"
    " \"limits\": [{\"what\": \"finger_peak_n\", \"finger\": \"ring\", \"per\": \"shot\",\n"
    "   \"most\": 45.0, \"weekly_step\": 2.5, \"set_by\": \"hand clinic\", \"set_on\": "
    "\"2026-05-01\",\n"
    "   \"from\": \"2026-05-01\", \"until\": \"2026-06-01\", \"reason\": \"strain\"}],\n"
    " \"confirmations\": [{\"on\": \"2026-05-09\", \"by\": \"hand clinic\"}],\n"
    " \"rest\": [{\"date\": \"2026-05-03\"}],\n"
    " \"draws\": [{\"date\": \"2026-05-04\", \"draws\": 60, \"draw_weight_n\": 160.0}],\n"
    " \"ratings\": [{\"date\": \"2026-05-04\", \"when\": \"before\", \"rating\": 2}]}\n";

static enum sh_status read_text(const struct home *home,
                                const char *text,
                                struct sh_person *person,
                                struct sh_person_json **kept,
                                struct sh_error *err)
{
    scratch_write(home->file, text, strlen(text));
    return sh_person_json_read(home->scratch.folder, "wren", person, kept, err);
}

static void test_all_that_a_file_says(void **state)
{
    struct sh_person person = {0};
    struct sh_error err = {0};
    assert_int_equal(read_text(*state, whole, &person, NULL, &err), SH_OK);
    assert_string_equal(person.name, "wren");
    assert_int_equal(person.n_limits, 1);
    const struct sh_person_limit *limit = &person.limits[0];
    assert_string_equal(limit->what, "finger_peak_n");
    assert_string_equal(limit->finger, "ring");
    assert_string_equal(limit->per, "shot");
    assert_true(limit->most.is_given);
    assert_false(limit->least.is_given);
    assert_near(limit->most.value, 45.0, 0, 0);
    assert_near(limit->weekly_step.value, 2.5, 0, 0);
    assert_string_equal(limit->set_by, "hand clinic");
    assert_string_equal(limit->set_on, "2026-05-01");
    assert_string_equal(limit->from, "2026-05-01");
    assert_string_equal(limit->until, "2026-06-01");
    assert_string_equal(person.confirmations[0].on, "2026-05-09");
    assert_string_equal(person.confirmations[0].by, "hand clinic");
    assert_string_equal(person.rests[0].date, "2026-05-03");
    assert_int_equal(person.draws[0].draws, 60);
    assert_near(person.draws[0].draw_weight_n.value, 160.0, 0, 0);
    assert_string_equal(person.ratings[0].when, "before");
    assert_near(person.ratings[0].rating, 2.0, 0, 0);
    sh_person_close(&person);
}

static void test_no_file_is_a_person_of_whom_nothing_is_known(void **state)
{
    const struct home *home = *state;
    struct sh_person person = {0};
    struct sh_person_json *kept = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_person_json_read(home->scratch.folder, "nobody", &person, &kept, &err),
                     SH_OK);
    assert_string_equal(person.name, "nobody");
    assert_int_equal(person.n_limits + person.n_rests + person.n_draws, 0);
    assert_null(kept);
    sh_person_close(&person);
}

/* An entry is added; what nobody knew stays, in the root and in an entry. */
static void test_unknown_keys_stay(void **state)
{
    const struct home *home = *state;
    struct sh_person person = {0};
    struct sh_person_json *kept = NULL;
    struct sh_error err = {0};
    const struct sh_person_rest rest = {.date = "2026-05-10"};
    assert_int_equal(read_text(home, whole, &person, &kept, &err), SH_OK);
    assert_int_equal(sh_person_add_rest(&person, &rest), SH_OK);
    (void)strcpy(person.limits[0].until, "2026-05-20");
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, kept, &err), SH_OK);
    char *text = scratch_read(home->file, NULL);
    assert_non_null(strstr(text, "\"eyes\": \"brown\""));
    assert_non_null(strstr(text, "\"reason\": \"strain\""));
    assert_non_null(strstr(text, "\"until\": \"2026-05-20\""));
    assert_null(strstr(text, "2026-06-01"));
    assert_non_null(strstr(text, "{\"date\": \"2026-05-10\"}"));
    free(text);
    sh_person_close(&person);
    sh_person_json_close(&kept);
    sh_person_json_close(&kept);
}

/* Entries that went: what stood beside the one that stays goes with it. */
static void test_an_entry_that_goes(void **state)
{
    const struct home *home = *state;
    static const char two[] = "{\"format\": \"stringhand-person\", \"version\": 1, \"name\": "
                              "\"wren\", \"rest\": [{\"date\": \"2026-05-03\"}, "
                              "{\"date\": \"2026-05-04\", \"why\": \"rain\"}]}";
    struct sh_person person = {0};
    struct sh_person_json *kept = NULL;
    struct sh_error err = {0};
    assert_int_equal(read_text(home, two, &person, &kept, &err), SH_OK);
    person.rests[0] = person.rests[1];
    person.n_rests = 1;
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, kept, &err), SH_OK);
    char *text = scratch_read(home->file, NULL);
    assert_null(strstr(text, "2026-05-03"));
    assert_non_null(strstr(text, "{\"date\": \"2026-05-04\", \"why\": \"rain\"}"));
    free(text);
    person.n_rests = 0;
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, kept, &err), SH_OK);
    text = scratch_read(home->file, NULL);
    assert_non_null(strstr(text, "\"rest\": []"));
    free(text);
    sh_person_close(&person);
    sh_person_json_close(&kept);
}

static void test_written_and_read_again(void **state)
{
    const struct home *home = *state;
    struct sh_person person = {.name = "teal & heron/2"};
    struct sh_person again = {0};
    struct sh_error err = {0};
    const struct sh_person_rating rating = {
        .date = "2026-05-14", .when = "after", .rating = 0.0};
    assert_int_equal(sh_person_add_rating(&person, &rating), SH_OK);
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, NULL, &err), SH_OK);
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&home->scratch, "people/teal%20%26%20heron%2F2.json", path);
    assert_true(scratch_exists(path));
    assert_int_equal(sh_person_json_read(home->scratch.folder, person.name, &again, NULL, &err),
                     SH_OK);
    assert_int_equal(again.n_ratings, 1);
    assert_string_equal(again.ratings[0].when, "after");
    assert_near(again.ratings[0].rating, 0.0, 0, 0);
    sh_person_close(&person);
    sh_person_close(&again);
}

static void test_goals_and_a_person_who_is_hidden(void **state)
{
    const struct home *home = *state;
    struct sh_person person = {.name = "wren", .hidden_on = "2026-05-20"};
    struct sh_person again = {0};
    struct sh_person_json *kept = NULL;
    struct sh_error err = {0};
    const struct sh_person_goal goal = {.what = "hold_time_s",
                                        .least = 2.0,
                                        .most = 3.25,
                                        .basis = "best-arrows",
                                        .arrows = 41,
                                        .set_by = "coach",
                                        .set_on = "2026-05-14"};
    assert_int_equal(sh_person_add_goal(&person, &goal), SH_OK);
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, NULL, &err), SH_OK);
    assert_int_equal(sh_person_json_read(home->scratch.folder, "wren", &again, &kept, &err),
                     SH_OK);
    assert_string_equal(again.hidden_on, "2026-05-20");
    assert_int_equal(again.n_goals, 1);
    assert_near(again.goals[0].least, 2.0, 0, 0);
    assert_near(again.goals[0].most, 3.25, 0, 0);
    assert_string_equal(again.goals[0].basis, "best-arrows");
    assert_int_equal(again.goals[0].arrows, 41);
    assert_string_equal(again.goals[0].set_by, "coach");
    assert_string_equal(again.goals[0].set_on, "2026-05-14");
    assert_string_equal(again.goals[0].ended_on, "");
    again.hidden_on[0] = '\0'; /* the mark goes, and nothing is left of it */
    assert_int_equal(sh_person_json_write(home->scratch.folder, &again, kept, &err), SH_OK);
    char *text = scratch_read(home->file, NULL);
    assert_null(strstr(text, "2026-05-20"));
    assert_non_null(strstr(text, "\"arrows\": 41"));
    free(text);
    sh_person_json_close(&kept);
    sh_person_close(&person);
    sh_person_close(&again);
}

#define FILE_OF(rest)                                                                          \
    "{\"format\": \"stringhand-person\", \"version\": 1, \"name\": \"wren\", " rest "}"

#define GOAL(least, most)                                                                      \
    "\"what\": \"hold_time_s\", \"basis\": \"person\", \"set_on\": \"2026-05-14\", "           \
    "\"least\": " #least ", \"most\": " #most

/* What is wrong, and the words that say so. */
static const struct {
    const char *text;
    enum sh_status status;
    const char *says;
} wrong[] = {
    {"", SH_ERR_FORMAT, "line 1"},
    {"{", SH_ERR_FORMAT, "line 1"},
    {"[]", SH_ERR_FORMAT, "not a JSON object"},
    {"{\"a\": 1, \"a\": 2}", SH_ERR_FORMAT, "line 1"},
    {"{}", SH_ERR_FORMAT, "format"},
    {"{\"format\": \"stringhand-person\", \"version\": 2, \"name\": \"wren\"}",
     SH_ERR_UNSUPPORTED, "version"},
    {"{\"format\": \"stringhand-person\", \"version\": 1, \"name\": \"rook\"}", SH_ERR_FORMAT,
     "another person's"},
    {FILE_OF("\"limits\": {}"), SH_ERR_FORMAT, "limits"},
    {FILE_OF("\"limits\": [4]"), SH_ERR_FORMAT, "limits[0]"},
    {FILE_OF("\"limits\": [{\"what\": \"draws\", \"per\": \"day\"}]"), SH_ERR_FORMAT, "most"},
    {FILE_OF("\"limits\": [{\"what\": \"draws\", \"per\": \"week\", \"most\": 1}]"),
     SH_ERR_FORMAT, "no span"},
    {FILE_OF("\"limits\": [{\"what\": \"draws\", \"per\": \"day\", \"most\": -1}]"),
     SH_ERR_FORMAT, "below 0"},
    {FILE_OF("\"limits\": [{\"what\": \"draws\", \"per\": \"day\", \"most\": 1, \"finger\": "
             "\"thumb\"}]"),
     SH_ERR_FORMAT, "no finger"},
    {FILE_OF("\"limits\": [{\"what\": \"draws\", \"per\": \"day\", \"most\": 1, "
             "\"weekly_step\": 1}]"),
     SH_ERR_FORMAT, "missing beside weekly_step"},
    {FILE_OF("\"limits\": [{\"what\": \"draws\", \"per\": \"day\", \"most\": 1, "
             "\"weekly_step\": 0, \"from\": \"2026-05-01\"}]"),
     SH_ERR_FORMAT, "is 0"},
    {FILE_OF("\"rest\": [{}]"), SH_ERR_FORMAT, "rest[0].date"},
    {FILE_OF("\"rest\": [{\"date\": \"2026-02-30\"}]"), SH_ERR_FORMAT, "no day"},
    {FILE_OF("\"draws\": [{\"date\": \"2026-05-04\", \"draws\": -1}]"), SH_ERR_FORMAT,
     "draws[0].draws"},
    {FILE_OF("\"draws\": [{\"date\": \"2026-05-04\"}]"), SH_ERR_FORMAT, "draws[0].draws"},
    {FILE_OF("\"ratings\": [{\"date\": \"2026-05-04\", \"when\": \"noon\", \"rating\": 1}]"),
     SH_ERR_FORMAT, "when"},
    {FILE_OF("\"ratings\": [{\"date\": \"2026-05-04\", \"when\": \"after\", \"rating\": 11}]"),
     SH_ERR_FORMAT, "over 10"},
    {FILE_OF("\"confirmations\": [{\"by\": \"x\"}]"), SH_ERR_FORMAT, "confirmations[0].on"},
    {FILE_OF("\"hidden_on\": true"), SH_ERR_FORMAT, "hidden_on"},
    {FILE_OF("\"hidden_on\": \"2026-02-30\""), SH_ERR_FORMAT, "no day"},
    {FILE_OF("\"goals\": [{" GOAL(3, 2) "}]"), SH_ERR_FORMAT, "not above least"},
    {FILE_OF("\"goals\": [{" GOAL(2, 2) "}]"), SH_ERR_FORMAT, "not above least"},
    {FILE_OF("\"goals\": [{" GOAL(0, 2) "}]"), SH_ERR_FORMAT, "least"},
    {FILE_OF("\"goals\": [{\"what\": \"hold_time_s\", \"least\": 1}]"), SH_ERR_FORMAT,
     "goals[0].most"},
};

static void test_what_is_refused(void **state)
{
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct sh_person person = {0};
        struct sh_person_json *kept = NULL;
        struct sh_error err = {0};
        char line[SH_ERROR_LINE_BYTES];
        assert_int_equal(read_text(*state, wrong[i].text, &person, &kept, &err),
                         wrong[i].status);
        sh_error_format(&err, line);
        if (strstr(line, wrong[i].says) == NULL || strstr(line, "wren.json") == NULL) {
            fail_msg("%s: said %s", wrong[i].text, line);
        }
        assert_null(kept);
        assert_null(person.limits);
        assert_string_equal(person.name, "");
    }
}

static void test_names_that_are_none(void **state)
{
    char path[SH_PERSON_JSON_PATH_BYTES];
    char name[SH_SESSION_NAME_BYTES + 1];
    struct sh_error err = {0};
    memset(name, 'a', sizeof name);
    name[sizeof name - 1] = '\0';
    assert_int_equal(sh_person_json_make_path("h", "", path, &err), SH_ERR_ARGUMENT);
    assert_int_equal(sh_person_json_make_path("h", name, path, &err), SH_ERR_ARGUMENT);
    name[SH_SESSION_NAME_BYTES - 1] = '\0';
    assert_int_equal(sh_person_json_make_path("h", name, path, &err), SH_OK);
    memset(name, ' ', SH_SESSION_NAME_BYTES - 1); /* three bytes each */
    assert_int_equal(sh_person_json_make_path("h", name, path, &err), SH_ERR_FULL);
    char home[SH_PERSON_JSON_PATH_BYTES];
    memset(home, 'h', sizeof home);
    home[sizeof home - 1] = '\0';
    assert_int_equal(sh_person_json_make_path(home, "wren", path, &err), SH_ERR_FULL);
}

/* A write that fails leaves the old file as it was. */
static void test_writes_that_fail(void **state)
{
    const struct home *home = *state;
    struct sh_person person = {.name = "wren"};
    struct sh_error err = {0};
    struct sh_person_rating rating = {.date = "2026-05-14", .when = "after"};
    scratch_write(home->file, whole, strlen(whole));
    rating.rating = (double)NAN;
    assert_int_equal(sh_person_add_rating(&person, &rating), SH_OK);
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, NULL, &err),
                     SH_ERR_NOT_FINITE);
    assert_non_null(strstr(err.what, "rating"));
    person.ratings[0].rating = 1.0;
    person.ratings[0].when[0] = '\xFF';
    err = (struct sh_error){0};
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, NULL, &err),
                     SH_ERR_FORMAT);
    person.ratings[0].when[0] = 'a';
    person.ratings[0].kept = 7;
    err = (struct sh_error){0};
    assert_int_equal(sh_person_json_write(home->scratch.folder, &person, NULL, &err),
                     SH_ERR_ARGUMENT);
    person.ratings[0].kept = 0;
    err = (struct sh_error){0};
    assert_int_equal(sh_person_json_write("/nowhere", &person, NULL, &err), SH_ERR_NOT_FOUND);
    char *text = scratch_read(home->file, NULL);
    assert_string_equal(text, whole);
    free(text);
    sh_person_close(&person);
}

/* A folder in place of the file is refused, and what a folder of that name means is said. */
static void test_a_folder_is_no_file(void **state)
{
    const struct home *home = *state;
    char path[SCRATCH_PATH_BYTES];
    struct sh_person person = {0};
    struct sh_error err = {0};
    scratch_path(&home->scratch, "people/rook.json", path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_int_equal(sh_person_json_read(home->scratch.folder, "rook", &person, NULL, &err),
                     SH_ERR_FORMAT);
    assert_non_null(strstr(err.where, "rook.json"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_that_a_file_says),
        cmocka_unit_test(test_no_file_is_a_person_of_whom_nothing_is_known),
        cmocka_unit_test(test_unknown_keys_stay),
        cmocka_unit_test(test_an_entry_that_goes),
        cmocka_unit_test(test_written_and_read_again),
        cmocka_unit_test(test_goals_and_a_person_who_is_hidden),
        cmocka_unit_test(test_what_is_refused),
        cmocka_unit_test(test_names_that_are_none),
        cmocka_unit_test(test_writes_that_fail),
        cmocka_unit_test(test_a_folder_is_no_file),
    };
    return cmocka_run_group_tests(tests, open_home, close_home);
}
