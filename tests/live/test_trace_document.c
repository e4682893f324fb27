/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/trace_document.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "live/evening.h"
#include "live/trace_evidence.h"
#include "support/cmocka_all.h"
#include "support/near.h"

struct fixture {
    struct scratch scratch;
    struct sh_recording_reader *reader;
    struct sh_shot_record record;
};

static int open_fixture(void **state)
{
    static struct fixture fixture;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    scratch_open(&fixture.scratch);
    evening_make(&fixture.scratch);
    fixture.record = evening_get_record();
    *state = &fixture;
    return sh_recording_reader_open(fixture.scratch.folder, &config, &fixture.reader, NULL);
}

static int close_fixture(void **state)
{
    struct fixture *fixture = *state;
    sh_recording_reader_close(&fixture->reader);
    scratch_close(&fixture->scratch);
    return 0;
}

static json_t *read_trace(struct fixture *fixture,
                          const struct sh_trace_document_config *config)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(
        sh_trace_document_write(fixture->reader, &fixture->record, config, &text, NULL), SH_OK);
    json_t *document = json_loads(text.data, 0, NULL);
    assert_non_null(document);
    sh_text_close(&text);
    return document;
}

static double get_number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static double get_at(const json_t *object, const char *key, size_t i)
{
    const json_t *value = json_array_get(json_object_get(object, key), i);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

/* Each point of a channel against what the evening held, at the release. */
static void check_channel(const json_t *channel, size_t k, bool is_each)
{
    size_t n = json_array_size(json_object_get(channel, "t"));
    size_t n_holes = 0;
    assert_int_equal(json_array_size(json_object_get(channel, "lo")), n);
    assert_int_equal(json_array_size(json_object_get(channel, "hi")), n);
    for (size_t i = 0; i < n; i++) {
        double time_s = 25.14 + get_at(channel, "t", i);
        double lo = get_at(channel, "lo", i);
        double hi = get_at(channel, "hi", i);
        bool is_jump = fabs(time_s - 24.0) < 0.02 || fabs(time_s - 25.14) < 0.02;
        n_holes += isfinite(lo) ? 0 : 1;
        if (!isfinite(lo) || k > 3 || is_jump) {
            continue;
        }
        double value = k == 0 ? evening_get_force_n(time_s) - 2.0
                              : evening_get_finger_n(time_s, (int)k) - 1.0;
        assert_near(lo, value, is_each ? 0.05 : 1.0, 0.0);
        assert_near(hi, value, is_each ? 0.05 : 1.0, 0.0);
        assert_true(lo <= hi);
    }
    assert_int_equal(n_holes, k < 4 ? 1 : 0);
}

static void test_channels(void **state)
{
    static const char *const roles[] = {"string_force", "finger_force", "finger_force",
                                        "finger_force", "bow_acceleration"};
    struct sh_trace_document_config config = sh_trace_document_config_default();
    for (int is_each = 0; is_each < 2; is_each++) {
        config.n_points = is_each ? 8000 : 1000;
        json_t *document = read_trace(*state, &config);
        const json_t *channels = json_object_get(document, "channels");
        assert_int_equal(json_array_size(channels), 5);
        for (size_t k = 0; k < 5; k++) {
            const json_t *channel = json_array_get(channels, k);
            assert_string_equal(json_string_value(json_object_get(channel, "role")), roles[k]);
            check_channel(channel, k, is_each);
        }
        json_decref(document);
    }
}

/* The bow's highest and lowest sample are in the trace, however few points there are. */
static void test_peaks_are_kept(void **state)
{
    struct sh_trace_document_config config = sh_trace_document_config_default();
    double want[2] = {9.81, 9.81};
    for (size_t i = 0; i < EVENING_BOW_FRAMES; i++) {
        double value = evening_get_bow_m_s2((double)i / 3200.0);
        want[0] = fmin(want[0], value);
        want[1] = fmax(want[1], value);
    }
    for (config.n_points = 16; config.n_points < 8000; config.n_points *= 3) {
        double got[2] = {9.81, 9.81};
        json_t *document = read_trace(*state, &config);
        const json_t *bow = json_array_get(json_object_get(document, "channels"), 4);
        for (size_t i = 0; i < json_array_size(json_object_get(bow, "t")); i++) {
            got[0] = fmin(got[0], get_at(bow, "lo", i));
            got[1] = fmax(got[1], get_at(bow, "hi", i));
        }
        assert_near(got[0], want[0], 1e-3, 0.0);
        assert_near(got[1], want[1], 1e-3, 0.0);
        json_decref(document);
    }
}

/* Asked for apart, the channels and all beside them are what they are together. */
static void test_parts_are_the_whole(void **state)
{
    struct sh_trace_document_config config = sh_trace_document_config_default();
    static const double from_s[] = {-5.0, -1.3};
    for (size_t i = 0; i < 2; i++) {
        config.from_s = from_s[i];
        config.channels = SH_TRACE_CHANNELS_ALL;
        json_t *whole = read_trace(*state, &config);
        config.channels = SH_TRACE_CHANNELS_MAIN;
        json_t *parts = read_trace(*state, &config);
        config.channels = SH_TRACE_CHANNELS_OTHERS;
        json_t *others = read_trace(*state, &config);
        assert_int_equal(json_array_size(json_object_get(parts, "channels")), 1);
        assert_int_equal(json_array_size(json_object_get(others, "channels")), 4);
        assert_int_equal(json_array_extend(json_object_get(parts, "channels"),
                                           json_object_get(others, "channels")),
                         0);
        assert_true(json_equal(parts, whole));
        json_decref(others);
        json_decref(parts);
        json_decref(whole);
    }
}

static void test_events_and_alignment(void **state)
{
    static const struct {
        enum sh_event align;
        const char *name;
        double at_s;
    } cases[] = {{SH_EVENT_RELEASE, "release", 25.14},
                 {SH_EVENT_CLICKER, "clicker", 25.0},
                 {SH_EVENT_FULL_DRAW, "full_draw", 21.2}};
    struct sh_trace_document_config config = sh_trace_document_config_default();
    for (size_t i = 0; i < 3; i++) {
        config.align = cases[i].align;
        json_t *document = read_trace(*state, &config);
        const json_t *events = json_object_get(document, "events");
        assert_string_equal(json_string_value(json_object_get(document, "align")),
                            cases[i].name);
        assert_near(get_number(document, "align_s"), cases[i].at_s, 1e-9, 0.0);
        assert_near(get_number(events, "draw_start_s"), 20.0 - cases[i].at_s, 1e-5, 0.0);
        assert_near(get_number(events, "release_s"), 25.14 - cases[i].at_s, 1e-5, 0.0);
        assert_true(json_is_null(json_object_get(events, "let_down_s")));
        json_decref(document);
    }
}

/* Another event stands in for one that is not known. */
static void test_unknown_event(void **state)
{
    struct fixture *fixture = *state;
    struct sh_text text;
    struct sh_error err = {0};
    struct sh_trace_document_config config = sh_trace_document_config_default();
    const struct sh_shot_record kept = fixture->record;
    fixture->record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    config.align = SH_EVENT_CLICKER;
    json_t *document = read_trace(fixture, &config);
    assert_string_equal(json_string_value(json_object_get(document, "align")), "release");
    json_decref(document);
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        fixture->record.shot.event_s[i] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    sh_text_init(&text, 0);
    assert_int_equal(
        sh_trace_document_write(fixture->reader, &fixture->record, &config, &text, &err),
        SH_ERR_NOT_FOUND);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
    fixture->record = kept;
}

/* The fall from 180 to 177 N, whose 500 ms means reach from 22.25 to 23.25 s; the share. */
static void test_evidence_and_trend(void **state)
{
    const struct sh_trace_document_config config = sh_trace_document_config_default();
    json_t *document = read_trace(*state, &config);
    const json_t *evidence = json_object_get(document, "evidence");
    const json_t *trend = json_object_get(document, "trend");
    assert_int_equal(json_array_size(evidence), 2);
    const json_t *creep = json_array_get(evidence, 0);
    assert_string_equal(json_string_value(json_object_get(creep, "code")), "creep");
    assert_near(get_number(creep, "v_from"), 180.0, 0.05, 0.0);
    assert_near(get_number(creep, "v_to"), 177.0, 0.05, 0.0);
    assert_true(25.14 + get_number(creep, "from") < 22.3);
    assert_true(25.14 + get_number(creep, "to") > 23.2);
    const json_t *slide = json_array_get(evidence, 1);
    assert_string_equal(json_string_value(json_object_get(slide, "unit")), "1");
    assert_near(25.14 + get_number(slide, "from"), 24.0, 1e-4, 0.0);
    assert_near(get_number(slide, "v_from"), 0.3, 0.002, 0.0);
    assert_near(get_number(slide, "v_to"), 0.2, 0.002, 0.0);
    assert_near(get_at(trend, "t", 0), 25.0 - 1.05 - 25.14, 1e-5, 0.0);
    assert_near(get_at(trend, "v", 0), 177.0, 0.05, 0.0);
    assert_near(get_at(trend, "v", 1), 177.0, 0.05, 0.0);
    json_decref(document);
}

static void test_refusals(void **state)
{
    struct fixture *fixture = *state;
    struct sh_text text;
    const struct sh_trace_document_config good = sh_trace_document_config_default();
    struct sh_trace_document_config bad[6] = {good, good, good, good, good, good};
    bad[0].align = SH_EVENT_END;
    bad[1].from_s = -60.1;
    bad[2].until_s = 60.1;
    bad[3].from_s = good.until_s;
    bad[4].n_points = SH_TRACE_DOCUMENT_POINTS_MIN - 1;
    bad[5].n_points = SH_TRACE_DOCUMENT_POINTS_MAX + 1;
    sh_text_init(&text, 0);
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(
            sh_trace_document_write(fixture->reader, &fixture->record, &bad[i], &text, NULL),
            SH_ERR_ARGUMENT);
    }
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_channels),
        cmocka_unit_test(test_peaks_are_kept),
        cmocka_unit_test(test_parts_are_the_whole),
        cmocka_unit_test(test_events_and_alignment),
        cmocka_unit_test(test_unknown_event),
        cmocka_unit_test(test_evidence_and_trend),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, open_fixture, close_fixture);
}
