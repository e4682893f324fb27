/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "loop/program.h"
#include "loop/screen.h"
#include "loop/sensor.h"
#include "loop/terminal.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"
#include "support/near.h"

/*
 * A person at the keyboard of a terminal while three draws of a simulated sensor come in: the
 * live line, scores, notes, pain, a clock, a change of archer, the end.
 */

#define N_DRAWS     3u
#define BEHIND_S    4.0 /* after a release: its shot is shown by then */
#define SLICE_BYTES 512u
#define US_PER_S    1e6
#define NARROW      40u
#define USUAL       80u
#define OATH        "I am in charge of this line"
#define SIGNAL_S    1.5 /* three strokes ring in it */
#define SILENCE_S   2.5 /* and this is longer than what lies between signals */

struct place {
    struct scratch scratch;
    char profile[SCRATCH_PATH_BYTES];
    char *lines; /* what the sensor sent */
    double first_us;
    double draw_start_s[N_DRAWS];
    double release_s[N_DRAWS];
    struct screen screen;
};

static void read_truth(const char *path, struct place *place)
{
    json_t *truth = json_file_load(path);
    const json_t *draws = json_object_get(truth, "draws");
    assert_int_equal(json_array_size(draws), N_DRAWS);
    for (size_t i = 0; i < N_DRAWS; i++) {
        const json_t *events = json_object_get(json_array_get(draws, i), "events");
        place->draw_start_s[i] = json_number_value(json_object_get(events, "draw_start_s"));
        place->release_s[i] = json_number_value(json_object_get(events, "release_s"));
        assert_true(place->draw_start_s[i] > 0.0);
        assert_true(place->release_s[i] > place->draw_start_s[i]);
    }
    json_decref(truth);
}

static int open_place(void **state)
{
    static struct place place;
    struct sensor sensor;
    char saved[SCRATCH_PATH_BYTES];
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "saved.txt", saved);
    const struct sensor_config config = {&place.scratch, "sensor", "force80", "3", "100"};
    sensor_start(&sensor, &config);
    sensor_save(&sensor, saved);
    (void)snprintf(place.profile, sizeof place.profile, "%s", sensor.profile);
    read_truth(sensor.truth, &place);
    place.lines = scratch_read(saved, NULL);
    const char *first = place.lines;
    while (first[0] != '\0' && (first[0] < '0' || first[0] > '9')) {
        first = strchr(first, '\n') + 1; /* a line of column names */
    }
    place.first_us = strtod(first, NULL);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    free(place->lines);
    scratch_close(&place->scratch);
    return 0;
}

/* Sends the sensor's lines up to a time; gives where they go on. */
static const char *send_until(struct place *place,
                              const struct terminal *terminal,
                              const char *from,
                              double until_s)
{
    const char *at = from;
    while (*at != '\0' && (strtod(at, NULL) - place->first_us) / US_PER_S < until_s) {
        at = strchr(at, '\n');
        assert_non_null(at);
        at++;
        if ((size_t)(at - from) >= SLICE_BYTES) {
            terminal_send(terminal, from, (size_t)(at - from));
            screen_drain(&place->screen);
            from = at;
        }
    }
    terminal_send(terminal, from, (size_t)(at - from));
    screen_drain(&place->screen);
    return at;
}

static void start(struct place *place,
                  const struct terminal *terminal,
                  const char *out,
                  const char *option,
                  struct program *program)
{
    const char *words[] = {"capture",      "--sensor", place->profile, "--port",
                           terminal->path, "--replay", "--out",        out,
                           "--athlete",    "wren",     option,         NULL};
    const struct program_config config = {.scratch = &place->scratch,
                                          .name = "keyboard",
                                          .words = words,
                                          .screen = place->screen.path};
    program_start(program, &config);
    if (option != NULL) {
        screen_await(&place->screen, OATH);
        screen_type(&place->screen, OATH "\n");
    }
    terminal_await_reader(terminal);
    screen_await(&place->screen, "the next archer");
}

static void type(struct place *place, const char *keys, const char *answer)
{
    screen_type(&place->screen, keys);
    screen_await(&place->screen, answer);
}

/* The stored analysis is what analyze prints; it holds so many shots. */
static void check_analyzed(const struct place *place, const char *folder, size_t n_shots)
{
    struct program program;
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/analysis.json", folder);
    const char *words[] = {"analyze", folder, "--format", "json", NULL};
    assert_int_equal(program_run(&program, &place->scratch, "analyze", words), 0);
    char *printed = program_read_out(&program);
    char *stored = scratch_read(path, NULL);
    assert_string_equal(stored, printed);
    json_t *json = json_file_load(path);
    assert_int_equal(json_array_size(json_object_get(json, "shots")), n_shots);
    json_decref(json);
    free(stored);
    free(printed);
}

static json_t *load_recording(const char *folder)
{
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/recording.json", folder);
    return json_file_load(path);
}

static const json_t *get_mark(const json_t *recording, size_t i, const char *kind)
{
    const json_t *mark = json_array_get(json_object_get(recording, "marks"), i);
    assert_string_equal(json_string_value(json_object_get(mark, "kind")), kind);
    return mark;
}

static void check_number(const json_t *object, const char *key, double expected)
{
    assert_near(json_number_value(json_object_get(object, key)), expected, 0.0, 0.0);
}

static void check_first_recording(const struct place *place, const char *folder)
{
    json_t *recording = load_recording(folder);
    assert_string_equal(json_string_value(json_object_get(recording, "athlete")), "wren");
    assert_int_equal(json_array_size(json_object_get(recording, "marks")), 2);
    const json_t *arrow = get_mark(recording, 0, "arrow");
    check_number(arrow, "shot", 1.0);
    check_number(arrow, "score", 9.0);
    assert_near(json_number_value(json_object_get(arrow, "t_s")),
                place->release_s[0] + BEHIND_S, 0.2, 0.0);
    const json_t *note = get_mark(recording, 1, "note");
    assert_string_equal(json_string_value(json_object_get(note, "text")), "Böe von links");
    json_decref(recording);
    check_analyzed(place, folder, 2);
}

static void check_second_recording(const struct place *place, const char *folder)
{
    json_t *recording = load_recording(folder);
    assert_string_equal(json_string_value(json_object_get(recording, "athlete")), "rook");
    assert_int_equal(json_array_size(json_object_get(recording, "marks")), 4);
    const json_t *clock = get_mark(recording, 0, "clock");
    check_number(clock, "seconds", 120.0);
    check_number(clock, "arrows", 6.0);
    const json_t *scores = json_object_get(get_mark(recording, 1, "end"), "scores");
    assert_int_equal(json_array_size(scores), 3);
    assert_near(json_number_value(json_array_get(scores, 2)), 10.0, 0.0, 0.0);
    check_number(get_mark(recording, 2, "pain"), "rating", 2.0);
    (void)get_mark(recording, 3, "clock-stop");
    json_decref(recording);
    check_analyzed(place, folder, 1);
}

static void test_an_evening_at_the_keyboard(void **state)
{
    struct place *place = *state;
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    char second[SCRATCH_PATH_BYTES];
    char paths[2 * SCRATCH_PATH_BYTES + 8];
    scratch_path(&place->scratch, "evening", out);
    scratch_path(&place->scratch, "evening-2", second);
    screen_open(&place->screen, NARROW);
    terminal_open(&terminal);
    start(place, &terminal, out, NULL, &program);
    const char *at = send_until(place, &terminal, place->lines, place->release_s[0] + BEHIND_S);
    screen_await(&place->screen, "Shot 1: held ");
    screen_await(&place->screen, "1 draw > ");
    type(place, "8\b9\n", "Kept: score 9 for shot 1");
    at = send_until(place, &terminal, at, place->release_s[1] + BEHIND_S);
    screen_await(&place->screen, "Shot 2: held ");
    type(place, "hello\n", "'hello' is not understood; ");
    type(place, "n Böe von links\n", "Kept: note");
    type(place, "a rook\n", "Now shooting: rook");
    at = send_until(place, &terminal, at, place->release_s[1] + BEHIND_S + 0.5);
    screen_await(&place->screen, "rook | rest");
    type(place, "c 120 6\n", "Kept: clock of 120 s");
    (void)send_until(place, &terminal, at, place->release_s[2] + BEHIND_S);
    screen_await(&place->screen, "Shot 1: held ");
    type(place, "9 8 x\n", "Kept: end: 9 8 10");
    type(place, "p 2\n", "Stop on pain.");
    type(place, "s\n", "Kept: clock stopped");
    screen_type(&place->screen, "q\n");
    screen_await(&place->screen, "frames: ");
    assert_int_equal(program_wait(&program), 0);
    terminal_close(&terminal);
    screen_drain(&place->screen);
    screen_check_width(&place->screen);
    screen_check_restored(&place->screen);
    screen_close(&place->screen);
    char *printed = program_read_out(&program);
    (void)snprintf(paths, sizeof paths, "%s\n%s\n", out, second);
    assert_string_equal(printed, paths);
    free(printed);
    check_first_recording(place, out);
    check_second_recording(place, second);
}

/* Ctrl-C ends as q does, and gives the terminal back as it was. */
static void test_interrupted(void **state)
{
    struct place *place = *state;
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "interrupted", out);
    screen_open(&place->screen, USUAL);
    terminal_open(&terminal);
    start(place, &terminal, out, NULL, &program);
    (void)send_until(place, &terminal, place->lines, place->release_s[0] + BEHIND_S);
    screen_await(&place->screen, "wren | rest ");
    screen_type(&place->screen, "n half a no");
    screen_await(&place->screen, "> n half a no");
    screen_type(&place->screen, "\x03");
    screen_await(&place->screen, "frames: ");
    assert_int_equal(program_wait(&program), 0);
    terminal_close(&terminal);
    screen_check_width(&place->screen);
    screen_check_restored(&place->screen);
    screen_close(&place->screen);
    json_t *recording = load_recording(out);
    assert_int_equal(json_array_size(json_object_get(recording, "marks")), 0);
    json_decref(recording);
    check_analyzed(place, out, 1);
}

static size_t count_bells(struct screen *screen)
{
    size_t n = 0;
    screen_drain(screen);
    for (size_t i = 0; i < screen->n_bytes; i++) {
        n += screen->bytes[i] == '\a' ? 1 : 0;
    }
    return n;
}

/*
 * The line's signals by the bell: one to shoot, three to stop. A stop that is being rung when
 * the archer begins to draw is silent until she has released; then it comes whole.
 */
static void test_no_signal_sounds_in_a_draw(void **state)
{
    struct place *place = *state;
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "signals", out);
    screen_open(&place->screen, USUAL);
    terminal_open(&terminal);
    start(place, &terminal, out, "--clock-signals", &program);
    const char *at = send_until(place, &terminal, place->lines, place->release_s[0] + BEHIND_S);
    screen_await(&place->screen, "Shot 1: held ");
    type(place, "c 120 6\n", "Kept: clock of 120 s");
    program_pause(SILENCE_S);
    assert_int_equal(count_bells(&place->screen), 1);
    at = send_until(place, &terminal, at, place->draw_start_s[1] - 0.5);
    type(place, "s\n", "Kept: clock stopped");
    at = send_until(place, &terminal, at, place->release_s[1] - 0.3); /* she holds */
    screen_await(&place->screen, "HOLD");
    const size_t n_held = count_bells(&place->screen);
    program_pause(SILENCE_S);
    assert_int_equal(count_bells(&place->screen), n_held);
    assert_in_range(n_held, 1, 3); /* cut off before the third stroke */
    (void)send_until(place, &terminal, at, place->release_s[1] + BEHIND_S);
    screen_await(&place->screen, "Shot 2: held ");
    program_pause(SIGNAL_S + SILENCE_S);
    assert_int_equal(count_bells(&place->screen), n_held + 3);
    screen_type(&place->screen, "q\n");
    screen_await(&place->screen, "frames: ");
    assert_int_equal(program_wait(&program), 0);
    terminal_close(&terminal);
    screen_check_restored(&place->screen);
    screen_close(&place->screen);
}

/* Who does not say so gets no signals, and no recording. */
static void test_signals_need_the_sentence(void **state)
{
    struct place *place = *state;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "not-in-charge", out);
    const char *words[] = {"capture", "--sensor", place->profile,    "--port", "/dev/null",
                           "--out",   out,        "--clock-signals", NULL};
    assert_int_equal(program_run(&program, &place->scratch, "no-charge", words), 2);
    char *said = program_read_err(&program);
    assert_non_null(strstr(said, OATH));
    free(said);
    assert_int_equal(access(out, F_OK), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_an_evening_at_the_keyboard),
        cmocka_unit_test(test_interrupted),
        cmocka_unit_test(test_no_signal_sounds_in_a_draw),
        cmocka_unit_test(test_signals_need_the_sentence),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
