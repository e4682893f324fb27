/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/club.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* `team` on simulated sessions, through the real program. */

struct place {
    struct club club;
    char wren[SCRATCH_PATH_BYTES];
};

static void simulate(const struct place *place,
                     const char *athlete,
                     const char *seed,
                     const char *draws,
                     const char *clock)
{
    char folder[SCRATCH_PATH_BYTES];
    char name[64];
    (void)snprintf(name, sizeof name, "home/recordings/%s", athlete);
    scratch_path(&place->club.scratch, name, folder);
    const char *words[] = {
        "simulate",  "--seed", seed,   "--draws",   draws,   "--set",
        "force1000", "--out",  folder, "--athlete", athlete, clock != NULL ? "--clock" : NULL,
        clock,       NULL};
    free(club_run(&place->club, words, 0));
}

static int open_place(void **state)
{
    static struct place place;
    club_open(&place.club);
    scratch_path(&place.club.scratch, "home/recordings/wren", place.wren);
    simulate(&place, "wren", "11", "36", "120");
    simulate(&place, "rook", "12", "36", "120");
    simulate(&place, "heron", "13", "36", NULL);
    simulate(&place, "teal", "14", "12", "120");
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    club_close(&place->club);
    return 0;
}

static double get_number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

/* Set-up times of 8 to 12 s, holds of some 3 s: an arrow takes 12 to 19 s, as told. */
static void test_three(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"team",     "wren",     "rook",
                           "heron",    "--folder", place->club.recordings,
                           "--format", "json",     NULL};
    char *out = club_run(&place->club, words, 0);
    json_t *root = json_loads(out, 0, NULL);
    assert_non_null(root);
    const json_t *archers = json_object_get(root, "archers");
    assert_int_equal(json_array_size(archers), 3);
    for (size_t a = 0; a < 3; a++) {
        const json_t *archer = json_array_get(archers, a);
        assert_int_equal(get_number(archer, "ends"), 6);
        assert_int_equal(get_number(archer, "arrows"), 36);
        assert_int_equal(get_number(archer, "ends_free"), a == 2 ? 6 : 0);
        assert_true(get_number(archer, "further_s") > 12.0);
        assert_true(get_number(archer, "further_s") < 19.0);
    }
    assert_non_null(strstr(out, "6 of 6 ends of heron were shot without a clock"));
    assert_null(strstr(out, "of wren were shot without"));
    const json_t *turns = json_object_get(root, "turns");
    assert_int_equal(json_array_size(turns), 2);
    double left_s[2];
    for (size_t i = 0; i < 2; i++) {
        const json_t *orders = json_object_get(json_array_get(turns, i), "orders");
        assert_int_equal(json_array_size(orders), 6);
        const json_t *chance = json_object_get(json_array_get(orders, 0), "chance");
        assert_true(get_number(chance, "lo") <= get_number(chance, "value"));
        assert_true(get_number(chance, "value") <= get_number(chance, "hi"));
        left_s[i] = get_number(json_object_get(json_array_get(orders, 0), "left_s"), "value");
    }
    assert_true(left_s[0] > left_s[1]); /* three hand-overs more */
    json_decref(root);
    char *again = club_run(&place->club, words, 0);
    assert_string_equal(again, out);
    free(again);
    free(out);
}

/* By a folder and by name; 5 s to take over instead of 4.5: half a second less is left. */
static void test_two(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"team",        place->wren, "rook",     "--home", place->club.home,
                           "--hand-over", "4-5",       "--format", "csv",    NULL};
    const char *slower[] = {"team",        place->wren, "rook",     "--home", place->club.home,
                            "--hand-over", "5",         "--format", "csv",    NULL};
    double left_s[2];
    for (size_t i = 0; i < 2; i++) {
        char *out = club_run(&place->club, i == 0 ? words : slower, 0);
        const char *row = strstr(out, "\r\n2,wren,rook,");
        assert_non_null(row);
        row += strlen("\r\n2,wren,rook,");
        for (int column = 0; column < 3; column++) {
            row = strchr(row, ',') + 1;
        }
        left_s[i] = strtod(row, NULL);
        free(out);
    }
    assert_near(left_s[0] - left_s[1], 0.5, 1e-9, 0);
}

/* Rook is slow to take over and begins; the clock is the format's unless changed. */
static void test_table(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"team",        "wren",   "rook",  "--home",        place->club.home,
                           "--hand-over", "rook=9", "--set", "shooting_s=75", NULL};
    const char *first[] = {"team",
                           "wren",
                           "rook",
                           "--home",
                           place->club.home,
                           "--hand-over",
                           "rook=9",
                           "--first-takes-over",
                           NULL};
    char *out = club_run(&place->club, words, 0);
    assert_non_null(strstr(out, "The team of wren, rook: 4 arrows in 75 s (mixed)."));
    assert_non_null(strstr(out, "most time is left where rook begins: 4.5 s more"));
    free(out);
    out = club_run(&place->club, first, 0);
    assert_non_null(strstr(out, "The order makes no difference"));
    free(out);
}

static void
check_refused(const struct place *place, const char *const *words, int status, const char *said)
{
    char *err = club_run(&place->club, words, status);
    if (strstr(err, said) == NULL || strchr(err, '\n') != err + strlen(err) - 1) {
        fail_msg("'%s' is not the one line of: %s", said, err);
    }
    free(err);
}

static void test_refuses(void **state)
{
    const struct place *place = *state;
    const char *folder = place->club.recordings;
    const char *one[] = {"team", "wren", "--folder", folder, NULL};
    const char *twice[] = {"team", "wren", place->wren, "--folder", folder, NULL};
    const char *few[] = {"team", "wren", "teal", "--folder", folder, NULL};
    const char *nobody[] = {"team", "wren", "plover", "--folder", folder, NULL};
    const char *round[] = {"team", "wren", "rook", "--round", "team", "--folder", folder, NULL};
    const char *turns[] = {"team",        "wren",     "rook", "--round",
                           "alternating", "--folder", folder, NULL};
    const char *shares[] = {"team",     "wren",     "rook", "--set",
                            "arrows=5", "--folder", folder, NULL};
    const char *other[] = {"team",    "wren",     "rook", "--hand-over",
                           "heron=3", "--folder", folder, NULL};
    const char *slow[] = {"team", "wren", "rook", "--hand-over", "6-3", NULL};
    const char *seed[] = {"team", "wren", "rook", "--seed", "x", NULL};
    const char *runs[] = {"team", "wren", "rook", "--runs", "99", NULL};
    const char *format[] = {"team", "wren", "rook", "--format", "xml", NULL};
    check_refused(place, one, 2, "missing ATHLETE|FOLDER...");
    check_refused(place, twice, 1, "is named twice");
    check_refused(place, few, 1, "too few: the times of 12 arrows of 2 ends are known");
    check_refused(place, nobody, 1, "nor one of an athlete of that name");
    check_refused(place, round, 2, "format 'team' is for 3 archers, 2 are named");
    check_refused(place, turns, 2, "gives each arrow its own time");
    check_refused(place, shares, 2, "5 arrows cannot be shared out among 2 archers");
    check_refused(place, other, 1, "is not one of the team");
    check_refused(place, slow, 2, "'6-3' is not understood");
    check_refused(place, seed, 2, "'x' is not understood");
    check_refused(place, runs, 2, "'99' is not understood");
    check_refused(place, format, 2, "'xml' is no format");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_three),
        cmocka_unit_test(test_two),
        cmocka_unit_test(test_table),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
