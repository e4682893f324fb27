/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_profiles.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "app/profile_home.h"
#include "support/cmocka_all.h"

static const char gauge[] = "[sensor]\n"
                            "name = string gauge\n"
                            "framing = text\n"
                            "port = usb:KILN01\n"
                            "[stream string]\n"
                            "rate_hz = 1000\n"
                            "[column 1]\n"
                            "role = string_force\n"
                            "scale = 0.0125\n"
                            "[column 2]\n"
                            "role = finger_force\n"
                            "finger = ring\n"
                            "scale = 0.0125\n";

static int open_home(void **state)
{
    static struct profile_home home;
    profile_home_open(&home);
    *state = &home;
    return 0;
}

static int close_home(void **state)
{
    profile_home_close(*state);
    return 0;
}

static json_t *put(const struct profile_home *home)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_puts(&text, "{");
    sh_live_profiles_put(&home->setup, &text);
    sh_text_puts(&text, "}");
    assert_int_equal(text.status, SH_OK);
    json_t *got = json_loads(text.data, 0, NULL);
    assert_non_null(got);
    sh_text_close(&text);
    return got;
}

static const char *get(const json_t *got, size_t i, const char *key)
{
    const json_t *profile = json_array_get(json_object_get(got, "profiles"), i);
    return json_string_value(json_object_get(profile, key));
}

/* Those of the command line first, then the folder's by name; nothing else that lies there. */
static void test_what_is_offered(void **state)
{
    struct profile_home *home = *state;
    char given[SCRATCH_PATH_BYTES];
    profile_home_write(home, "sensors/b.ini", gauge);
    profile_home_write(home, "sensors/a.ini", "[sensor]\nkiln = 1\n");
    profile_home_write(home, "sensors/notes.txt", gauge);
    profile_home_write(home, "sensors/.hidden.ini", gauge);
    profile_home_write(home, "sensors/b.ini.1", gauge);
    profile_home_write(home, "given.ini", gauge);
    scratch_path(&home->scratch, "given.ini", given);
    home->setup.given.profile[0] = given;
    home->setup.given.n_profiles = 1;
    json_t *got = put(home);
    assert_int_equal(json_array_size(json_object_get(got, "profiles")), 3);
    assert_string_equal(get(got, 0, "id"), "line/1");
    assert_string_equal(get(got, 0, "file"), "given.ini");
    assert_string_equal(get(got, 0, "name"), "string gauge");
    assert_string_equal(get(got, 0, "port"), "usb:KILN01");
    assert_null(get(got, 0, "error"));
    assert_string_equal(get(got, 1, "id"), "home/a.ini");
    assert_string_equal(get(got, 1, "error"),
                        "a.ini:2: kiln: no such key in this section; see the keys in "
                        "docs/sensor-profile.md");
    assert_string_equal(get(got, 2, "id"), "home/b.ini");
    const json_t *streams =
        json_object_get(json_array_get(json_object_get(got, "profiles"), 2), "streams");
    char *dumped = json_dumps(streams, JSON_COMPACT);
    assert_string_equal(dumped, "[{\"rate_hz\":1000,\"channels\":[{\"role\":\"string_force\","
                                "\"finger\":null,\"axis\":null},{\"role\":\"finger_force\","
                                "\"finger\":\"ring\",\"axis\":null}]}]");
    free(dumped);
    json_decref(got);
}

static void test_a_file_comes_once(void **state)
{
    struct profile_home *home = *state;
    char given[SCRATCH_PATH_BYTES];
    profile_home_write(home, "sensors/b.ini", gauge);
    scratch_path(&home->scratch, "sensors/b.ini", given);
    home->setup.given.profile[0] = given;
    home->setup.given.n_profiles = 1;
    json_t *got = put(home);
    assert_int_equal(json_array_size(json_object_get(got, "profiles")), 1);
    assert_string_equal(get(got, 0, "id"), "line/1");
    json_decref(got);
}

static void test_no_folder_is_no_profile(void **state)
{
    struct profile_home *home = *state;
    (void)snprintf(home->setup.home, sizeof home->setup.home, "%s/nowhere",
                   home->scratch.folder);
    json_t *got = put(home);
    assert_int_equal(json_array_size(json_object_get(got, "profiles")), 0);
    json_decref(got);
}

/* A pipe is not waited for, a folder not read, a name that cannot be said not chosen. */
static void test_what_is_no_file(void **state)
{
    struct profile_home *home = *state;
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&home->scratch, "sensors/a.ini", path);
    assert_int_equal(mkfifo(path, 0600), 0);
    scratch_path(&home->scratch, "sensors/b.ini", path);
    assert_int_equal(mkdir(path, 0700), 0);
    scratch_path(&home->scratch, "sensors/c.ini", path);
    assert_int_equal(symlink("/nowhere/at/all", path), 0);
    profile_home_write(home, "sensors/d\xff.ini", gauge);
    json_t *got = put(home);
    assert_int_equal(json_array_size(json_object_get(got, "profiles")), 4);
    assert_string_equal(get(got, 0, "error"),
                        "a.ini: this is no ordinary file; put a profile there");
    assert_string_equal(get(got, 1, "error"),
                        "b.ini: this is no ordinary file; put a profile there");
    assert_string_equal(get(got, 2, "error"),
                        "c.ini: cannot open the profile: No such file or directory; check the "
                        "name");
    assert_non_null(strstr(get(got, 3, "error"), "its name is no UTF-8; rename it"));
    json_decref(got);
}

/* An id is one of the list to the letter; a path is none. */
static void test_ids(void **state)
{
    static const char *const strange[] = {
        "",           "b.ini",  "home/",  "home/b.ini/", "home/../sensors/b.ini", "home//b.ini",
        "home/B.ini", "line/0", "line/2", "/etc/passwd"};
    struct profile_home *home = *state;
    struct sh_live_profiles profiles;
    struct sh_error err = {0};
    struct sh_profile *read = malloc(sizeof *read);
    assert_non_null(read);
    profile_home_write(home, "sensors/b.ini", gauge);
    assert_int_equal(sh_live_profiles_open(&home->setup, &profiles, &err), SH_OK);
    for (size_t i = 0; i < sizeof strange / sizeof strange[0]; i++) {
        assert_null(sh_live_profiles_find(&profiles, strange[i]));
    }
    const struct sh_live_profile *found = sh_live_profiles_find(&profiles, "home/b.ini");
    assert_non_null(found);
    assert_int_equal(sh_live_profile_read(found, read, &err), SH_OK);
    assert_string_equal(read->name, "string gauge");
    sh_live_profiles_close(&profiles);
    free(read);
}

static void test_as_many_as_are_shown(void **state)
{
    struct profile_home *home = *state;
    for (unsigned i = 0; i <= SH_LIVE_PROFILES_MAX; i++) {
        char name[64];
        (void)snprintf(name, sizeof name, "sensors/%03u.ini", i);
        profile_home_write(home, name, gauge);
    }
    json_t *got = put(home);
    assert_int_equal(json_array_size(json_object_get(got, "profiles")), SH_LIVE_PROFILES_MAX);
    assert_string_equal(get(got, SH_LIVE_PROFILES_MAX - 1, "id"), "home/063.ini");
    json_decref(got);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_what_is_offered, open_home, close_home),
        cmocka_unit_test_setup_teardown(test_a_file_comes_once, open_home, close_home),
        cmocka_unit_test_setup_teardown(test_no_folder_is_no_profile, open_home, close_home),
        cmocka_unit_test_setup_teardown(test_what_is_no_file, open_home, close_home),
        cmocka_unit_test_setup_teardown(test_ids, open_home, close_home),
        cmocka_unit_test_setup_teardown(test_as_many_as_are_shown, open_home, close_home),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
