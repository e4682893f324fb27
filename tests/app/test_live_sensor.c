/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/live_sensor.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ  100.0
#define CHANNELS 2

struct place {
    struct sh_session session;
    struct sh_live_sensor sensor;
    uint64_t frame;
};

/* A string's force and a contact, both of 12 bits. */
static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    struct sh_stream *stream = &place->session.streams[0].stream;
    place->session.n_streams = 1;
    strcpy(stream->name, "string");
    stream->rate_hz = RATE_HZ;
    stream->n_channels = CHANNELS;
    stream->channel[0] = (struct sh_channel){.role = SH_ROLE_STRING_FORCE,
                                             .unit = "N",
                                             .scale = 0.1,
                                             .zero = 1000.0,
                                             .noise = 0.2,
                                             .has_range = true,
                                             .range_low = 0.0,
                                             .range_high = 4095.0};
    stream->channel[1] =
        (struct sh_channel){.role = SH_ROLE_CLICKER_CONTACT, .unit = "1", .scale = 1.0};
    sh_live_sensor_init(&place->sensor, &place->session);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    free(*state);
    return 0;
}

/* Seconds of readings about a level, with white noise. */
static void push(struct place *place, double seconds, double level, double noise)
{
    struct sh_random random;
    sh_random_init(&random, place->frame + 1);
    for (unsigned i = 0; i < (unsigned)(seconds * RATE_HZ); i++) {
        const double raw[CHANNELS] = {rint(level + noise * sh_random_get_normal(&random)), 1.0};
        const struct sh_block block = {
            .first_frame = place->frame++, .n_frames = 1, .n_channels = CHANNELS, .raw = raw};
        sh_live_sensor_push(&place->sensor, &block);
    }
}

/* The row of a channel; the caller's. */
static json_t *get_row(const struct place *place, size_t channel)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_live_sensor_write(&place->sensor, &text);
    assert_int_equal(text.status, SH_OK);
    json_t *message = json_loads(text.data, 0, NULL);
    assert_non_null(message);
    assert_string_equal(json_string_value(json_object_get(message, "type")), "sensor");
    json_t *rows = json_object_get(message, "channels");
    assert_int_equal(json_array_size(rows), CHANNELS);
    json_t *row = json_incref(json_array_get(rows, channel));
    json_decref(message);
    sh_text_close(&text);
    return row;
}

static void expect_state(const struct place *place, size_t channel, const char *wanted)
{
    json_t *row = get_row(place, channel);
    assert_string_equal(json_string_value(json_object_get(row, "state")), wanted);
    json_decref(row);
}

static void test_figures(void **state)
{
    struct place *place = *state;
    double mean = 0.0;
    json_t *row = get_row(place, 0);
    assert_true(json_is_null(json_object_get(row, "raw")));
    json_decref(row);
    assert_false(sh_live_sensor_find_mean(&place->sensor, 0, 0, &mean));
    push(place, 3.0, 1010.0, 4.0);
    row = get_row(place, 0);
    assert_string_equal(json_string_value(json_object_get(row, "stream")), "string");
    assert_string_equal(json_string_value(json_object_get(row, "role")), "string_force");
    /* 100 differences: their mean square is known to some 12 % */
    assert_near(json_number_value(json_object_get(row, "noise_counts")), 4.0, 1.5, 0.0);
    const json_t *span = json_object_get(row, "span");
    assert_in_range(json_number_value(json_array_get(span, 0)), 990, 1008);
    assert_in_range(json_number_value(json_array_get(span, 1)), 1012, 1030);
    json_decref(row);
    assert_true(sh_live_sensor_find_mean(&place->sensor, 0, 0, &mean));
    assert_near(mean, 1010.0, 2.0, 0.0);
    expect_state(place, 0, "ok");
    expect_state(place, 1, "ok"); /* a contact may stand still */
}

static void test_dead(void **state)
{
    struct place *place = *state;
    push(place, SH_LIVE_SENSOR_DEAD_S, 1000.0, 0.0);
    expect_state(place, 0, "ok");
    push(place, 0.1, 1000.0, 0.0);
    expect_state(place, 0, "dead");
    push(place, 0.1, 1005.0, 0.0);
    expect_state(place, 0, "ok");
}

/* 0.2 N stated: 1 N is 10 counts. */
static void test_noisy(void **state)
{
    struct place *place = *state;
    push(place, 2.0, 1000.0, 7.0);
    expect_state(place, 0, "ok");
    push(place, 2.0, 1000.0, 14.0);
    expect_state(place, 0, "noisy");
    push(place, 2.0, 1000.0, 3.0);
    expect_state(place, 0, "ok");
}

static void test_at_range_for_two_turns(void **state)
{
    struct place *place = *state;
    push(place, 1.0, 1000.0, 3.0);
    push(place, 0.05, 4095.0, 0.0);
    expect_state(place, 0, "at-range");
    push(place, 1.0, 1000.0, 3.0);
    expect_state(place, 0, "at-range");
    push(place, 2.0, 1000.0, 3.0);
    expect_state(place, 0, "ok");
}

static void test_reversed(void **state)
{
    struct place *place = *state;
    push(place, 1.5, 1000.0, 3.0);
    push(place, 1.5, 820.0, 3.0); /* a pull of 18 N the wrong way */
    expect_state(place, 0, "ok");
    push(place, 1.5, 700.0, 3.0);
    expect_state(place, 0, "reversed");
    push(place, 1.5, 1400.0, 3.0);
    expect_state(place, 0, "ok"); /* it goes further the right way */
}

/* It looks so only until the string has rested for longer than it was pulled. */
static void test_a_string_that_was_pulled_from_the_start(void **state)
{
    struct place *place = *state;
    push(place, 4.0, 2700.0, 3.0);
    expect_state(place, 0, "ok");
    push(place, 6.0, 1000.0, 3.0);
    expect_state(place, 0, "ok");
    push(place, 4.0, 2700.0, 3.0);
    push(place, 6.0, 1000.0, 3.0);
    expect_state(place, 0, "ok");
}

/* However long it is pulled now and then, and wherever its zero is. */
static void test_a_load_cell_wired_backwards(void **state)
{
    struct place *place = *state;
    push(place, 3.0, 3000.0, 3.0);
    expect_state(place, 0, "ok");
    for (unsigned i = 0; i < 8; i++) {
        push(place, 5.0, 1300.0, 3.0);
        push(place, 10.0, 3000.0, 3.0);
        expect_state(place, 0, "reversed");
    }
}

/* Pulled as the recording began: it can be told once nobody would have held for so long. */
static void test_backwards_and_pulled_from_the_start(void **state)
{
    struct place *place = *state;
    push(place, 2.0, 1300.0, 3.0);
    for (unsigned i = 0; i < 12; i++) {
        push(place, 9.0, 3000.0, 3.0);
        push(place, 2.0, 1300.0, 3.0);
        expect_state(place, 0, i < 11 ? "ok" : "reversed");
    }
}

/* A string's reading at rest, white noise and a slow pull, which has no mean to be a zero. */
static void test_what_moves(void **state)
{
    struct place *place = *state;
    push(place, 2.0, 1000.0, 30.0); /* 3 N of noise */
    assert_false(sh_live_sensor_is_moving(&place->sensor, 0, 0));
    push(place, 3.0, 1000.0, 3.0);
    assert_false(sh_live_sensor_is_moving(&place->sensor, 0, 0));
    for (unsigned i = 0; i < 10; i++) {
        push(place, 0.05, 1000.0 + 10.0 * i, 3.0);
    }
    assert_true(sh_live_sensor_is_moving(&place->sensor, 0, 0)); /* in the turn that runs, */
    push(place, 0.6, 1000.0, 3.0);
    assert_true(sh_live_sensor_is_moving(&place->sensor, 0, 0)); /* in the one before, */
    push(place, 1.0, 1000.0, 3.0);
    assert_false(sh_live_sensor_is_moving(&place->sensor, 0, 0)); /* and no longer */
}

static void test_lost_samples_count_for_nothing(void **state)
{
    struct place *place = *state;
    const double raw[CHANNELS] = {0.0, 1.0};
    push(place, 1.0, 1000.0, 3.0);
    for (unsigned i = 0; i < 50; i++) {
        const struct sh_block block = {.first_frame = place->frame++,
                                       .n_frames = 1,
                                       .n_channels = CHANNELS,
                                       .raw = raw,
                                       .is_filled = true};
        sh_live_sensor_push(&place->sensor, &block);
    }
    expect_state(place, 0, "ok"); /* 0 would be the range's end */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_figures, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_dead, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_noisy, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_at_range_for_two_turns, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_reversed, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_string_that_was_pulled_from_the_start,
                                        open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_load_cell_wired_backwards, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_backwards_and_pulled_from_the_start, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_what_moves, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_lost_samples_count_for_nothing, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
