/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "loop/club.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"

/* `compare` on simulated sessions, through the real program. */

#define N_EACH 4u

struct place {
    struct club club;
    char side[2][SCRATCH_PATH_BYTES];
    char folder[2][N_EACH][SCRATCH_PATH_BYTES];
};

/* Puts day and tab into a recording, as capture would have. */
static void describe(const char *folder, unsigned day, const char *tab)
{
    char started[64];
    (void)snprintf(started, sizeof started, "2026-05-%02uT09:30:00.000Z", day);
    json_t *root = json_file_load_in(folder, "recording.json");
    assert_int_equal(json_object_set_new(root, "started", json_string(started)), 0);
    assert_int_equal(json_object_set_new(root, "tags", json_pack("{s:s}", "tab", tab)), 0);
    json_file_store_in(folder, "recording.json", root);
}

static int open_place(void **state)
{
    static struct place place;
    club_open(&place.club);
    for (unsigned k = 0; k < 2; k++) {
        char name[64];
        (void)snprintf(name, sizeof name, "home/recordings/%s", k == 0 ? "thin" : "thick");
        scratch_path(&place.club.scratch, name, place.side[k]);
        assert_int_equal(mkdir(place.side[k], 0777), 0);
        for (unsigned i = 0; i < N_EACH; i++) {
            char seed[16];
            (void)snprintf(name, sizeof name, "home/recordings/%s/%u",
                           k == 0 ? "thin" : "thick", i);
            (void)snprintf(seed, sizeof seed, "%u", 1 + i + N_EACH * k);
            scratch_path(&place.club.scratch, name, place.folder[k][i]);
            const char *words[] = {
                "simulate", "--seed",           seed,        "--draws", "6", "--set", "fingers",
                "--out",    place.folder[k][i], "--athlete", "wren",    NULL};
            free(club_run(&place.club, words, 0));
            describe(place.folder[k][i], 2 + 2 * i + k, k == 0 ? "thin" : "thick");
        }
    }
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    club_close(&place->club);
    return 0;
}

static void test_two_folders(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"compare", place->side[0], place->side[1], NULL};
    char *out = club_run(&place->club, words, 0);
    assert_non_null(strstr(out, "wren: from thin to thick"));
    assert_non_null(strstr(out, "of 4 and 4 sessions; a session counts once"));
    assert_non_null(strstr(out, "No change that this many sessions could show: hold"));
    assert_non_null(strstr(out, "ring share (%)"));
    assert_non_null(strstr(out, "Not a medical device."));
    free(out);
}

/* By the tag, the same recordings give the same figures. */
static void test_by_tag(void **state)
{
    const struct place *place = *state;
    const char *folders[] = {"compare",  place->side[0], place->side[1],
                             "--format", "csv",          NULL};
    const char *tags[] = {"compare",        "--by",     "tab", "wren", "--home",
                          place->club.home, "--format", "csv", NULL};
    const char *values[] = {
        "compare", "--by", "tab=thin,thick", place->club.recordings, "--format", "csv", NULL};
    char *first = club_run(&place->club, folders, 0);
    char *second = club_run(&place->club, tags, 0);
    char *third = club_run(&place->club, values, 0);
    assert_string_equal(first, second);
    assert_string_equal(first, third);
    free(first);
    free(second);
    free(third);
}

static void test_one_session_a_side(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"compare", place->folder[0][0], place->folder[1][0], NULL};
    char *out = club_run(&place->club, words, 0);
    assert_non_null(strstr(out, "of one session a side."));
    assert_non_null(strstr(out, "thin/0 to"));
    assert_null(strstr(out, "sessions could show"));
    free(out);
}

/* The page goes into the file, nothing to standard output. */
static void test_page(void **state)
{
    const struct place *place = *state;
    char page[SCRATCH_PATH_BYTES];
    scratch_path(&place->club.scratch, "page.html", page);
    const char *words[] = {"compare", place->side[0], place->side[1], "--out", page, NULL};
    char *out = club_run(&place->club, words, 0);
    assert_string_equal(out, "");
    free(out);
    char *text = scratch_read(page, NULL);
    assert_non_null(strstr(text, "From thin to thick."));
    assert_non_null(strstr(text, "<th scope=\"row\">ring share</th>"));
    assert_non_null(strstr(text, "Not a medical device."));
    free(text);
    const char *both[] = {"compare", place->side[0], place->side[1], "--out",
                          page,      "--format",     "csv",          NULL};
    free(club_run(&place->club, both, 2));
}

static void assert_refused(const struct place *place,
                           const char *const *words,
                           int status,
                           const char *said)
{
    char *err = club_run(&place->club, words, status);
    if (strstr(err, said) == NULL || strchr(err, '\n') != err + strlen(err) - 1) {
        fail_msg("'%s' is not the one line of: %s", said, err);
    }
    free(err);
}

static void test_refused(void **state)
{
    const struct place *place = *state;
    const char *one[] = {"compare", place->side[0], NULL};
    const char *twice[] = {"compare", place->club.recordings, place->side[0], NULL};
    const char *nowhere[] = {"compare", place->side[0], "/nowhere/at/all", NULL};
    const char *no_tag[] = {"compare", "--by", "glove", place->club.recordings, NULL};
    const char *bad_tag[] = {"compare", "--by", "tab=thin", place->club.recordings, NULL};
    const char *bad_format[] = {"compare", place->side[0], place->side[1], "--format", "x",
                                NULL};
    const char *bad_seed[] = {"compare", place->side[0], place->side[1], "--seed", "-1", NULL};
    assert_refused(place, one, 2, "there are not two sides");
    assert_refused(place, twice, 1, "belongs to both sides");
    assert_refused(place, nowhere, 1, "/nowhere/at/all");
    assert_refused(place, no_tag, 1, "have not two values of 'glove'");
    assert_refused(place, bad_tag, 1, "'tab=thin' is not understood");
    assert_refused(place, bad_format, 2, "'x' is no format");
    assert_refused(place, bad_seed, 2, "'-1' is not understood");
    const char *simulate[] = {"simulate", "--draws",   "2",    "--out",
                              NULL,       "--athlete", "rook", NULL};
    char other[SCRATCH_PATH_BYTES];
    scratch_path(&place->club.scratch, "other", other);
    simulate[4] = other;
    free(club_run(&place->club, simulate, 0));
    const char *two_people[] = {"compare", place->side[0], other, NULL};
    assert_refused(place, two_people, 1, "people are not compared");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_folders),
        cmocka_unit_test(test_by_tag),
        cmocka_unit_test(test_one_session_a_side),
        cmocka_unit_test(test_page),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
