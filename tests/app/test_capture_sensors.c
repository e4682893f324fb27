/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_sensors.h"

#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/two_profiles.h"
#include "app/typed.h"
#include "support/cmocka_all.h"

static void open_setup(struct sh_capture_setup *setup)
{
    *setup = (struct sh_capture_setup){.n_sensors = 0};
    setup->session = calloc(1, sizeof *setup->session);
    assert_non_null(setup->session);
    memcpy(setup->session->athlete, "wren", sizeof "wren");
}

static void read_profile(struct sh_capture_choice *choice, size_t sensor, const char *text)
{
    struct sh_error err = {0};
    choice->file[sensor] = sensor == 0 ? "first.ini" : "second.ini";
    assert_int_equal(sh_profile_parse(text, strlen(text), choice->file[sensor],
                                      &choice->profiles[sensor], &err),
                     SH_OK);
}

static void open_choice(struct sh_capture_choice *choice, const char *first, const char *second)
{
    struct sh_error err = {0};
    assert_int_equal(sh_capture_choice_open(choice, second != NULL ? 2 : 1, &err), SH_OK);
    read_profile(choice, 0, first);
    if (second != NULL) {
        read_profile(choice, 1, second);
    }
}

/* Sensors, addresses and streams are put in, exchanged and taken out; who shoots stays. */
static void test_sensors_come_and_go(void **state)
{
    struct sh_capture_setup setup;
    struct sh_capture_choice choice;
    struct sh_error err = {0};
    char address[] = "usb:SENSOR01"; /* copied */
    open_setup(&setup);
    open_choice(&choice, two_profiles_string, two_profiles_bow);
    choice.address[1] = address;
    assert_int_equal(sh_capture_sensors_put(&setup, &choice, &err), SH_OK);
    memset(address, 'x', sizeof address - 1);
    assert_int_equal(choice.n_sensors, 0);
    assert_null(choice.profiles);
    assert_int_equal(setup.n_sensors, 2);
    assert_string_equal(setup.profiles[0].name, "string gauge");
    assert_string_equal(setup.address[0], "/dev/kiln");
    assert_string_equal(setup.address[1], "usb:SENSOR01");
    assert_int_equal(setup.session->n_streams, 2);
    assert_string_equal(setup.session->streams[0].stream.name, "string");
    assert_string_equal(setup.session->streams[1].stream.name, "bow");

    open_choice(&choice, two_profiles_bow, NULL);
    choice.address[0] = "/dev/ttyUSB0";
    assert_int_equal(sh_capture_sensors_put(&setup, &choice, &err), SH_OK);
    assert_int_equal(setup.n_sensors, 1);
    assert_string_equal(setup.address[0], "/dev/ttyUSB0");
    assert_null(setup.address[1]);
    assert_int_equal(setup.session->n_streams, 1);
    assert_string_equal(setup.session->streams[0].stream.name, "bow");
    assert_string_equal(setup.session->streams[1].stream.name, "");

    sh_capture_sensors_clear(&setup);
    assert_int_equal(setup.n_sensors, 0);
    assert_null(setup.profiles);
    assert_null(setup.address[0]);
    assert_int_equal(setup.session->n_streams, 0);
    assert_string_equal(setup.session->athlete, "wren");
    sh_capture_setup_close(&setup);
}

static void test_no_sensor_is_a_choice(void **state)
{
    struct sh_capture_setup setup;
    struct sh_capture_choice choice;
    struct sh_error err = {0};
    open_setup(&setup);
    open_choice(&choice, two_profiles_string, NULL);
    assert_int_equal(sh_capture_sensors_put(&setup, &choice, &err), SH_OK);
    assert_int_equal(sh_capture_choice_open(&choice, 0, &err), SH_OK);
    assert_int_equal(sh_capture_sensors_put(&setup, &choice, &err), SH_OK);
    assert_int_equal(setup.n_sensors, 0);
    assert_int_equal(setup.session->n_streams, 0);
    sh_capture_choice_close(&choice);
    sh_capture_setup_close(&setup);
}

/* What is refused changes nothing, and is still the caller's. */
static void expect_refused(struct sh_capture_choice *choice, const char *what)
{
    struct sh_capture_setup setup;
    struct sh_capture_choice before;
    struct sh_error err = {0};
    open_setup(&setup);
    open_choice(&before, two_profiles_string, NULL);
    assert_int_equal(sh_capture_sensors_put(&setup, &before, &err), SH_OK);
    assert_int_equal(sh_capture_sensors_put(&setup, choice, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.what, what);
    assert_non_null(choice->profiles);
    assert_int_equal(setup.n_sensors, 1);
    assert_string_equal(setup.address[0], "/dev/kiln");
    assert_int_equal(setup.session->n_streams, 1);
    sh_capture_choice_close(choice);
    sh_capture_setup_close(&setup);
}

static void test_sensors_that_do_not_fit_together(void **state)
{
    struct sh_capture_choice choice;
    open_choice(&choice, two_profiles_string, two_profiles_string);
    choice.address[1] = "/dev/other";
    expect_refused(&choice, "two streams are called 'string'");
    open_choice(&choice, two_profiles_string, two_profiles_bow);
    expect_refused(&choice, "no port for this sensor");
    open_choice(&choice, two_profiles_string, two_profiles_bow);
    choice.address[1] = "/dev/kiln";
    expect_refused(&choice, "two sensors at '/dev/kiln'");
    open_choice(&choice, two_profiles_string, two_profiles_bow);
    choice.address[1] = "/dev/other";
    choice.profiles[1].n_streams = SH_STREAMS_MAX; /* and one more */
    expect_refused(&choice, "over 8 streams in all");
}

static void test_as_many_as_there_is_room_for(void **state)
{
    struct sh_capture_choice choice;
    struct sh_error err = {0};
    assert_int_equal(sh_capture_choice_open(&choice, SH_CAPTURE_SETUP_SENSORS_MAX, &err),
                     SH_OK);
    sh_capture_choice_close(&choice);
    assert_int_equal(sh_capture_choice_open(&choice, SH_CAPTURE_SETUP_SENSORS_MAX + 1, &err),
                     SH_ERR_ARGUMENT);
    assert_string_equal(err.todo, "take up to 8 sensors");
    sh_capture_choice_close(&choice);
}

static enum sh_status read_live(const char *const *words, struct sh_capture_setup *setup)
{
    struct typed typed;
    struct sh_error err = {0};
    typed_parse(&typed, &sh_command_live, words);
    enum sh_status status =
        sh_capture_setup_read(&sh_command_live, &typed.line, true, setup, &err);
    assert_true(status == SH_OK || err.what[0] != '\0');
    return status;
}

/* Where they may be chosen later they may be missing, or their ports; what was given is kept.
 */
static void test_sensors_that_come_later(void **state)
{
    struct two_profiles files;
    struct sh_capture_setup setup;
    two_profiles_open(&files);
    const char *nothing[] = {"--home=/data", NULL};
    assert_int_equal(read_live(nothing, &setup), SH_OK);
    assert_true(setup.may_wait);
    assert_int_equal(setup.n_sensors, 0);
    assert_int_equal(setup.session->n_streams, 0);
    sh_capture_setup_close(&setup);

    const char *port_alone[] = {"--home=/data", "--port", "tcp:10.0.0.5:4000", NULL};
    assert_int_equal(read_live(port_alone, &setup), SH_OK);
    assert_int_equal(setup.n_sensors, 0);
    assert_int_equal(setup.given.n_ports, 1);
    assert_string_equal(setup.given.port[0], "tcp:10.0.0.5:4000");
    sh_capture_setup_close(&setup);

    const char *one_portless[] = {"--home=/data", "--sensor", files.string,
                                  "--sensor",     files.bow,  NULL};
    assert_int_equal(read_live(one_portless, &setup), SH_OK);
    assert_int_equal(setup.n_sensors, 0);
    assert_int_equal(setup.given.n_profiles, 2);
    assert_string_equal(setup.given.profile[1], files.bow);
    sh_capture_setup_close(&setup);

    const char *complete[] = {"--home=/data", "--sensor", files.string, NULL};
    assert_int_equal(read_live(complete, &setup), SH_OK);
    assert_int_equal(setup.n_sensors, 1);
    assert_string_equal(setup.address[0], "/dev/kiln");
    sh_capture_setup_close(&setup);
    two_profiles_close(&files);
}

/* A replay's samples have no other time than their own: its sensors are given. */
static void test_sensors_that_must_be_given(void **state)
{
    struct sh_capture_setup setup;
    const char *alone[] = {"--replay", NULL};
    assert_int_equal(read_live(alone, &setup), SH_ERR_ARGUMENT);
    sh_capture_setup_close(&setup);
    const char *unread[] = {"--sensor", "/nowhere/gauge.ini", NULL};
    assert_int_equal(read_live(unread, &setup), SH_ERR_NOT_FOUND);
    sh_capture_setup_close(&setup);
    const char *more_ports[] = {
        "--sensor", "/nowhere/gauge.ini", "--port", "/nowhere/gauge.ini",
        "--port",   "/nowhere/gauge.ini", NULL};
    assert_int_equal(read_live(more_ports, &setup), SH_ERR_ARGUMENT);
    sh_capture_setup_close(&setup);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sensors_come_and_go),
        cmocka_unit_test(test_no_sensor_is_a_choice),
        cmocka_unit_test(test_sensors_that_do_not_fit_together),
        cmocka_unit_test(test_as_many_as_there_is_room_for),
        cmocka_unit_test(test_sensors_that_come_later),
        cmocka_unit_test(test_sensors_that_must_be_given),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
