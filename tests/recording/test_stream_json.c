/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/stream_json.h"

#include <stdio.h>

#include "recording/json_case.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define CHANNELS "\"channels\": [{\"role\": \"sound\"}, {\"role\": \"clicker_contact\"}]"
#define HEAD     "{\"name\": \"string\", \"file\": \"string.wav\", \"rate_hz\": 1000.0, "

static const char full[] = HEAD
    "\"offset_s\": 0.5, \"offset_u_s\": 0.25, "
    "\"clock\": [[0, 0.0, 0.125], [10000, 10.5, 0.125]], " CHANNELS
    ", \"crosstalk\": [[1, 0.5], [0, 1]], \"gaps\": [{\"frame\": 12034, \"frames\": 18}], "
    "\"frames\": {\"good\": 9, \"damaged\": 2, \"repeated\": 4, \"late\": 5, \"lost\": 18, "
    "\"skipped_bytes\": 31}}";

static enum sh_status parse(const char *text, struct sh_session *session, struct sh_error *err)
{
    struct sh_json_cursor cursor;
    json_t *root = json_case_load(text);
    *session = (struct sh_session){.n_streams = 1};
    sh_json_cursor_init(&cursor, "a.json", err);
    sh_stream_json_parse(&cursor, root, session, 0);
    json_decref(root);
    return cursor.status;
}

static void
check_format(const char *before, const struct sh_session_stream *stream, const char *after)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_case_load(before);
    sh_stream_json_format(&put, root, stream);
    assert_int_equal(put.status, SH_OK);
    json_case_check_text(root, JSON_REAL_PRECISION(15), after);
}

static void test_values_land_in_their_members(void **state)
{
    struct sh_session session;
    assert_int_equal(parse(full, &session, NULL), SH_OK);
    const struct sh_session_stream *stream = &session.streams[0];
    assert_string_equal(stream->stream.name, "string");
    assert_string_equal(stream->file, "string.wav");
    assert_near(stream->stream.rate_hz, 1000.0, 0.0, 0.0);
    assert_near(stream->stream.offset_s, 0.5, 0.0, 0.0);
    assert_near(stream->stream.offset_u_s, 0.25, 0.0, 0.0);
    assert_int_equal(stream->stream.n_channels, 2);
    assert_int_equal(stream->stream.channel[1].role, SH_ROLE_CLICKER_CONTACT);
    assert_true(stream->stream.has_crosstalk);
    assert_near(stream->stream.crosstalk[0][1], 0.5, 0.0, 0.0);
    assert_int_equal(stream->timebase.n_anchors, 2);
    assert_int_equal(stream->timebase.anchors[1].frame, 10000);
    assert_near(stream->timebase.anchors[1].time_s, 10.5, 0.0, 0.0);
    assert_near(stream->timebase.rate_hz, 1000.0, 0.0, 0.0);
    assert_int_equal(stream->n_gaps, 1);
    assert_int_equal(stream->gaps[0].frame, 12034);
    assert_int_equal(stream->gaps[0].n_frames, 18);
    assert_int_equal(stream->frames.good, 9);
    assert_int_equal(stream->frames.skipped_bytes, 31);
    sh_session_close(&session);
}

static void test_an_unchanged_stream_stays_as_written(void **state)
{
    struct sh_session session;
    assert_int_equal(parse(full, &session, NULL), SH_OK);
    check_format(full, &session.streams[0], full);
    sh_session_close(&session);
    const char *least = HEAD "\"offset_s\": 0.0, \"clock\": [], " CHANNELS ", \"gaps\": []}";
    assert_int_equal(parse(least, &session, NULL), SH_OK);
    check_format(least, &session.streams[0],
                 HEAD "\"offset_s\": 0.0, " CHANNELS ", \"gaps\": []}");
    sh_session_close(&session);
}

static void test_a_new_stream_has_all_its_keys(void **state)
{
    struct sh_session session;
    assert_int_equal(parse(full, &session, NULL), SH_OK);
    check_format("{}", &session.streams[0],
                 "{\"name\": \"string\", \"file\": \"string.wav\", \"rate_hz\": 1000, "
                 "\"offset_s\": 0.5, \"offset_u_s\": 0.25, "
                 "\"clock\": [[0, 0, 0.125], [10000, 10.5, 0.125]], " CHANNELS
                 ", \"crosstalk\": [[1, 0.5], [0, 1]], "
                 "\"gaps\": [{\"frame\": 12034, \"frames\": 18}], "
                 "\"frames\": {\"good\": 9, \"damaged\": 2, \"repeated\": 4, \"late\": 5, "
                 "\"lost\": 18, \"skipped_bytes\": 31}}");
    sh_session_close(&session);
}

static void test_anchors_and_gaps_are_appended(void **state)
{
    struct sh_session session;
    const char *before = HEAD CHANNELS
        ", \"clock\": [[0, 0.0, 0.0]], \"gaps\": [{\"frame\": 5, \"frames\": 1, \"why\": "
        "\"a\"}, "
        "{\"frame\": 6, \"frames\": 1, \"why\": \"b\"}, {\"frame\": 9, \"frames\": 1, \"why\": "
        "\"c\"}]}";
    assert_int_equal(parse(before, &session, NULL), SH_OK);
    assert_int_equal(session.streams[0].n_gaps, 2); /* the first two touch */
    const struct sh_anchor anchor = {100, 0.5, 0.25};
    assert_int_equal(sh_timebase_append(&session.streams[0].timebase, &anchor), SH_OK);
    assert_int_equal(sh_session_add_gap(&session, 0, &(struct sh_gap){50, 2}), SH_OK);
    check_format(
        before, &session.streams[0],
        HEAD CHANNELS
        ", \"clock\": [[0, 0.0, 0.0], [100, 0.5, 0.25]], "
        "\"gaps\": [{\"frame\": 5, \"frames\": 2, \"why\": \"a\"}, "
        "{\"frame\": 9, \"frames\": 1, \"why\": \"c\"}, {\"frame\": 50, \"frames\": 2}]}");
    sh_session_close(&session);
}

static void test_what_is_gone_is_removed(void **state)
{
    struct sh_session session;
    assert_int_equal(parse(HEAD CHANNELS "}", &session, NULL), SH_OK);
    session.streams[0].stream.n_channels = 1;
    check_format(full, &session.streams[0],
                 HEAD
                 "\"offset_s\": 0, \"offset_u_s\": 0, \"channels\": [{\"role\": \"sound\"}], "
                 "\"gaps\": [], \"frames\": {\"good\": 0, \"damaged\": 0, \"repeated\": 0, "
                 "\"late\": 0, \"lost\": 0, \"skipped_bytes\": 0}}");
    sh_session_close(&session);
}

static void test_offences_are_named(void **state)
{
    static const struct json_case_offence cases[] = {
        {"1", "a.json", "is not an object"},
        {"{\"file\": \"a.wav\", \"rate_hz\": 1, " CHANNELS "}", "a.json: name", "is missing"},
        {"{\"name\": \"a\", \"rate_hz\": 1, " CHANNELS "}", "a.json: file", "is missing"},
        {"{\"name\": \"a\", \"file\": \"../a.wav\", \"rate_hz\": 1, " CHANNELS "}",
         "a.json: file", "is not a name inside the folder"},
        {"{\"name\": \"a\", \"file\": \"..\", \"rate_hz\": 1, " CHANNELS "}", "a.json: file",
         "is not a name inside the folder"},
        {"{\"name\": \"a\", \"file\": \"a.wav\", " CHANNELS "}", "a.json: rate_hz",
         "is missing"},
        {"{\"name\": \"a\", \"file\": \"a.wav\", \"rate_hz\": 0, " CHANNELS "}",
         "a.json: rate_hz", "is not above 0"},
        {HEAD "\"channels\": []}", "a.json: channels", "has not 1 to 16 channels"},
        {HEAD "\"offset_s\": 1}", "a.json: channels", "is missing"},
        {HEAD "\"channels\": [{\"role\": \"sound\"}, {\"role\": \"noise\"}]}",
         "a.json: channels[1].role", "is no role of a channel"},
        {HEAD CHANNELS ", \"crosstalk\": [[1]]}", "a.json: crosstalk",
         "has not a row for each channel"},
        {HEAD CHANNELS ", \"crosstalk\": [[1, 0], [1]]}", "a.json: crosstalk[1]",
         "is not a list of 2 numbers"},
        {HEAD CHANNELS ", \"clock\": [[0, 0]]}", "a.json: clock[0]",
         "is not a list of 3 numbers"},
        {HEAD CHANNELS ", \"clock\": [[0.5, 0, 0]]}", "a.json: clock[0]",
         "does not begin with a frame number"},
        {HEAD CHANNELS ", \"clock\": [[-1, 0, 0]]}", "a.json: clock[0]",
         "does not begin with a frame number"},
        {HEAD CHANNELS ", \"clock\": [[1e300, 0, 0]]}", "a.json: clock[0]",
         "does not begin with a frame number"},
        {HEAD CHANNELS ", \"clock\": [[5, 1, 0], [5, 2, 0]]}", "a.json: clock[1]",
         "does not come after the anchor before it, or is below 0 in its uncertainty"},
        {HEAD CHANNELS ", \"clock\": [[5, 1, 0], [6, 1, 0]]}", "a.json: clock[1]",
         "does not come after the anchor before it, or is below 0 in its uncertainty"},
        {HEAD CHANNELS ", \"clock\": [[5, 1, -1]]}", "a.json: clock[0]",
         "does not come after the anchor before it, or is below 0 in its uncertainty"},
        {HEAD CHANNELS ", \"gaps\": [7]}", "a.json: gaps[0]", "is not an object"},
        {HEAD CHANNELS ", \"gaps\": [{\"frame\": 1}]}", "a.json: gaps[0].frames", "is missing"},
        {HEAD CHANNELS ", \"gaps\": [{\"frame\": -1, \"frames\": 1}]}", "a.json: gaps[0].frame",
         "is not a whole number from 0 up"},
        {HEAD CHANNELS ", \"gaps\": [{\"frame\": 1, \"frames\": 0}]}", "a.json: gaps[0]",
         "has no frames, or begins before the gap before it ends"},
        {HEAD CHANNELS
         ", \"gaps\": [{\"frame\": 5, \"frames\": 3}, {\"frame\": 7, \"frames\": 1}]}",
         "a.json: gaps[1]", "has no frames, or begins before the gap before it ends"},
        {HEAD CHANNELS ", \"frames\": {\"good\": -1}}", "a.json: frames.good",
         "is not a whole number from 0 up"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_session session;
        struct sh_error err = {0};
        const enum sh_status status = parse(cases[i].text, &session, &err);
        json_case_check_offence(&cases[i], status, &err);
        sh_session_close(&session);
    }
}

/* A stream of n channels. */
static void make_channels(char *text, size_t text_bytes, size_t n)
{
    int used = snprintf(text, text_bytes, "%s", HEAD "\"channels\": [{\"role\": \"sound\"}");
    for (size_t i = 1; i < n; i++) {
        used += snprintf(text + used, text_bytes - (size_t)used, ", {\"role\": \"sound\"}");
    }
    (void)snprintf(text + used, text_bytes - (size_t)used, "]}");
}

static void test_channels_have_a_bound(void **state)
{
    char text[1024];
    struct sh_session session;
    make_channels(text, sizeof text, SH_STREAM_CHANNELS_MAX);
    assert_int_equal(parse(text, &session, NULL), SH_OK);
    assert_int_equal(session.streams[0].stream.n_channels, SH_STREAM_CHANNELS_MAX);
    sh_session_close(&session);
    make_channels(text, sizeof text, SH_STREAM_CHANNELS_MAX + 1);
    assert_int_equal(parse(text, &session, NULL), SH_ERR_FORMAT);
    sh_session_close(&session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_land_in_their_members),
        cmocka_unit_test(test_an_unchanged_stream_stays_as_written),
        cmocka_unit_test(test_a_new_stream_has_all_its_keys),
        cmocka_unit_test(test_anchors_and_gaps_are_appended),
        cmocka_unit_test(test_what_is_gone_is_removed),
        cmocka_unit_test(test_offences_are_named),
        cmocka_unit_test(test_channels_have_a_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
