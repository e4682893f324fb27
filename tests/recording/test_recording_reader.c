/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_reader.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "recording/audio_writer.h"
#include "recording/collector.h"
#include "recording/scratch.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define STRING_FRAMES 5003u
#define BOW_FRAMES    9601u

/* Two streams: 5 s of string force whose clock is 200 ppm slow, 3 s of the bow in two axes. */
static const char recording[] =
    "{\"format\": \"stringhand-recording\", \"version\": 1, \"streams\": ["
    "{\"name\": \"string\", \"file\": \"string.wav\", \"rate_hz\": 1000, \"channels\": ["
    "{\"role\": \"string_force\", \"scale\": 0.0125, \"zero\": 812}],"
    "\"clock\": [[0, 0.01, 0.001], [1000, 1.0102, 0.001], [2500, 2.5105, 0.001],"
    " [5003, 5.014, 0.001], [6000, 6.1, 0.001]],"
    "\"gaps\": [{\"frame\": 150, \"frames\": 20}, {\"frame\": 990, \"frames\": 30},"
    " {\"frame\": 5000, \"frames\": 100}]},"
    "{\"name\": \"bow\", \"file\": \"bow.wav\", \"rate_hz\": 3200, \"offset_s\": 0.5, "
    "\"channels\": ["
    "{\"role\": \"bow_acceleration\", \"axis\": \"x\", \"scale\": 0.04},"
    "{\"role\": \"bow_acceleration\", \"axis\": \"y\", \"scale\": 0.04}]}]}";

static double get_sample(size_t frame, size_t channel)
{
    return fmod((double)frame * 7.0 + (double)channel * 1000.0, 30011.0) - 15000.0;
}

static void make_audio(const struct scratch *scratch,
                       const char *name,
                       const struct sh_audio_writer_config *config,
                       size_t n_frames)
{
    char path[SCRATCH_PATH_BYTES];
    struct sh_audio_writer *writer = NULL;
    double *raw = calloc(n_frames * config->n_channels + 1, sizeof *raw);
    assert_non_null(raw);
    for (size_t i = 0; i < n_frames * config->n_channels; i++) {
        raw[i] = get_sample(i / config->n_channels, i % config->n_channels);
    }
    scratch_path(scratch, name, path);
    assert_int_equal(sh_audio_writer_open(path, config, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, raw, n_frames, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_finish(writer, NULL), SH_OK);
    sh_audio_writer_close(&writer);
    free(raw);
}

static void make_json(const struct scratch *scratch, const char *text)
{
    char path[SCRATCH_PATH_BYTES];
    scratch_path(scratch, SH_SESSION_JSON_FILE, path);
    scratch_write(path, text, strlen(text));
}

static void make_recording(struct scratch *scratch)
{
    const struct sh_audio_writer_config string = {SH_AUDIO_WAV, 16, 1, 1000.0};
    const struct sh_audio_writer_config bow = {SH_AUDIO_FLAC, 24, 2, 3200.0};
    scratch_open(scratch);
    make_json(scratch, recording);
    make_audio(scratch, "string.wav", &string, STRING_FRAMES);
    make_audio(scratch, "bow.wav", &bow, BOW_FRAMES);
}

static struct sh_recording_reader *open_reader(const struct scratch *scratch, double chunk_s)
{
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = {chunk_s};
    assert_int_equal(sh_recording_reader_open(scratch->folder, &config, &reader, NULL), SH_OK);
    return reader;
}

static bool is_in_gap(size_t frame)
{
    return (frame >= 150 && frame < 170) || (frame >= 990 && frame < 1020) || frame >= 5000;
}

static void check_samples(const struct collector *collector)
{
    const struct collected_stream *string = &collector->streams[0];
    const struct collected_stream *bow = &collector->streams[1];
    assert_int_equal(string->n_frames, STRING_FRAMES);
    assert_int_equal(bow->n_frames, BOW_FRAMES);
    for (size_t i = 0; i < STRING_FRAMES; i++) {
        assert_near(string->raw[i], get_sample(i, 0), 0.0, 0.0);
        assert_int_equal(string->is_filled[i], is_in_gap(i));
    }
    for (size_t i = 0; i < BOW_FRAMES; i++) {
        assert_near(bow->raw[2 * i], get_sample(i, 0), 0.0, 0.0);
        assert_near(bow->raw[2 * i + 1], get_sample(i, 1), 0.0, 0.0);
        assert_false(bow->is_filled[i]);
    }
    /* the last anchor lies beyond the samples, the one before it at their end */
    assert_int_equal(string->n_anchors, 4);
    assert_int_equal(string->anchors[3].frame, STRING_FRAMES);
    assert_near(string->anchors[1].time_s, 1.0102, 0.0, 0.0);
    assert_int_equal(bow->n_anchors, 0);
}

static void test_everything_comes_whatever_the_chunks(void **state)
{
    static const double chunks_s[] = {0.1, 0.05, 0.0313, 0.01, 0.001, 1e-9};
    struct scratch scratch;
    make_recording(&scratch);
    for (size_t i = 0; i < sizeof chunks_s / sizeof chunks_s[0]; i++) {
        struct collector collector;
        struct sh_recording_reader *reader = open_reader(&scratch, chunks_s[i]);
        const struct sh_block_sink sink = collector_open(&collector);
        assert_int_equal(sh_recording_reader_push(reader, &sink, NULL), SH_OK);
        check_samples(&collector);
        assert_int_equal(sh_recording_reader_n_frames(reader, 0), STRING_FRAMES);
        assert_int_equal(sh_recording_reader_n_frames(reader, 1), BOW_FRAMES);
        size_t longest = (size_t)fmax(1.0, floor(chunks_s[i] * 3200.0 + 1e-6));
        assert_int_equal(collector.streams[1].longest_block_frames, longest);
        collector_close(&collector);
        sh_recording_reader_close(&reader);
        assert_null(reader);
    }
    scratch_close(&scratch);
}

static void test_a_second_pass_is_as_the_first(void **state)
{
    struct scratch scratch;
    struct collector first;
    struct collector second;
    make_recording(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    const struct sh_block_sink first_sink = collector_open(&first);
    assert_int_equal(sh_recording_reader_push(reader, &first_sink, NULL), SH_OK);
    const struct sh_block_sink second_sink = collector_open(&second);
    assert_int_equal(sh_recording_reader_push(reader, &second_sink, NULL), SH_OK);
    collector_check_same(&second, &first);
    assert_int_equal(second.streams[0].n_blocks, first.streams[0].n_blocks);
    collector_close(&first);
    collector_close(&second);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

/* Watches how far one stream runs ahead of the other. */
struct watch {
    const struct sh_session *session;
    double next_s[2];
    double end_s[2];
    double last_start_s;
    double largest_lead_s;
};

static enum sh_status
watch_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    (void)err;
    struct watch *watch = context;
    const struct sh_timebase *timebase = &watch->session->streams[block->stream].timebase;
    double first = (double)block->first_frame;
    double n = (double)block->n_frames;
    double start_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, first, NULL);
    double last_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, first + n - 1.0, NULL);
    size_t other = 1 - block->stream;
    assert_true(last_s - start_s <= 0.1);
    if (watch->next_s[other] < watch->end_s[other]) {
        watch->largest_lead_s = fmax(watch->largest_lead_s, last_s - watch->next_s[other]);
    }
    /* in time order but for what a clock steps back at an anchor (here 0.3 ms at most) */
    assert_true(start_s >= watch->last_start_s - 0.0003);
    watch->last_start_s = start_s;
    watch->next_s[block->stream] =
        sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, first + n, NULL);
    return SH_OK;
}

static enum sh_status
watch_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK;
}

/* A WAV and a FLAC file, before and after a pass that has closed both at their end. */
static void test_any_frames_can_be_read(void **state)
{
    static const struct {
        size_t stream;
        uint64_t first;
        size_t n;
        size_t n_there;
    } parts[] = {{0, 4000, 300, 300}, {1, 9000, 700, 601},    {0, 0, 1, 1},
                 {1, 17, 4, 4},       {1, 0, 700, 700},       {0, 5003, 5, 0},
                 {0, 5002, 9, 1},     {1, UINT32_MAX, 700, 0}};
    double raw[2 * 700];
    size_t n = 1;
    struct scratch scratch;
    struct collector collector;
    make_recording(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
            size_t n_channels = parts[i].stream + 1;
            assert_int_equal(sh_recording_reader_read(reader, parts[i].stream, parts[i].first,
                                                      raw, parts[i].n, &n, NULL),
                             SH_OK);
            assert_int_equal(n, parts[i].n_there);
            for (size_t k = 0; k < n * n_channels; k++) {
                size_t frame = (size_t)parts[i].first + k / n_channels;
                assert_near(raw[k], get_sample(frame, k % n_channels), 0.0, 0.0);
            }
        }
        const struct sh_block_sink sink = collector_open(&collector);
        assert_int_equal(sh_recording_reader_push(reader, &sink, NULL), SH_OK);
        check_samples(&collector);
        collector_close(&collector);
    }
    assert_int_equal(sh_recording_reader_read(reader, 2, 0, raw, 1, &n, NULL), SH_ERR_ARGUMENT);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_no_stream_runs_ahead(void **state)
{
    struct scratch scratch;
    make_recording(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    struct watch watch = {.session = sh_recording_reader_session(reader),
                          .next_s = {0.01, 0.5},
                          .end_s = {5.01, 0.5 + BOW_FRAMES / 3200.0 - 1e-9},
                          .last_start_s = -1.0};
    const struct sh_block_sink sink = {watch_block, watch_anchor, &watch};
    assert_int_equal(sh_recording_reader_push(reader, &sink, NULL), SH_OK);
    assert_true(watch.largest_lead_s <= 0.1003);
    assert_true(watch.largest_lead_s >= 0.05);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_the_sinks_failure_stops_and_comes_back(void **state)
{
    struct scratch scratch;
    make_recording(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    for (size_t n = 0; n < 200; n++) {
        struct collector collector;
        struct sh_error err = {0};
        const struct sh_block_sink sink = collector_open(&collector);
        collector.n_events_left = n;
        enum sh_status status = sh_recording_reader_push(reader, &sink, &err);
        if (status == SH_OK) {
            check_samples(&collector);
            n = 200;
        } else {
            assert_int_equal(status, SH_ERR_BUSY);
            assert_string_equal(err.where, "collector");
        }
        collector_close(&collector);
    }
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_blocks_are_bounded_at_any_rate(void **state)
{
    struct scratch scratch;
    struct collector collector;
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 2, 1e6};
    scratch_open(&scratch);
    make_json(&scratch,
              "{\"format\": \"stringhand-recording\", \"version\": 1, \"streams\": ["
              "{\"name\": \"a\", \"file\": \"a.wav\", \"rate_hz\": 1e6, \"channels\": ["
              "{\"role\": \"sound\"}, {\"role\": \"clicker_contact\"}]}]}");
    make_audio(&scratch, "a.wav", &config, 50000);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    const struct sh_channel *channels =
        sh_recording_reader_session(reader)->streams[0].stream.channel;
    assert_near(channels[0].scale, 1.0, 0.0, 0.0);
    assert_near(channels[1].scale, 1.0, 0.0, 0.0);
    const struct sh_block_sink sink = collector_open(&collector);
    assert_int_equal(sh_recording_reader_push(reader, &sink, NULL), SH_OK);
    assert_int_equal(collector.streams[0].n_frames, 50000);
    assert_int_equal(collector.streams[0].longest_block_frames,
                     SH_RECORDING_READER_BLOCK_VALUES / 2);
    collector_close(&collector);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_floats_are_physical(void **state)
{
    struct scratch scratch;
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 0, 1, 100.0};
    scratch_open(&scratch);
    make_json(&scratch,
              "{\"format\": \"stringhand-recording\", \"version\": 1, \"streams\": ["
              "{\"name\": \"a\", \"file\": \"a.wav\", \"rate_hz\": 100, \"channels\": ["
              "{\"role\": \"string_force\"}]}]}");
    make_audio(&scratch, "a.wav", &config, 10);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    assert_true(sh_recording_reader_session(reader)->streams[0].stream.channel[0].is_physical);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_a_silent_stream_is_let_be(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct collector collector;
    struct sh_error err = {0};
    struct sh_recording_reader *none = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    const struct sh_audio_writer_config string = {SH_AUDIO_WAV, 16, 1, 1000.0};
    const struct sh_audio_writer_config bow = {SH_AUDIO_WAV, 16, 2, 3200.0};
    make_recording(&scratch);
    scratch_path(&scratch, "bow.wav", path);
    assert_int_equal(unlink(path), 0);
    make_audio(&scratch, "bow.wav", &bow, 0);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    const struct sh_block_sink sink = collector_open(&collector);
    assert_int_equal(sh_recording_reader_push(reader, &sink, NULL), SH_OK);
    assert_int_equal(collector.streams[0].n_frames, STRING_FRAMES);
    assert_int_equal(collector.streams[1].n_frames, 0);
    collector_close(&collector);
    sh_recording_reader_close(&reader);
    scratch_path(&scratch, "string.wav", path);
    assert_int_equal(unlink(path), 0);
    make_audio(&scratch, "string.wav", &string, 0);
    assert_int_equal(sh_recording_reader_open(scratch.folder, &config, &none, &err),
                     SH_ERR_SHORT);
    assert_string_equal(err.where, path);
    assert_string_equal(err.what, "the file holds no samples");
    scratch_close(&scratch);
}

/* Opens the recording with one part of its text replaced; it must be refused. */
static void expect_refusal(const char *part,
                           const char *with,
                           enum sh_status status,
                           const char *where_end,
                           const char *what)
{
    struct scratch scratch;
    char text[2048];
    char line[SH_ERROR_LINE_BYTES];
    struct sh_error err = {0};
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    const char *at = strstr(recording, part);
    assert_non_null(at);
    make_recording(&scratch);
    (void)snprintf(text, sizeof text, "%.*s%s%s", (int)(at - recording), recording, with,
                   at + strlen(part));
    make_json(&scratch, text);
    assert_int_equal(sh_recording_reader_open(scratch.folder, &config, &reader, &err), status);
    assert_null(reader);
    assert_int_equal(err.status, status);
    size_t n_where = strlen(err.where);
    assert_true(n_where >= strlen(where_end));
    assert_string_equal(err.where + n_where - strlen(where_end), where_end);
    assert_non_null(strstr(err.what, what));
    sh_error_format(&err, line);
    assert_null(strchr(line, '\n'));
    scratch_close(&scratch);
}

static void test_bad_recordings_are_refused_in_one_line(void **state)
{
    expect_refusal("string.wav", "absent.wav", SH_ERR_NOT_FOUND, "/absent.wav", "No such file");
    expect_refusal("string.wav", "recording.json", SH_ERR_FORMAT, "/recording.json",
                   "this is no audio file");
    expect_refusal("\"rate_hz\": 1000", "\"rate_hz\": 1002", SH_ERR_FORMAT, "/string.wav",
                   "the file has 1000 frames a second, the recording says 1002");
    expect_refusal("\"rate_hz\": 1000", "\"rate_hz\": 0", SH_ERR_FORMAT,
                   "/recording.json: streams[0].rate_hz", "is not above 0");
    expect_refusal(",{\"role\": \"bow_acceleration\", \"axis\": \"y\", \"scale\": 0.04}", "",
                   SH_ERR_FORMAT, "/bow.wav", "the file has 2 channels, the recording says 1");
    expect_refusal(", \"scale\": 0.0125", "", SH_ERR_FORMAT,
                   "/recording.json: streams[0].channels[0].scale", "is missing");
    expect_refusal("\"version\": 1", "\"version\": 9", SH_ERR_UNSUPPORTED,
                   "/recording.json: version", "is not 1");
}

static void test_a_curve_stands_for_a_scale(void **state)
{
    struct scratch scratch;
    char text[2048];
    make_recording(&scratch);
    const char *part = "\"scale\": 0.0125";
    const char *at = strstr(recording, part);
    assert_non_null(at);
    (void)snprintf(text, sizeof text, "%.*s\"curve\": [[0, 0, 1], [9, 1, 1]]%s",
                   (int)(at - recording), recording, at + strlen(part));
    make_json(&scratch, text);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    assert_int_equal(sh_recording_reader_session(reader)->streams[0].stream.channel[0].n_curve,
                     2);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_chunks_have_limits(void **state)
{
    static const double wrong_s[] = {0.0, -0.1, 0.1000001, (double)NAN};
    struct scratch scratch;
    struct sh_recording_reader *reader = NULL;
    make_recording(&scratch);
    for (size_t i = 0; i < sizeof wrong_s / sizeof wrong_s[0]; i++) {
        const struct sh_recording_reader_config config = {wrong_s[i]};
        assert_int_equal(sh_recording_reader_open(scratch.folder, &config, &reader, NULL),
                         SH_ERR_ARGUMENT);
        assert_null(reader);
    }
    scratch_close(&scratch);
}

static void test_a_file_gone_between_passes_is_told(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct collector collector;
    struct sh_error err = {0};
    make_recording(&scratch);
    struct sh_recording_reader *reader = open_reader(&scratch, 0.1);
    const struct sh_block_sink sink = collector_open(&collector);
    assert_int_equal(sh_recording_reader_push(reader, &sink, NULL), SH_OK);
    collector_close(&collector);
    scratch_path(&scratch, "bow.wav", path);
    assert_int_equal(unlink(path), 0);
    const struct sh_block_sink again = collector_open(&collector);
    assert_int_equal(sh_recording_reader_push(reader, &again, &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, path);
    collector_close(&collector);
    sh_recording_reader_close(&reader);
    sh_recording_reader_close(&reader);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_everything_comes_whatever_the_chunks),
        cmocka_unit_test(test_a_second_pass_is_as_the_first),
        cmocka_unit_test(test_any_frames_can_be_read),
        cmocka_unit_test(test_no_stream_runs_ahead),
        cmocka_unit_test(test_the_sinks_failure_stops_and_comes_back),
        cmocka_unit_test(test_blocks_are_bounded_at_any_rate),
        cmocka_unit_test(test_floats_are_physical),
        cmocka_unit_test(test_a_silent_stream_is_let_be),
        cmocka_unit_test(test_bad_recordings_are_refused_in_one_line),
        cmocka_unit_test(test_a_curve_stands_for_a_scale),
        cmocka_unit_test(test_chunks_have_limits),
        cmocka_unit_test(test_a_file_gone_between_passes_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
