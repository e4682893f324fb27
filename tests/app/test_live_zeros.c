/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_zeros.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static const char string_profile[] =
    "[sensor]\nname = kiln\nframing = text\n[stream string]\nrate_hz = 1000\n"
    "[column 1]\nrole = string_force\nscale = 0.0125\nzero = 12.5\n";
static const char tab_profile[] =
    "[sensor]\nname = tab\nframing = text\n[stream tab]\nrate_hz = 500\n"
    "[column 1]\nrole = finger_force\nfinger = index\nscale = 0.01\n"
    "[column 2]\nrole = finger_force\nfinger = ring\nscale = 0.01\n";

struct place {
    struct sh_capture_setup setup;
    struct sh_live_zeros zeros;
};

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    place->setup.session = calloc(1, sizeof *place->setup.session);
    assert_non_null(place->setup.session);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_live_zeros_close(&place->zeros);
    sh_capture_sensors_clear(&place->setup);
    free(place->setup.session);
    free(place);
    return 0;
}

struct chosen {
    const char *text;
    const char *address;
};

/* Chooses sensors as the page does: their zeros of before, where they are the same. */
static void choose(struct place *place, const struct chosen *chosen, size_t n)
{
    struct sh_capture_choice choice;
    struct sh_error err = {0};
    assert_int_equal(sh_capture_choice_open(&choice, n, &err), SH_OK);
    for (size_t i = 0; i < n; i++) {
        choice.address[i] = chosen[i].address;
        assert_int_equal(sh_profile_parse(chosen[i].text, strlen(chosen[i].text), "a.ini",
                                          &choice.profiles[i], &err),
                         SH_OK);
    }
    sh_live_zeros_fill(&place->zeros, &choice);
    assert_int_equal(sh_capture_sensors_put(&place->setup, &choice, &err), SH_OK);
}

static void set_zero(struct place *place, size_t s, size_t c, double zero)
{
    place->setup.session->streams[s].stream.channel[c].zero = zero;
    assert_int_equal(sh_live_zeros_keep(&place->zeros, &place->setup, s), SH_OK);
}

static double get_zero(const struct place *place, size_t s, size_t c)
{
    return place->setup.session->streams[s].stream.channel[c].zero;
}

static void test_it_holds_where_the_same_is_chosen_again(void **state)
{
    struct place *place = *state;
    const struct chosen string = {string_profile, "/dev/ttyUSB0"};
    const struct chosen both[] = {{tab_profile, "/dev/ttyUSB1"}, string};
    choose(place, &string, 1);
    assert_false(sh_live_zeros_is_set(&place->setup, 0));
    set_zero(place, 0, 0, 30.0);
    assert_true(sh_live_zeros_is_set(&place->setup, 0));
    choose(place, both, 2); /* beside another, at another place */
    assert_near(get_zero(place, 1, 0), 30.0, 0, 0);
    assert_false(sh_live_zeros_is_set(&place->setup, 0));
    assert_true(sh_live_zeros_is_set(&place->setup, 1));
    assert_near(sh_live_zeros_find_own(&place->setup, 1)->channel[0].zero, 12.5, 0, 0);
    set_zero(place, 0, 1, -4.0); /* of the second finger alone */
    set_zero(place, 1, 0, 31.0); /* the last counts */
    choose(place, both, 2);
    assert_near(get_zero(place, 0, 0), 0.0, 0, 0);
    assert_near(get_zero(place, 0, 1), -4.0, 0, 0);
    assert_near(get_zero(place, 1, 0), 31.0, 0, 0);
    assert_null(sh_live_zeros_find_own(&place->setup, 2));
}

/* Another port, or one thing in the profile that is not the same: its own zero. */
static void test_it_does_not_where_another_is_chosen(void **state)
{
    struct place *place = *state;
    char other[sizeof string_profile + 32];
    struct chosen chosen = {string_profile, "/dev/ttyUSB0"};
    choose(place, &chosen, 1);
    set_zero(place, 0, 0, 30.0);
    chosen.address = "/dev/ttyUSB1";
    choose(place, &chosen, 1);
    assert_near(get_zero(place, 0, 0), 12.5, 0, 0);
    chosen = (struct chosen){other, "/dev/ttyUSB0"};
    (void)snprintf(other, sizeof other, "%szero_u = 1\n", string_profile);
    choose(place, &chosen, 1);
    assert_near(get_zero(place, 0, 0), 12.5, 0, 0);
    (void)snprintf(other, sizeof other, "# moved\n%s", string_profile); /* a comment alone */
    choose(place, &chosen, 1);
    assert_near(get_zero(place, 0, 0), 30.0, 0, 0);
}

static void test_the_way_back(void **state)
{
    struct place *place = *state;
    const struct chosen string = {string_profile, "/dev/ttyUSB0"};
    choose(place, &string, 1);
    set_zero(place, 0, 0, 30.0);
    set_zero(place, 0, 0, 12.5); /* the profile's own again */
    assert_int_equal(place->zeros.n, 0);
    choose(place, &string, 1);
    assert_false(sh_live_zeros_is_set(&place->setup, 0));
}

static void test_the_first_is_forgotten(void **state)
{
    struct place *place = *state;
    char address[32];
    const struct chosen string = {string_profile, address};
    for (size_t i = 0; i <= SH_LIVE_ZEROS_MAX; i++) {
        (void)snprintf(address, sizeof address, "/dev/ttyUSB%zu", i);
        choose(place, &string, 1);
        set_zero(place, 0, 0, 100.0 + (double)i);
    }
    assert_int_equal(place->zeros.n, SH_LIVE_ZEROS_MAX);
    for (size_t i = 0; i <= SH_LIVE_ZEROS_MAX; i++) {
        (void)snprintf(address, sizeof address, "/dev/ttyUSB%zu", i);
        choose(place, &string, 1);
        assert_near(get_zero(place, 0, 0), i == 0 ? 12.5 : 100.0 + (double)i, 0, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_it_holds_where_the_same_is_chosen_again,
                                        open_place, close_place),
        cmocka_unit_test_setup_teardown(test_it_does_not_where_another_is_chosen, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_the_way_back, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_the_first_is_forgotten, open_place, close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
