/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "loop/browser.h"
#include "loop/program.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define DRAWS 3

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct program program;
    unsigned port;
};

static int open_place(void **state)
{
    static struct place place;
    struct program program;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "evening", place.folder);
    const char *words[] = {"simulate", "--out",  place.folder, "--draws",
                           "3",        "--seed", "7",          NULL};
    assert_int_equal(program_run(&program, &place.scratch, "simulate", words), 0);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

/* Starts the page's server and waits for its address. */
static void start(struct place *place)
{
    const char *words[] = {
        "review", "--no-browser", "--home", place->scratch.folder, place->folder, NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "review", .words = words};
    program_start(&place->program, &config);
    program_await_text(place->program.out, "http://127.0.0.1:");
    program_await_text(place->program.out, "/\n");
    char *out = program_read_out(&place->program);
    out[strcspn(out, "\n")] = '\0';
    place->port = browser_find_port(out);
    free(out);
}

static void stop(struct place *place)
{
    assert_int_equal(kill(place->program.pid, SIGINT), 0);
    assert_int_equal(program_wait(&place->program), 0);
}

static double get_number(const json_t *object, const char *key)
{
    assert_true(json_is_number(json_object_get(object, key)));
    return json_number_value(json_object_get(object, key));
}

static json_t *get_shot(unsigned port, size_t i)
{
    json_t *shots = browser_get(port, "/api/recordings/1/shots", 200);
    json_t *shot = json_incref(json_array_get(json_object_get(shots, "shots"), i));
    assert_non_null(shot);
    json_decref(shots);
    return shot;
}

static void test_page_is_served(void **state)
{
    struct place *place = *state;
    start(place);
    json_t *hello = browser_get(place->port, "/api/hello", 200);
    const json_t *first = json_array_get(json_object_get(hello, "recordings"), 0);
    assert_string_equal(json_string_value(json_object_get(hello, "mode")), "review");
    assert_near(get_number(hello, "current"), 1.0, 0.0, 0.0);
    assert_near(get_number(first, "n_shots"), DRAWS, 0.0, 0.0);
    json_decref(hello);
    for (int i = 0; i < DRAWS; i++) {
        char path[64];
        json_t *shot = get_shot(place->port, (size_t)i);
        (void)snprintf(path, sizeof path, "/api/recordings/1/shots/%d/trace", i + 1);
        json_t *trace = browser_get(place->port, path, 200);
        assert_near(get_number(trace, "align_s"),
                    get_number(json_object_get(shot, "events"), "release_s"), 1e-6, 0.0);
        json_decref(trace);
        json_decref(shot);
    }
    json_decref(browser_get(place->port, "/api/recordings/1/session", 200));
    json_decref(browser_get(place->port, "/api/recordings/1/wave?points=500", 200));
    json_decref(browser_get(place->port, "/api/people", 200));
    json_decref(browser_get(place->port, "/api/recordings/2/shots", 404));
    stop(place);
}

/* Says what is wanted; the reply's error, or NULL. The caller frees it. */
static char *want(int socket, const char *text)
{
    char *error = NULL;
    browser_say(socket, text);
    json_t *reply = browser_hear(socket, "reply");
    const char *line = json_string_value(json_object_get(reply, "error"));
    assert_int_equal(json_is_true(json_object_get(reply, "ok")), line == NULL);
    if (line != NULL) {
        error = strdup(line);
        assert_non_null(error);
    }
    json_decref(reply);
    return error;
}

static void test_edits_over_the_socket(void **state)
{
    struct place *place = *state;
    char text[120];
    start(place);
    int socket = browser_open_socket(place->port);
    json_decref(browser_hear(socket, "hello"));
    json_t *before = get_shot(place->port, 1);
    double click_s = get_number(json_object_get(before, "events"), "clicker_s");
    (void)snprintf(text, sizeof text,
                   "{\"id\":1,\"do\":\"correct\",\"shot\":2,\"event\":\"clicker_s\","
                   "\"value_s\":%.4f}",
                   click_s - 0.2);
    assert_null(want(socket, text));
    json_t *final = browser_hear(socket, "recording");
    assert_string_equal(json_string_value(json_object_get(final, "event")), "final");
    json_decref(final);
    json_t *after = get_shot(place->port, 1);
    assert_near(get_number(json_object_get(after, "events"), "clicker_s"), click_s - 0.2, 1e-3,
                0.0);
    json_decref(after);
    assert_null(want(socket, "{\"id\":2,\"do\":\"undo\",\"shot\":2,\"event\":\"clicker_s\"}"));
    after = get_shot(place->port, 1);
    assert_true(json_equal(before, after));
    json_decref(after);
    json_decref(before);
    char *error = want(socket, "{\"id\":3,\"do\":\"score\",\"shot\":2,\"score\":12}");
    assert_non_null(error);
    assert_null(strchr(error, '\n'));
    free(error);
    error = want(socket, "{\"id\":4,\"do\":\"finish\"}");
    assert_non_null(error);
    free(error);
    assert_null(want(socket, "{\"id\":5,\"do\":\"score\",\"shot\":2,\"score\":9}"));
    (void)close(socket);
    stop(place);
}

static void test_wrong_words(void **state)
{
    struct place *place = *state;
    struct program program;
    const char *const port[] = {"review", "--http-port", "70000", place->folder, NULL};
    const char *const nothing[] = {"review", "--home", place->scratch.folder, "/nowhere", NULL};
    assert_int_equal(program_run(&program, &place->scratch, "port", port), 2);
    assert_int_equal(program_run(&program, &place->scratch, "nothing", nothing), 1);
    char *err = program_read_err(&program);
    assert_non_null(strstr(err, "/nowhere"));
    free(err);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_page_is_served),
        cmocka_unit_test(test_edits_over_the_socket),
        cmocka_unit_test(test_wrong_words),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
