/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_sensors.h"

#include <stdlib.h>
#include <string.h>

#include "app/profile_home.h"
#include "support/cmocka_all.h"

#define PROFILE(NAME, PORT)                                                                    \
    "[sensor]\nname = " NAME " gauge\nframing = text\n" PORT "[stream " NAME                   \
    "]\nrate_hz = 1000\n[column 1]\nrole = string_force\nscale = 0.0125\n"

struct place {
    struct profile_home home;
    struct sh_live_ports ports;
    struct sh_live_choice choice;
};

static int open_place(void **state)
{
    static struct sh_port_list_entry entries[] = {{.path = "/dev/ttyUSB0"},
                                                  {.path = "/dev/ttyUSB1"}};
    static const struct sh_port_list list = {entries, 2};
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    profile_home_open(&place->home);
    profile_home_write(&place->home, "sensors/kiln.ini", PROFILE("kiln", ""));
    profile_home_write(&place->home, "sensors/oven.ini", PROFILE("oven", "port = /dev/oven\n"));
    profile_home_write(&place->home, "sensors/input.ini", PROFILE("input", "port = -\n"));
    profile_home_write(&place->home, "sensors/bad.ini", "[kiln]\n");
    place->ports = (struct sh_live_ports){&list, &place->home.setup.given, true};
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    profile_home_close(&place->home);
    free(place);
    return 0;
}

/* Reads a command; the line that refuses it, or "". */
static enum sh_status read_choice(struct place *place, const char *text, json_t **object)
{
    struct sh_error err = {0};
    *object = json_loads(text, 0, NULL);
    assert_non_null(*object);
    const enum sh_status status =
        sh_live_choice_read(&place->ports, &place->home.setup, *object, &place->choice, &err);
    assert_true(status == SH_OK || (err.status == status && err.what[0] != '\0'));
    return status;
}

static void expect(struct place *place, const char *text, enum sh_status want)
{
    json_t *object = NULL;
    const enum sh_status got = read_choice(place, text, &object);
    sh_live_choice_close(&place->choice);
    json_decref(object);
    if (got != want) {
        fail_msg("%s: %s", text, sh_status_name(got));
    }
}

static void test_choices(void **state)
{
    struct place *place = *state;
    json_t *object = NULL;
    const struct sh_capture_choice *choice = &place->choice.choice;
    assert_int_equal(read_choice(place,
                                 "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":"
                                 "\"/dev/ttyUSB1\"},{\"profile\":\"home/oven.ini\"}]}",
                                 &object),
                     SH_OK);
    assert_int_equal(choice->n_sensors, 2);
    assert_string_equal(choice->profiles[0].name, "kiln gauge");
    assert_string_equal(sh_capture_choice_get_address(choice, 0), "/dev/ttyUSB1");
    assert_string_equal(sh_capture_choice_get_address(choice, 1), "/dev/oven");
    assert_string_equal(place->choice.id[1], "home/oven.ini");
    assert_string_equal(choice->file[1], "oven.ini");
    sh_live_choice_close(&place->choice);
    json_decref(object);
    expect(place, "{\"sensors\":[]}", SH_OK);
    expect(place, "{\"sensors\":[{\"profile\":\"home/oven.ini\",\"port\":null}]}", SH_OK);
    expect(place, "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"usb:KILN\"}]}",
           SH_OK);
}

static void test_choices_that_are_none(void **state)
{
    static const char *const strange[] = {
        "{}",
        "{\"sensors\":null}",
        "{\"sensors\":{}}",
        "{\"sensors\":\"home/kiln.ini\"}",
        "{\"sensors\":[7]}",
        "{\"sensors\":[{}]}",
        "{\"sensors\":[{\"profile\":7}]}",
        "{\"sensors\":[{\"profile\":\"/etc/passwd\",\"port\":\"/dev/ttyUSB0\"}]}",
        "{\"sensors\":[{\"profile\":\"home/../sensors/kiln.ini\",\"port\":\"/dev/ttyUSB0\"}]}",
        "{\"sensors\":[{\"profile\":\"home/kiln.ini\"}]}",
        "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":7}]}",
        "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"\"}]}",
        "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"/etc/passwd\"}]}",
        "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"-\"}]}",
        "{\"sensors\":[{\"profile\":\"home/input.ini\"}]}",
        ("{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"/dev/ttyUSB0\"},"
         "{\"profile\":\"home/kiln.ini\",\"port\":\"/dev/ttyUSB1\"}]}"),
        ("{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"/dev/ttyUSB0\"},"
         "{\"profile\":\"home/oven.ini\",\"port\":\"/dev/ttyUSB0\"}]}"),
        "{\"sensors\":[{},{},{},{},{},{},{},{},{}]}"};
    for (size_t i = 0; i < sizeof strange / sizeof strange[0]; i++) {
        expect(*state, strange[i], SH_ERR_ARGUMENT);
    }
    expect(*state, "{\"sensors\":[{\"profile\":\"home/bad.ini\",\"port\":\"/dev/ttyUSB0\"}]}",
           SH_ERR_FORMAT);
    expect(*state, "{\"sensors\":[{\"profile\":\"home/kiln.ini\",\"port\":\"tcp:quarry:22\"}]}",
           SH_ERR_PERMISSION);
}

static void begin(struct sh_live_sensors *sensors)
{
    static struct sh_profile profiles[2];
    const struct sh_capture_setup setup = {
        .n_sensors = 2, .profiles = profiles, .address = {"/dev/ttyUSB0", "/dev/ttyUSB1"}};
    memcpy(profiles[0].name, "kiln gauge", sizeof "kiln gauge");
    sh_live_sensors_begin(sensors, &setup, 100.0);
}

static void hear(struct sh_live_sensors *sensors,
                 size_t sensor,
                 struct sh_capture_hearing hearing,
                 double now_s)
{
    sh_live_sensors_hear(sensors, sensor, &hearing, now_s);
}

/* Nothing good for five seconds is said; what was bad before something good is forgotten. */
static void test_hearing(void **state)
{
    struct sh_live_sensors sensors;
    const struct sh_capture_hearing nothing = {.is_open = true};
    const struct sh_capture_hearing strange = {.is_open = true, .n_bytes = 1};
    const struct sh_capture_hearing good = {.is_open = true, .n_good = 1, .n_bytes = 900};
    const struct sh_capture_hearing away = {.n_good = 7};
    const double soon_s = 100.0 + SH_LIVE_SENSORS_PATIENCE_S - 0.01;
    const double late_s = 100.0 + SH_LIVE_SENSORS_PATIENCE_S;
    sh_live_sensors_init(&sensors);
    begin(&sensors);
    assert_string_equal(sh_live_sensors_get_hearing(&sensors), "waiting");
    hear(&sensors, 0, good, soon_s);
    hear(&sensors, 1, strange, soon_s);
    assert_string_equal(sh_live_sensors_get_hearing(&sensors), "waiting");
    hear(&sensors, 1, nothing, late_s);
    assert_string_equal(sh_live_sensors_get_hearing(&sensors), "silent");
    hear(&sensors, 1, strange, late_s);
    assert_string_equal(sh_live_sensors_get_hearing(&sensors), "strange");
    hear(&sensors, 1, good, late_s);
    assert_string_equal(sh_live_sensors_get_hearing(&sensors), "well");
    hear(&sensors, 0, away, late_s);
    assert_string_equal(sh_live_sensors_get_hearing(&sensors), "away");
}

static void test_what_is_told(void **state)
{
    struct sh_live_sensors sensors;
    struct sh_error why = {0};
    struct sh_text text;
    sh_live_sensors_init(&sensors);
    begin(&sensors);
    sensors.row[0].n_zeroed = 2;
    (void)snprintf(sensors.row[0].zeroed[0], sizeof sensors.row[0].zeroed[0], "string");
    (void)snprintf(sensors.row[0].zeroed[1], sizeof sensors.row[0].zeroed[1], "bow");
    sh_text_init(&text, 0);
    sh_live_sensors_put(&sensors, &text);
    assert_string_equal(
        text.data, "\"current\":[{\"id\":\"line/1\",\"profile\":\"kiln gauge\",\"address\":"
                   "\"/dev/ttyUSB0\",\"hearing\":\"waiting\",\"zeroed\":[\"string\",\"bow\"]},"
                   "{\"id\":\"line/2\",\"profile\":\"\",\"address\":\"/dev/"
                   "ttyUSB1\",\"hearing\":\"waiting\","
                   "\"zeroed\":[]}]");
    sh_text_reset(&text);
    (void)sh_error_set(&why, SH_ERR_BUSY, "/dev/ttyUSB0", "close it", "in use");
    sh_live_sensors_clear(&sensors, &why);
    assert_string_equal(sensors.trouble, "/dev/ttyUSB0: in use; close it");
    sh_live_sensors_put(&sensors, &text);
    assert_string_equal(text.data, "\"current\":[]");
    sh_live_sensors_clear(&sensors, NULL);
    assert_string_equal(sensors.trouble, "");
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_choices, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_choices_that_are_none, open_place, close_place),
        cmocka_unit_test(test_hearing),
        cmocka_unit_test(test_what_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
