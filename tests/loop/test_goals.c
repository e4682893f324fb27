/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/sensor_file.h"
#include "loop/club.h"
#include "sensor/profile_format.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"
#include "support/near.h"

/* `goals` through the real program, on three simulated evenings. */

#define EVENINGS 3u
#define DRAWS    18u

struct place {
    struct club club;
    char folder[EVENINGS][SCRATCH_PATH_BYTES];
};

/* `goals` in the home with up to eight more words, the athlete among them; out or err. */
static char *run(const struct place *place, const char *const *more, int status)
{
    struct program program;
    const char *words[14] = {"goals", "--home", place->club.home};
    for (size_t i = 0; more[i] != NULL; i++) {
        words[3 + i] = more[i];
    }
    return program_get_said(&program, &place->club.scratch, words, status);
}

static void
check(const struct place *place, const char *const *more, int status, const char *says)
{
    char *said = run(place, more, status);
    if (strstr(said, says) == NULL) {
        fail_msg("said %s, not %s", said, says);
    }
    free(said);
}

/* Moves a recording to another day, and scores its first n arrows, each third one a 9. */
static void describe(const char *folder, const char *started, json_int_t n)
{
    json_t *root = json_file_load_in(folder, "recording.json");
    assert_int_equal(json_object_set_new(root, "started", json_string(started)), 0);
    json_t *marks = json_object_get(root, "marks");
    for (json_int_t i = 1; i <= n; i++) {
        json_t *mark = json_pack("{s:f, s:s, s:I, s:i}", "t_s", 0.0, "kind", "arrow", "shot", i,
                                 "score", i % 3 == 0 ? 9 : 10);
        assert_int_equal(json_array_append_new(marks, mark), 0);
    }
    json_file_store_in(folder, "recording.json", root);
}

static int open_place(void **state)
{
    static struct place place;
    static const char *const days[] = {"2026-04-30T09:30:00.000Z", "2026-05-02T09:30:00.000Z",
                                       "2026-05-09T09:30:00.000Z"};
    struct program program;
    club_open(&place.club);
    for (size_t i = 0; i < EVENINGS; i++) {
        char name[64];
        char seed[16];
        (void)snprintf(name, sizeof name, "home/recordings/%zu", i);
        (void)snprintf(seed, sizeof seed, "%zu", i + 1);
        scratch_path(&place.club.scratch, name, place.folder[i]);
        const char *words[] = {"simulate",      "--seed",    seed,      "--set", "force80",
                               "--draws",       "18",        "--clock", "120",   "--out",
                               place.folder[i], "--athlete", "wren",    NULL};
        assert_int_equal(program_run(&program, &place.club.scratch, "make", words), 0);
        describe(place.folder[i], days[i], 0);
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

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The holds of all arrows of an evening, from its analysis; false where it is no shot's. */
static json_t *analyse(const struct place *place, size_t evening)
{
    struct program program;
    const char *words[] = {"analyze", place->folder[evening], "--format", "json", NULL};
    assert_int_equal(program_run(&program, &place->club.scratch, "analyze", words), 0);
    char *out = program_read_out(&program);
    json_t *root = json_loads(out, 0, NULL);
    assert_non_null(root);
    free(out);
    return root;
}

/* Holds of the shots of an evening that pass; each that is known. */
static size_t
take_holds(const struct place *place, size_t evening, bool only_best, double *hold_s)
{
    json_t *root = analyse(place, evening);
    const json_t *shots = json_object_get(root, "shots");
    size_t n = 0;
    for (size_t i = 0; i < json_array_size(shots); i++) {
        const json_t *shot = json_array_get(shots, i);
        const json_t *hold = json_object_get(json_object_get(shot, "measures"), "hold_time_s");
        const json_int_t number = json_integer_value(json_object_get(shot, "n"));
        const bool is_shot =
            strcmp(json_string_value(json_object_get(shot, "kind")), "shot") == 0;
        if (is_shot && json_is_number(hold) && !(only_best && number % 3 == 0)) {
            hold_s[n++] = json_number_value(hold);
        }
    }
    json_decref(root);
    return n;
}

static double get_number(const json_t *list, size_t i, const char *key)
{
    return json_number_value(json_object_get(json_array_get(list, i), key));
}

/* A band that a coach sets: the shares are those counted from the analyses. */
static void test_set_and_counted(void **state)
{
    const struct place *place = *state;
    const char *none[] = {"wren", NULL};
    const char *set[] = {"wren",  "--hold", "2.5-3.5",    "--by",
                         "coach", "--on",   "2026-05-10", NULL};
    const char *json[] = {"wren", "--format", "json", NULL};
    check(place, none, 0, "none is in force");
    check(place, set, 0, "now: hold 2.5 to 3.5 s, set on 2026-05-10 by coach.");
    char *out = run(place, json, 0);
    json_t *root = json_loads(out, 0, NULL);
    const json_t *sessions = json_object_get(root, "sessions");
    const json_t *months = json_object_get(root, "months");
    assert_int_equal(json_array_size(sessions), EVENINGS);
    assert_int_equal(json_array_size(months), 2);
    double n_may = 0.0;
    double inside_may = 0.0;
    for (size_t i = 0; i < EVENINGS; i++) {
        double hold_s[DRAWS];
        double n_inside = 0.0;
        const size_t n = take_holds(place, i, false, hold_s);
        for (size_t k = 0; k < n; k++) {
            n_inside += hold_s[k] >= 2.5 && hold_s[k] <= 3.5 ? 1.0 : 0.0;
        }
        assert_true(n > 10);
        assert_near(get_number(sessions, i, "arrows"), (double)n, 0, 0);
        assert_near(get_number(sessions, i, "inside"), n_inside, 0, 0);
        assert_near(get_number(sessions, i, "ends"), 3.0, 0, 0);
        n_may += i > 0 ? (double)n : 0.0;
        inside_may += i > 0 ? n_inside : 0.0;
    }
    assert_near(get_number(months, 1, "arrows"), n_may, 0, 0);
    assert_near(get_number(months, 1, "share"), inside_may / n_may, 1e-12, 0);
    json_decref(root);
    free(out);
}

/* Type 7: between the two nearest in the order of size. */
static double find_quantile(double *x, size_t n, double share)
{
    qsort(x, n, sizeof *x, compare);
    const double at = share * (double)(n - 1);
    const size_t below = (size_t)at;
    return x[below] + (at - (double)below) * (x[below + 1 < n ? below + 1 : below] - x[below]);
}

static void test_from_her_best_arrows(void **state)
{
    const struct place *place = *state;
    const char *best[] = {"wren", "--from-best", "--on", "2026-05-20", NULL};
    const char *json[] = {"wren", "--format", "json", NULL};
    const char *clear[] = {"wren", "--clear", NULL};
    check(place, best, 1, "0 arrows with hold and score");
    check(place, json, 0, "\"basis\": \"person\""); /* nothing was changed by it */
    for (size_t i = 0; i < EVENINGS; i++) {
        char started[32];
        (void)snprintf(started, sizeof started, "2026-05-%02zuT09:30:00.000Z", i + 1);
        describe(place->folder[i], started, DRAWS);
    }
    double hold_s[EVENINGS * DRAWS];
    size_t n = 0;
    for (size_t i = 0; i < EVENINGS; i++) {
        n += take_holds(place, i, true, hold_s + n);
    }
    check(place, best, 0, "earlier: hold 2.5 to 3.5 s, set on 2026-05-10 by coach, until");
    char *out = run(place, json, 0);
    json_t *root = json_loads(out, 0, NULL);
    const json_t *goals = json_object_get(root, "goals");
    assert_near(get_number(goals, 1, "arrows"), (double)n, 0, 0);
    assert_near(get_number(goals, 1, "least"), find_quantile(hold_s, n, 0.1), 1e-9, 0);
    assert_near(get_number(goals, 1, "most"), find_quantile(hold_s, n, 0.9), 1e-9, 0);
    json_decref(root);
    free(out);
    check(place, clear, 0, "none is in force");
    check(place, clear, 1, "no goal is in force");
}

/* None that cannot be read is passed over in silence, and none stops the others. */
static void test_what_cannot_be_read_is_named(void **state)
{
    const struct place *place = *state;
    struct program program;
    const char *words[] = {"goals", "wren", "--home", place->club.home, NULL};
    static const char *const names[] = {"home/recordings/x", "home/recordings/y"};
    for (size_t i = 0; i < 2; i++) {
        char folder[SCRATCH_PATH_BYTES];
        char file[SCRATCH_PATH_BYTES + 32];
        scratch_path(&place->club.scratch, names[i], folder);
        assert_int_equal(mkdir(folder, 0700), 0);
        (void)snprintf(file, sizeof file, "%s/recording.json", folder);
        scratch_write(file, "{", 1);
    }
    assert_int_equal(program_run(&program, &place->club.scratch, "run", words), 0);
    char *err = program_read_err(&program);
    assert_non_null(strstr(err, "recordings/x/recording.json"));
    assert_non_null(strstr(err, "recordings/y/recording.json"));
    free(err);
}

static void test_nobody_and_nowhere(void **state)
{
    const struct place *place = *state;
    const char *nobody[] = {"plover", NULL};
    const char *band[] = {"wren", "--hold", "3-2", NULL};
    const char *form[] = {"wren", "--format", "csv", NULL};
    const char *empty[] = {"", NULL};
    check(place, nobody, 0, "none is in force");
    check(place, band, 2, "'3-2' is no band");
    check(place, form, 2, "'csv' is no format");
    check(place, empty, 1, "this is no name");
    struct program program;
    const char *nowhere[] = {"goals", "wren", "--home", "/nowhere/at/all", NULL};
    assert_int_equal(program_run(&program, &place->club.scratch, "run", nowhere), 0);
    char *out = program_read_out(&program);
    assert_non_null(strstr(out, "none is in force"));
    free(out);
}

static size_t count(const char *text, const char *word)
{
    size_t n = 0;
    for (const char *at = strstr(text, word); at != NULL; at = strstr(at + 1, word)) {
        n++;
    }
    return n;
}

/* A simulated sensor's bytes and profile, in the scratch folder. */
static void make_sensor(const struct place *place,
                        char bytes[SCRATCH_PATH_BYTES],
                        char profile[SCRATCH_PATH_BYTES])
{
    struct sh_simulation simulation;
    struct sh_error err = {0};
    scratch_path(&place->club.scratch, "bytes", bytes);
    scratch_path(&place->club.scratch, "sensor.ini", profile);
    sensor_file_open_simulation("force1000", 4, &simulation);
    struct sh_profile *made = sensor_file_make_profile(&simulation);
    assert_int_equal(sh_profile_format_write(made, profile, &err), SH_OK);
    (void)sensor_file_write(&simulation, 0.0, bytes);
    free(made);
    sh_simulation_close(&simulation);
}

/* Each arrow is told where its hold was; the bell only where it was switched on. */
static void test_told_while_capturing(void **state)
{
    const struct place *place = *state;
    struct program program;
    char bytes[SCRATCH_PATH_BYTES];
    char profile[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    const char *set[] = {"heron", "--hold", "0.5-30", NULL};
    make_sensor(place, bytes, profile);
    check(place, set, 0, "now: hold 0.5 to 30 s");
    for (size_t i = 0; i < 3; i++) { /* rook has no goal, heron one, and one with sound */
        const char *words[] = {"capture",
                               "--sensor",
                               profile,
                               "--port",
                               "-",
                               "--replay",
                               "--home",
                               place->club.home,
                               "--athlete",
                               i == 0 ? "rook" : "heron",
                               "--out",
                               out,
                               i == 2 ? "--goal-sound" : NULL,
                               NULL};
        scratch_path(&place->club.scratch, i == 0 ? "o0" : i == 1 ? "o1" : "o2", out);
        const struct program_config config = {
            .scratch = &place->club.scratch, .name = "capture", .words = words, .input = bytes};
        program_start(&program, &config);
        assert_int_equal(program_wait(&program), 0);
        char *err = program_read_err(&program);
        const size_t n_shots = count(err, "held ");
        assert_true(n_shots >= 3);
        assert_int_equal(count(err, "goal: hold 0.5 to 30 s"), i == 0 ? 0 : 1);
        assert_int_equal(count(err, "Hold  [*]  inside: "), i == 0 ? 0 : n_shots);
        if (i == 2) {
            assert_true(count(err, "\a") >= 1 && count(err, "\a") <= n_shots);
        } else {
            assert_int_equal(count(err, "\a"), 0);
        }
        free(err);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_set_and_counted),
        cmocka_unit_test(test_from_her_best_arrows),
        cmocka_unit_test(test_what_cannot_be_read_is_named),
        cmocka_unit_test(test_nobody_and_nowhere),
        cmocka_unit_test(test_told_while_capturing),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
