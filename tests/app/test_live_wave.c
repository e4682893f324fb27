/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "app/live_wave.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 1000.0

static struct sh_session *open_session(void)
{
    struct sh_session *session = calloc(1, sizeof *session);
    assert_non_null(session);
    session->n_streams = 1;
    session->streams[0].stream.rate_hz = RATE_HZ;
    session->streams[0].stream.n_channels = 1;
    return session;
}

/* A ramp of 1 a second, sample by sample or so many at once. */
static void push(struct sh_live_wave *wave, unsigned first, unsigned n)
{
    double value[64];
    assert_true(n <= 64);
    for (unsigned i = 0; i < n; i++) {
        value[i] = (first + i) / RATE_HZ;
    }
    const struct sh_wave_frames frames = {.n_channels = 1,
                                          .n_frames = n,
                                          .value = value,
                                          .start_s = first / RATE_HZ,
                                          .step_s = 1.0 / RATE_HZ};
    sh_live_wave_push(wave, &frames);
}

static json_t *take(struct sh_text *text)
{
    json_t *wave = json_loads(text->data, 0, NULL);
    assert_non_null(wave);
    sh_text_close(text);
    return wave;
}

static double get(const json_t *wave, const char *key)
{
    return json_number_value(json_object_get(wave, key));
}

static const json_t *get_low(const json_t *wave)
{
    return json_object_get(json_array_get(json_object_get(wave, "channels"), 0), "lo");
}

static void test_pieces_follow_each_other(void **state)
{
    struct sh_session *session = open_session();
    struct sh_live_wave *wave = NULL;
    struct sh_text text;
    double end_s = 0.0;
    assert_int_equal(sh_live_wave_open(session, &wave, NULL), SH_OK);
    sh_text_init(&text, 0);
    assert_false(sh_live_wave_write_next(wave, 3, &text));
    for (unsigned frame = 0; frame < 20000; frame += 37) {
        push(wave, frame, 37);
        sh_text_init(&text, 0);
        if (!sh_live_wave_write_next(wave, 3, &text)) {
            continue;
        }
        json_t *piece = take(&text);
        const json_t *low = get_low(piece);
        assert_near(get(piece, "t0"), end_s, 1e-9, 0.0);
        assert_near(get(piece, "dt"), SH_LIVE_WAVE_STEP_S, 1e-12, 0.0);
        assert_int_equal(get(piece, "recording"), 3);
        for (size_t i = 0; i < json_array_size(low); i++) {
            assert_near(json_number_value(json_array_get(low, i)),
                        end_s + (double)i * SH_LIVE_WAVE_STEP_S, 0.0011, 0.0);
        }
        end_s += (double)json_array_size(low) * SH_LIVE_WAVE_STEP_S;
        json_decref(piece);
    }
    assert_near(end_s, 19.93, 0.03, 0.0);
    sh_live_wave_close(&wave);
    assert_null(wave);
    free(session);
}

static void test_any_span_is_answered(void **state)
{
    struct sh_session *session = open_session();
    struct sh_live_wave *wave = NULL;
    struct sh_text text;
    assert_int_equal(sh_live_wave_open(session, &wave, NULL), SH_OK);
    sh_text_init(&text, 0);
    assert_false(sh_live_wave_write(wave, 0.0, 1e9, 90000, 3, &text));
    for (unsigned frame = 0; frame < 10000; frame += 50) {
        push(wave, frame, 50);
    }
    assert_false(sh_live_wave_write(wave, 11.0, 1e9, 100, 3, &text));
    assert_true(sh_live_wave_write(wave, 0.0, 1e9, 90000, 3, &text));
    json_t *all = take(&text);
    assert_int_equal(json_array_size(get_low(all)), 2000); /* of 5 ms */
    json_decref(all);
    sh_text_init(&text, 0);
    assert_true(sh_live_wave_write(wave, 2.0, 4.0, 10, 3, &text));
    json_t *part = take(&text);
    assert_near(get(part, "t0"), 2.0, 1e-9, 0.0);
    assert_near(json_number_value(json_array_get(get_low(part), 5)), 3.0, 1e-6, 0.0);
    json_decref(part);
    sh_live_wave_close(&wave);
    free(session);
}

struct reader {
    struct sh_live_wave *wave;
    atomic_bool is_over;
};

static void *read_on(void *context)
{
    struct reader *reader = context;
    while (!atomic_load(&reader->is_over)) {
        struct sh_text text;
        sh_text_init(&text, 0);
        (void)sh_live_wave_write(reader->wave, 0.0, 1e9, 8000, 1, &text);
        sh_text_close(&text);
    }
    return NULL;
}

/* Somebody reads all the time: nothing is lost, as long as it can be laid aside. */
static void test_reading_does_not_lose_any(void **state)
{
    struct sh_session *session = open_session();
    struct reader reader = {.wave = NULL};
    struct sh_text text;
    pthread_t thread;
    assert_int_equal(sh_live_wave_open(session, &reader.wave, NULL), SH_OK);
    assert_int_equal(pthread_create(&thread, NULL, read_on, &reader), 0);
    for (unsigned frame = 0; frame < 60000; frame += 10) {
        push(reader.wave, frame, 10);
    }
    atomic_store(&reader.is_over, true);
    (void)pthread_join(thread, NULL);
    push(reader.wave, 60000, 10);
    sh_text_init(&text, 0);
    assert_true(sh_live_wave_write(reader.wave, 0.0, 60.0, 6000, 1, &text));
    json_t *all = take(&text);
    assert_int_equal(json_array_size(get_low(all)), 6000);
    for (size_t i = 0; i < 6000; i++) {
        const json_t *low = json_array_get(get_low(all), i);
        assert_true(json_is_number(low));
        assert_near(json_number_value(low), (double)i * 0.01, 0.0011, 0.0);
    }
    json_decref(all);
    sh_live_wave_close(&reader.wave);
    free(session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_pieces_follow_each_other),
                                       cmocka_unit_test(test_any_span_is_answered),
                                       cmocka_unit_test(test_reading_does_not_lose_any)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
