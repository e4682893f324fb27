/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_writer.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "recording/collector.h"
#include "recording/example.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

struct fixture {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_session session;
    struct sh_recording_writer_config config;
    struct sh_recording_writer *writer;
    struct sh_block_sink sink;
};

static void start_fixture(struct fixture *f)
{
    *f = (struct fixture){.config = sh_recording_writer_config_default()};
    scratch_open(&f->scratch);
    scratch_path(&f->scratch, "2026-05-14_0930_plover", f->folder);
    example_open(&f->session);
}

static void open_writer(struct fixture *f)
{
    assert_int_equal(
        sh_recording_writer_open(f->folder, &f->session, &f->config, &f->writer, NULL), SH_OK);
    f->sink = sh_recording_writer_sink(f->writer);
}

static void end_fixture(struct fixture *f)
{
    sh_recording_writer_close(&f->writer);
    assert_null(f->writer);
    sh_recording_writer_close(&f->writer);
    scratch_close(&f->scratch);
}

static void play(const char *folder, struct collector *collector)
{
    struct sh_error err = {0};
    if (collector_read(collector, folder, NULL, &err) != SH_OK) {
        fail_msg("%s: %s", err.where, err.what);
    }
}

static void read_session(const char *folder, struct sh_session *session)
{
    *session = (struct sh_session){0};
    assert_int_equal(sh_session_json_read(folder, session, NULL, NULL), SH_OK);
}

static bool has_file(const struct fixture *f, const char *name)
{
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/%s", f->folder, name);
    return scratch_exists(path);
}

/* What was written, in every way to write it, is what is read. */
static void test_what_goes_in_comes_out(void **state)
{
    struct collector expected;
    const struct sh_block_sink into = collector_open(&expected);
    assert_int_equal(example_push(&into, 0.0, 7.4, NULL), SH_OK);
    for (int way = 0; way < 4; way++) {
        struct fixture f;
        struct collector got;
        bool to_flac = way / 2 == 1;
        start_fixture(&f);
        f.config.is_synced = way % 2 == 1;
        open_writer(&f);
        assert_int_equal(example_push(&f.sink, 0.0, 7.4, NULL), SH_OK);
        assert_int_equal(sh_recording_writer_finish(f.writer, to_flac, NULL), SH_OK);
        play(f.folder, &got);
        collector_check_same(&got, &expected);
        assert_int_equal(has_file(&f, "string.wav"), !to_flac);
        assert_int_equal(has_file(&f, "bow.wav"), !to_flac);
        assert_int_equal(has_file(&f, "string.flac"), to_flac);
        assert_int_equal(has_file(&f, "bow.flac"), to_flac);
        assert_string_equal(sh_recording_writer_session(f.writer)->streams[1].file,
                            to_flac ? "bow.flac" : "bow.wav");
        collector_close(&got);
        end_fixture(&f);
    }
    collector_close(&expected);
}

static void test_the_session_comes_back(void **state)
{
    struct fixture f;
    struct sh_session session;
    const struct sh_mark limit = {.kind = SH_MARK_LIMIT,
                                  .what = "finger_peak_n",
                                  .per = "shot",
                                  .most = {true, 45.0},
                                  .kept = 7};
    const struct sh_mark arrow = {
        .t_s = 0.25, .kind = SH_MARK_ARROW, .shot = {true, 1.0}, .score = {true, 9.0}};
    const struct sh_frame_counts counts = {740, 1, 2, 3, 30, 5};
    start_fixture(&f);
    assert_int_equal(sh_session_add_mark(&f.session, &limit), SH_OK);
    (void)snprintf(f.session.streams[0].file, SH_SESSION_FILE_BYTES, "../elsewhere.wav");
    open_writer(&f);
    sh_session_close(&f.session);
    assert_int_equal(example_push(&f.sink, 0.0, 0.7, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &arrow, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_set_counts(f.writer, 0, &counts), SH_OK);
    assert_int_equal(sh_recording_writer_set_counts(f.writer, 2, &counts), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    read_session(f.folder, &session);
    assert_string_equal(session.athlete, "plover");
    assert_int_equal(session.n_marks, 2);
    assert_int_equal(session.marks[0].kind, SH_MARK_LIMIT);
    assert_near(session.marks[0].most.value, 45.0, 0.0, 0.0);
    assert_int_equal(session.marks[1].kind, SH_MARK_ARROW);
    assert_near(session.marks[1].t_s, 0.25, 0.0, 0.0);
    assert_int_equal(session.n_streams, 2);
    assert_string_equal(session.streams[0].file, "string.wav");
    assert_int_equal(session.streams[0].n_gaps, 1);
    assert_int_equal(session.streams[0].gaps[0].frame, 20);
    assert_int_equal(session.streams[0].gaps[0].n_frames, 30);
    assert_int_equal(session.streams[0].timebase.n_anchors, 1);
    assert_memory_equal(&session.streams[0].frames, &counts, sizeof counts);
    assert_near(session.streams[1].stream.offset_s, 0.0031, 0.0, 0.0);
    sh_session_close(&session);
    end_fixture(&f);
}

static void test_unknown_keys_go_along(void **state)
{
    static const char text[] =
        "{\"format\": \"stringhand-recording\", \"version\": 1, \"club\": \"brickworks\", "
        "\"streams\": [{\"name\": \"a\", \"file\": \"b.wav\", \"rate_hz\": 10, \"maker\": "
        "\"heron\", \"channels\": [{\"role\": \"sound\", \"serial\": 12}]}], "
        "\"marks\": [{\"t_s\": 1, \"kind\": \"whistle\", \"loud\": true}]}";
    struct fixture f;
    struct sh_session_json *kept = NULL;
    const double raw[3] = {1.0, 2.0, 3.0};
    const struct sh_block block = {0, 0, 3, 1, raw, false};
    const struct sh_mark note = {.kind = SH_MARK_NOTE, .text = "anew"};
    char path[2 * SCRATCH_PATH_BYTES];
    start_fixture(&f);
    f.session = (struct sh_session){0};
    assert_int_equal(
        sh_session_json_parse(text, sizeof text - 1, "text", &f.session, &kept, NULL), SH_OK);
    f.config.kept = kept;
    open_writer(&f);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &note, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    (void)snprintf(path, sizeof path, "%s/%s", f.folder, SH_SESSION_JSON_FILE);
    char *written = scratch_read(path, NULL);
    assert_string_equal(written, "{\n"
                                 "  \"format\": \"stringhand-recording\",\n"
                                 "  \"version\": 1,\n"
                                 "  \"club\": \"brickworks\",\n"
                                 "  \"streams\": [\n"
                                 "    {\n"
                                 "      \"name\": \"a\",\n"
                                 "      \"file\": \"a.wav\",\n"
                                 "      \"rate_hz\": 10,\n"
                                 "      \"maker\": \"heron\",\n"
                                 "      \"channels\": [{\"role\": \"sound\", \"serial\": 12}]\n"
                                 "    }\n"
                                 "  ],\n"
                                 "  \"marks\": [\n"
                                 "    {\"t_s\": 1, \"kind\": \"whistle\", \"loud\": true},\n"
                                 "    {\"t_s\": 0, \"kind\": \"note\", \"text\": \"anew\"}\n"
                                 "  ]\n"
                                 "}\n");
    free(written);
    sh_session_close(&f.session);
    end_fixture(&f);
    sh_session_json_close(&kept);
}

static void test_folders_are_never_overwritten(void **state)
{
    struct fixture f;
    struct sh_error err = {0};
    start_fixture(&f);
    assert_int_equal(mkdir(f.folder, 0777), 0);
    assert_int_equal(sh_recording_writer_open(f.folder, &f.session, &f.config, &f.writer, &err),
                     SH_ERR_EXISTS);
    assert_string_equal(err.where, f.folder);
    assert_false(has_file(&f, SH_SESSION_JSON_FILE));
    assert_true(scratch_exists(f.folder));
    end_fixture(&f);
}

/* Opening must be refused, and no folder be left. */
static void expect_refusal(struct fixture *f, enum sh_status status, const char *what)
{
    struct sh_error err = {0};
    assert_int_equal(
        sh_recording_writer_open(f->folder, &f->session, &f->config, &f->writer, &err), status);
    assert_non_null(strstr(err.what, what));
    assert_null(f->writer);
    assert_false(scratch_exists(f->folder));
    example_open(&f->session);
}

static void test_wrong_sessions_are_refused(void **state)
{
    struct fixture f;
    const struct sh_anchor anchor = {0, 0.0, 0.0};
    struct sh_session with_lists;
    start_fixture(&f);
    f.session.n_streams = 0;
    expect_refusal(&f, SH_ERR_ARGUMENT, "a recording of 0 streams");
    f.session.n_streams = SH_STREAMS_MAX + 1;
    expect_refusal(&f, SH_ERR_ARGUMENT, "a recording of 9 streams");
    f.session.streams[1].stream.rate_hz = 0.0;
    expect_refusal(&f, SH_ERR_ARGUMENT, "no such audio file");
    f.session.streams[1].stream.n_channels = SH_STREAM_CHANNELS_MAX + 1;
    expect_refusal(&f, SH_ERR_ARGUMENT, "no such audio file");
    f.session.streams[1].stream.offset_s = (double)NAN;
    expect_refusal(&f, SH_ERR_ARGUMENT, "no such clock");
    f.session.streams[1].stream.channel[2].is_physical = true;
    expect_refusal(&f, SH_ERR_ARGUMENT, "stream 1 has channels of counts");
    (void)snprintf(f.session.athlete, sizeof f.session.athlete, "\xff");
    expect_refusal(&f, SH_ERR_FORMAT, "athlete");
    f.config.longest_s = 0.0;
    expect_refusal(&f, SH_ERR_ARGUMENT, "a recording of 0 s");
    f.config.longest_s = 10.0;
    assert_int_equal(sh_session_add_gap(&f.session, 0, &(struct sh_gap){0, 1}), SH_OK);
    with_lists = f.session;
    expect_refusal(&f, SH_ERR_ARGUMENT, "has anchors or gaps");
    sh_session_close(&with_lists);
    assert_int_equal(sh_timebase_append(&f.session.streams[0].timebase, &anchor), SH_OK);
    with_lists = f.session;
    expect_refusal(&f, SH_ERR_ARGUMENT, "has anchors or gaps");
    sh_session_close(&with_lists);
    end_fixture(&f);
}

static void test_what_does_not_follow_is_refused(void **state)
{
    struct fixture f;
    struct collector got;
    double raw[4] = {1.0, 2.0, 3.0, 4.0};
    const struct sh_anchor anchor = {5, 1.0, 0.1};
    const struct sh_anchor passed = {1, 2.0, 0.1};
    const struct sh_anchor again = {5, 2.0, 0.1};
    start_fixture(&f);
    open_writer(&f);
    struct sh_block block = {0, 0, 2, 1, raw, false};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT); /* again */
    block.first_frame = 3;
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT); /* a hole */
    block = (struct sh_block){0, 2, 2, 2, raw, false};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT);
    block = (struct sh_block){2, 0, 2, 1, raw, false};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT);
    raw[1] = 0.5;
    block = (struct sh_block){0, 2, 2, 1, raw, true};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_session(f.writer)->streams[0].n_gaps, 0);
    assert_int_equal(f.sink.anchor(f.sink.context, 2, &anchor, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(f.sink.anchor(f.sink.context, 0, &passed, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(f.sink.anchor(f.sink.context, 0, &anchor, NULL), SH_OK);
    assert_int_equal(f.sink.anchor(f.sink.context, 0, &again, NULL), SH_ERR_ARGUMENT);
    raw[1] = 2.0;
    block = (struct sh_block){0, 2, 4, 1, raw, false};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    block.n_frames = 0;
    block.first_frame = 6;
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    play(f.folder, &got);
    assert_int_equal(got.streams[0].n_frames, 6);
    assert_near(got.streams[0].raw[5], 4.0, 0.0, 0.0);
    collector_close(&got);
    end_fixture(&f);
}

static enum sh_status set_tag(struct fixture *f, const char *key, const char *value)
{
    struct sh_tag tag = {.key = ""};
    (void)snprintf(tag.key, sizeof tag.key, "%s", key);
    (void)snprintf(tag.value, sizeof tag.value, "%s", value);
    return sh_recording_writer_set_tag(f->writer, &tag, NULL);
}

/* What recording.json holds of a tag; "" where it has none. */
static void read_tag(const struct fixture *f, const char *key, char value[128])
{
    struct sh_session session;
    read_session(f->folder, &session);
    value[0] = '\0';
    for (size_t i = 0; i < session.n_tags; i++) {
        if (strcmp(session.tags[i].key, key) == 0) {
            (void)snprintf(value, 128, "%s", session.tags[i].value);
        }
    }
    sh_session_close(&session);
}

/* Each tag is in recording.json before the call comes back, and later writes keep it. */
static void test_tags_come_while_it_runs(void **state)
{
    struct fixture f;
    char value[128];
    const struct sh_mark note = {.t_s = 1.5, .kind = SH_MARK_NOTE, .text = "later"};
    start_fixture(&f);
    open_writer(&f);
    assert_int_equal(set_tag(&f, "tab", "thick leather"), SH_OK); /* before any sample */
    read_tag(&f, "tab", value);
    assert_string_equal(value, "thick leather");
    assert_int_equal(example_push(&f.sink, 0.0, 2.2, NULL), SH_OK);
    assert_int_equal(set_tag(&f, "tab", "thin"), SH_OK);
    assert_int_equal(set_tag(&f, "wind", "left"), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &note, NULL), SH_OK);
    assert_int_equal(example_push(&f.sink, 2.2, 4.4, NULL), SH_OK);
    read_tag(&f, "tab", value);
    assert_string_equal(value, "thin");
    assert_int_equal(set_tag(&f, "wind", ""), SH_OK);
    read_tag(&f, "wind", value);
    assert_string_equal(value, "");
    assert_int_equal(set_tag(&f, "", "x"), SH_ERR_ARGUMENT);
    assert_int_equal(set_tag(&f, "tab", "\xff"), SH_ERR_FORMAT);
    assert_int_equal(set_tag(&f, "\xff", "x"), SH_ERR_FORMAT);
    for (int i = 1; i < (int)SH_SESSION_TAGS_MAX; i++) {
        (void)snprintf(value, sizeof value, "%d", i);
        assert_int_equal(set_tag(&f, value, "x"), SH_OK);
    }
    assert_int_equal(set_tag(&f, "one more", "x"), SH_ERR_FULL);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    assert_int_equal(set_tag(&f, "tab", "late"), SH_ERR_ARGUMENT);
    read_tag(&f, "tab", value);
    assert_string_equal(value, "thin");
    end_fixture(&f);
}

static void test_a_mark_can_be_taken_back(void **state)
{
    struct fixture f;
    struct sh_session session;
    const struct sh_mark marks[] = {{.t_s = 0.5, .kind = SH_MARK_NOTE, .text = "first"},
                                    {.t_s = 0.6, .kind = SH_MARK_NOTE, .text = "second"},
                                    {.t_s = 0.7, .kind = SH_MARK_NOTE, .text = "third"}};
    start_fixture(&f);
    open_writer(&f);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sh_recording_writer_add_mark(f.writer, &marks[i], NULL), SH_OK);
    }
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 3, NULL), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 1, NULL), SH_OK);
    read_session(f.folder, &session);
    assert_int_equal(session.n_marks, 2);
    assert_string_equal(session.marks[1].text, "third");
    sh_session_close(&session);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 1, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 0, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 0, NULL), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &marks[0], NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 0, NULL), SH_ERR_ARGUMENT);
    read_session(f.folder, &session);
    assert_int_equal(session.n_marks, 1);
    assert_string_equal(session.marks[0].text, "first");
    sh_session_close(&session);
    end_fixture(&f);
}

static void test_nothing_follows_the_end(void **state)
{
    struct fixture f;
    const double raw = 1.0;
    const struct sh_block block = {0, 100, 1, 1, &raw, false};
    const struct sh_anchor anchor = {100, 5.0, 0.1};
    const struct sh_mark mark = {.kind = SH_MARK_NOTE};
    const struct sh_frame_counts counts = {0};
    start_fixture(&f);
    open_writer(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 0.1, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(f.sink.anchor(f.sink.context, 0, &anchor, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &mark, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_set_counts(f.writer, 0, &counts), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_ERR_ARGUMENT);
    end_fixture(&f);
}

static void test_bad_marks_are_not_taken(void **state)
{
    struct fixture f;
    struct sh_session session;
    struct sh_error err = {0};
    const struct sh_mark wrong[] = {{.kind = SH_MARK_NOTE, .text = "\xff"},
                                    {.kind = SH_MARK_NOTE, .t_s = (double)NAN},
                                    {.kind = SH_MARK_OTHER, .kept = 1}};
    static const enum sh_status statuses[] = {SH_ERR_FORMAT, SH_ERR_NOT_FINITE,
                                              SH_ERR_ARGUMENT};
    const struct sh_mark good = {.kind = SH_MARK_NOTE, .text = "good"};
    for (int is_synced = 0; is_synced < 2; is_synced++) {
        start_fixture(&f);
        f.config.is_synced = is_synced != 0;
        open_writer(&f);
        for (size_t i = 0; i < 3; i++) {
            err = (struct sh_error){0};
            assert_int_equal(sh_recording_writer_add_mark(f.writer, &wrong[i], &err),
                             statuses[i]);
            assert_string_equal(err.where, f.folder);
        }
        assert_int_equal(sh_recording_writer_add_mark(f.writer, &good, NULL), SH_OK);
        assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
        read_session(f.folder, &session);
        assert_int_equal(session.n_marks, 1);
        assert_string_equal(session.marks[0].text, "good");
        sh_session_close(&session);
        end_fixture(&f);
    }
}

static void test_wide_counts_are_kept_all_the_same(void **state)
{
    struct fixture f;
    struct collector got;
    const double raw[3] = {5.0, 1e9, -1e9}; /* the range says 24 bits */
    start_fixture(&f);
    open_writer(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 2.0, NULL), SH_OK);
    const struct sh_block block = {0, 2000, 3, 1, raw, false};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, true, NULL), SH_OK);
    play(f.folder, &got);
    assert_int_equal(got.streams[0].n_frames, 2003);
    assert_near(got.streams[0].raw[2001], 1e9, 0.0, 0.0);
    assert_near(got.streams[0].raw[2002], -1e9, 0.0, 0.0);
    assert_true(has_file(&f, "string.wav")); /* FLAC has no 32 bits */
    assert_false(has_file(&f, "string.flac"));
    assert_true(has_file(&f, "bow.flac"));
    collector_close(&got);
    end_fixture(&f);
}

/* In a child: records until_s seconds and a mark, then dies in one of two ways. */
static void record_and_die(struct fixture *f, double until_s, bool is_killed)
{
    const struct sh_mark mark = {.t_s = 2.0, .kind = SH_MARK_NOTE, .text = "last words"};
    open_writer(f);
    if (example_push(&f->sink, 0.0, until_s, NULL) != SH_OK ||
        sh_recording_writer_add_mark(f->writer, &mark, NULL) != SH_OK ||
        set_tag(f, "tab", "last leather") != SH_OK) {
        _exit(1);
    }
    if (is_killed) {
        (void)raise(SIGKILL);
    }
    _exit(0);
}

static void check_survivor(const struct fixture *f, double until_s)
{
    struct collector got;
    struct collector expected;
    struct sh_session session;
    play(f->folder, &got);
    const struct sh_block_sink into = collector_open(&expected);
    assert_int_equal(example_push(&into, 0.0, until_s, NULL), SH_OK);
    for (size_t i = 0; i < 2; i++) {
        const struct collected_stream *a = &got.streams[i];
        const struct collected_stream *b = &expected.streams[i];
        size_t rate = i == 0 ? 1000 : 3200;
        assert_true(a->n_frames <= b->n_frames);
        assert_true(a->n_frames + rate > b->n_frames); /* less than a second is lost */
        assert_memory_equal(a->raw, b->raw, a->n_frames * a->n_channels * sizeof *a->raw);
        assert_memory_equal(a->is_filled, b->is_filled, a->n_frames * sizeof *a->is_filled);
        for (size_t k = 0; k < a->n_anchors; k++) {
            assert_int_equal(a->anchors[k].frame, b->anchors[k].frame);
        }
    }
    read_session(f->folder, &session);
    assert_int_equal(session.n_marks, 1);
    assert_string_equal(session.marks[0].text, "last words");
    assert_int_equal(session.streams[0].timebase.n_anchors, (size_t)ceil(until_s));
    assert_int_equal(session.streams[0].n_gaps, (size_t)ceil(until_s / 3.0));
    sh_session_close(&session);
    collector_close(&got);
    collector_close(&expected);
}

static void test_a_killed_recording_is_readable(void **state)
{
    static const double untils_s[] = {1.0, 3.0, 6.1, 6.9};
    for (size_t i = 0; i < 2 * sizeof untils_s / sizeof untils_s[0]; i++) {
        struct fixture f;
        int result = 0;
        start_fixture(&f);
        pid_t child = fork();
        if (child == 0) {
            record_and_die(&f, untils_s[i / 2], i % 2 == 1);
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(i % 2 == 1 ? WIFSIGNALED(result)
                               : WIFEXITED(result) && WEXITSTATUS(result) == 0);
        check_survivor(&f, untils_s[i / 2]);
        char value[128];
        read_tag(&f, "tab", value);
        assert_string_equal(value, "last leather");
        end_fixture(&f);
    }
}

static void test_closing_without_the_end_is_as_a_kill(void **state)
{
    struct fixture f;
    const struct sh_mark mark = {.t_s = 2.0, .kind = SH_MARK_NOTE, .text = "last words"};
    start_fixture(&f);
    open_writer(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 4.5, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &mark, NULL), SH_OK);
    sh_recording_writer_close(&f.writer);
    check_survivor(&f, 4.5);
    end_fixture(&f);
}

/*
 * In a child whose files may have no more than n_bytes: a full disk. Answers 0 where the
 * failure was told, in the block that met it and at the end.
 */
static int record_on_full_disk(struct fixture *f, rlim_t n_bytes)
{
    const struct rlimit limit = {n_bytes, n_bytes};
    struct sh_error err = {0};
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0 || signal(SIGXFSZ, SIG_IGN) == SIG_ERR) {
        return 1;
    }
    enum sh_status status =
        sh_recording_writer_open(f->folder, &f->session, &f->config, &f->writer, &err);
    if (status != SH_OK) {
        bool is_told = status == SH_ERR_IO && err.status == SH_ERR_IO && f->writer == NULL &&
                       !scratch_exists(f->folder);
        return is_told ? 10 : 2;
    }
    f->sink = sh_recording_writer_sink(f->writer);
    status = example_push(&f->sink, 0.0, 20.0, &err);
    bool is_told = status == SH_ERR_IO && err.status == SH_ERR_IO && err.what[0] != '\0';
    is_told = is_told && sh_recording_writer_finish(f->writer, true, NULL) == SH_ERR_IO;
    sh_recording_writer_close(&f->writer);
    return is_told ? 0 : 3;
}

static void test_a_full_disk_is_told_and_loses_nothing_before(void **state)
{
    /* recording.json takes some 1500 bytes, the bow's file 19,200 a second */
    static const rlim_t limits[] = {30, 900, 3000, 50000};
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        struct fixture f;
        struct collector got;
        struct collector expected;
        int result = 0;
        start_fixture(&f);
        pid_t child = fork();
        if (child == 0) {
            _exit(record_on_full_disk(&f, limits[i]));
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(WIFEXITED(result));
        assert_int_equal(WEXITSTATUS(result), i < 2 ? 10 : 0);
        if (i == 3) {
            play(f.folder, &got);
            const struct sh_block_sink into = collector_open(&expected);
            assert_int_equal(example_push(&into, 0.0, 2.0, NULL), SH_OK);
            assert_true(got.streams[1].n_frames >= 6400);
            assert_memory_equal(got.streams[1].raw, expected.streams[1].raw,
                                sizeof(double) * 3u * 6400u);
            collector_close(&got);
            collector_close(&expected);
        }
        end_fixture(&f);
    }
}

static void test_a_long_stream_is_rf64(void **state)
{
    struct fixture f;
    struct collector got;
    char path[2 * SCRATCH_PATH_BYTES];
    start_fixture(&f);
    f.config.longest_s = 1e6;
    open_writer(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 0.5, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    (void)snprintf(path, sizeof path, "%s/bow.wav", f.folder);
    char *bytes = scratch_read(path, NULL);
    assert_memory_equal(bytes, "RF64", 4); /* 19.2 GB */
    free(bytes);
    (void)snprintf(path, sizeof path, "%s/string.wav", f.folder);
    bytes = scratch_read(path, NULL);
    assert_memory_equal(bytes, "RIFF", 4); /* 3 GB */
    free(bytes);
    play(f.folder, &got);
    assert_int_equal(got.streams[1].n_frames, 1600);
    collector_close(&got);
    end_fixture(&f);
}

static void test_physical_values_stay_exact(void **state)
{
    struct fixture f;
    struct collector got;
    const double raw[3] = {0.1, -1e-300, 178.12345678901234};
    const struct sh_block block = {0, 0, 3, 1, raw, false};
    start_fixture(&f);
    f.session.n_streams = 1;
    f.session.streams[0].stream.channel[0] =
        (struct sh_channel){.role = SH_ROLE_STRING_FORCE, .unit = "N", .is_physical = true};
    open_writer(&f);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, true, NULL), SH_OK);
    play(f.folder, &got);
    assert_int_equal(got.streams[0].n_frames, 3);
    assert_memory_equal(got.streams[0].raw, raw, sizeof raw);
    collector_close(&got);
    end_fixture(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_goes_in_comes_out),
        cmocka_unit_test(test_the_session_comes_back),
        cmocka_unit_test(test_unknown_keys_go_along),
        cmocka_unit_test(test_folders_are_never_overwritten),
        cmocka_unit_test(test_wrong_sessions_are_refused),
        cmocka_unit_test(test_what_does_not_follow_is_refused),
        cmocka_unit_test(test_tags_come_while_it_runs),
        cmocka_unit_test(test_a_mark_can_be_taken_back),
        cmocka_unit_test(test_nothing_follows_the_end),
        cmocka_unit_test(test_bad_marks_are_not_taken),
        cmocka_unit_test(test_wide_counts_are_kept_all_the_same),
        cmocka_unit_test(test_a_killed_recording_is_readable),
        cmocka_unit_test(test_closing_without_the_end_is_as_a_kill),
        cmocka_unit_test(test_a_full_disk_is_told_and_loses_nothing_before),
        cmocka_unit_test(test_a_long_stream_is_rf64),
        cmocka_unit_test(test_physical_values_stay_exact),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
