/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_ports.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#include "app/intake_set.h"
#include "recording/collector.h"
#include "support/cmocka_all.h"

#define STEPS_MAX 500

static const char profile_text[] =
    "[sensor]\nname = kiln\nframing = text\n[stream %s]\nrate_hz = 50\n"
    "[column 1]\nrole = string_force\nscale = 0.0125\n";
static const char *const streams[] = {"kiln", "oven"};

/* Two sensors' ends of pseudo-terminals, and their names at this end. */
struct place {
    int sensor[2];
    char path[2][64];
    struct sh_capture_setup setup; /* of the sensors that are read now */
    struct sh_capture_choice choice;
    struct collector got;
};

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    for (size_t i = 0; i < 2; i++) {
        place->sensor[i] = posix_openpt(O_RDWR | O_NOCTTY);
        assert_true(place->sensor[i] >= 0);
        assert_int_equal(grantpt(place->sensor[i]), 0);
        assert_int_equal(unlockpt(place->sensor[i]), 0);
        (void)snprintf(place->path[i], sizeof place->path[i], "%s", ptsname(place->sensor[i]));
    }
    place->setup.session = calloc(1, sizeof *place->setup.session);
    assert_non_null(place->setup.session);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_capture_choice_close(&place->choice);
    sh_capture_sensors_clear(&place->setup);
    collector_close(&place->got);
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(close(place->sensor[i]), 0);
    }
    free(place->setup.session);
    free(place);
    return 0;
}

static void choose(struct place *place, size_t n, const char *const *addresses)
{
    struct sh_error err = {0};
    char text[sizeof profile_text + 16];
    assert_int_equal(sh_capture_choice_open(&place->choice, n, &err), SH_OK);
    for (size_t i = 0; i < n; i++) {
        (void)snprintf(text, sizeof text, profile_text, streams[i]);
        assert_int_equal(
            sh_profile_parse(text, strlen(text), "a.ini", &place->choice.profiles[i], &err),
            SH_OK);
        place->choice.address[i] = addresses[i];
    }
}

static enum sh_status open_ports(struct place *place, struct sh_error *err)
{
    *err = (struct sh_error){0};
    return sh_capture_ports_open(&place->choice, &place->setup, err);
}

/* Whether somebody holds a port against other readers. */
static bool is_held(const char *path)
{
    const int other = open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK);
    assert_true(other >= 0);
    const bool is_held = flock(other, LOCK_EX | LOCK_NB) != 0;
    assert_int_equal(close(other), 0);
    return is_held;
}

static void send(const struct place *place, size_t i, const char *text)
{
    assert_int_equal(write(place->sensor[i], text, strlen(text)), strlen(text));
}

/* The port that was opened is the one that is read: held all the time, and what came before
 * anybody read it is not taken for something that comes now. */
static void test_it_is_opened_once(void **state)
{
    struct place *place = *state;
    const char *const addresses[] = {place->path[0]};
    struct sh_intake_set set;
    struct sh_error err;
    choose(place, 1, addresses);
    assert_int_equal(open_ports(place, &err), SH_OK);
    assert_true(is_held(place->path[0]));
    send(place, 0, "0,800\n20000,801\n");
    assert_int_equal(sh_capture_sensors_put(&place->setup, &place->choice, &err), SH_OK);
    assert_non_null(place->setup.port[0]);
    const struct sh_block_sink sink = collector_open(&place->got);
    assert_int_equal(sh_intake_set_open(&place->setup, 0, &sink, &set, &err), SH_OK);
    assert_null(place->setup.port[0]);
    assert_true(is_held(place->path[0]));
    send(place, 0, "40000,802\n60000,803\n80000,804\n");
    bool can_go_on = true;
    uint64_t n_good = 0;
    for (size_t i = 0; i < STEPS_MAX && n_good < 3; i++) {
        assert_int_equal(sh_intake_set_step(&set, &can_go_on, &err), SH_OK);
        n_good = sh_intake_set_add_up(&set).good;
    }
    assert_int_equal(n_good, 3); /* not 5 */
    assert_int_equal(sh_intake_set_add_up(&set).skipped_bytes, 0);
    sh_intake_set_close(&set);
    assert_false(is_held(place->path[0]));
}

/* A port in use is refused in a line, and the others that were opened are let go. */
static void test_one_that_is_in_use(void **state)
{
    struct place *place = *state;
    const char *const addresses[] = {place->path[0], place->path[1]};
    struct sh_error err;
    const int other = open(place->path[1], O_RDONLY | O_NOCTTY | O_NONBLOCK);
    assert_int_equal(flock(other, LOCK_EX | LOCK_NB), 0);
    choose(place, 2, addresses);
    assert_int_equal(open_ports(place, &err), SH_ERR_BUSY);
    assert_string_equal(err.where, place->path[1]);
    assert_true(is_held(place->path[0]));
    sh_capture_choice_close(&place->choice);
    assert_false(is_held(place->path[0]));
    assert_int_equal(close(other), 0);
}

/* Those that are read now, under whatever name, and what is no terminal: left alone. */
static void test_what_is_not_opened_beforehand(void **state)
{
    struct place *place = *state;
    char link[] = "/tmp/port-XXXXXX";
    const char *const now[] = {place->path[0]};
    const char *const addresses[] = {link, "tcp:127.0.0.1:1"};
    struct sh_error err;
    choose(place, 1, now);
    assert_int_equal(sh_capture_sensors_put(&place->setup, &place->choice, &err), SH_OK);
    const int made = mkstemp(link);
    assert_true(made >= 0);
    assert_int_equal(close(made), 0);
    assert_int_equal(unlink(link), 0);
    assert_int_equal(symlink(place->path[0], link), 0);
    choose(place, 2, addresses);
    assert_int_equal(open_ports(place, &err), SH_OK);
    assert_null(place->choice.port[0]);
    assert_null(place->choice.port[1]);
    assert_int_equal(unlink(link), 0);
    sh_capture_choice_close(&place->choice);
    const char *const others[] = {"/nothing/here", place->path[1]};
    choose(place, 2, others);
    assert_int_equal(open_ports(place, &err), SH_OK);
    assert_null(place->choice.port[0]);
    assert_non_null(place->choice.port[1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_it_is_opened_once, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_one_that_is_in_use, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_what_is_not_opened_beforehand, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
