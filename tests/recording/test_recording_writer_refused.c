/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a recording's writer does not take. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "recording/example.h"
#include "recording/written.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void test_folders_are_never_overwritten(void **state)
{
    struct written f;
    struct sh_error err = {0};
    written_start(&f);
    assert_int_equal(mkdir(f.folder, 0777), 0);
    assert_int_equal(sh_recording_writer_open(f.folder, &f.session, &f.config, &f.writer, &err),
                     SH_ERR_EXISTS);
    assert_string_equal(err.where, f.folder);
    assert_false(written_has_file(&f, SH_SESSION_JSON_FILE));
    assert_true(scratch_exists(f.folder));
    written_close(&f);
}

/* Opening must be refused, and no folder be left. */
static void expect_refusal(struct written *f, enum sh_status status, const char *what)
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
    struct written f;
    const struct sh_anchor anchor = {0, 0.0, 0.0};
    struct sh_session with_lists;
    written_start(&f);
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
    written_close(&f);
}

static void test_what_does_not_follow_is_refused(void **state)
{
    struct written f;
    struct collector got;
    double raw[4] = {1.0, 2.0, 3.0, 4.0};
    const struct sh_anchor anchor = {5, 1.0, 0.1};
    const struct sh_anchor passed = {1, 2.0, 0.1};
    const struct sh_anchor again = {5, 2.0, 0.1};
    written_start(&f);
    written_open(&f);
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
    written_play(&f, &got);
    assert_int_equal(got.streams[0].n_frames, 6);
    assert_near(got.streams[0].raw[5], 4.0, 0.0, 0.0);
    collector_close(&got);
    written_close(&f);
}

static void test_nothing_follows_the_end(void **state)
{
    struct written f;
    const double raw = 1.0;
    const struct sh_block block = {0, 100, 1, 1, &raw, false};
    const struct sh_anchor anchor = {100, 5.0, 0.1};
    const struct sh_mark mark = {.kind = SH_MARK_NOTE};
    const struct sh_frame_counts counts = {0};
    written_start(&f);
    written_open(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 0.1, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(f.sink.anchor(f.sink.context, 0, &anchor, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &mark, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_set_counts(f.writer, 0, &counts), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_ERR_ARGUMENT);
    written_close(&f);
}

static void test_bad_marks_are_not_taken(void **state)
{
    struct written f;
    struct sh_session session;
    struct sh_error err = {0};
    const struct sh_mark wrong[] = {{.kind = SH_MARK_NOTE, .text = "\xff"},
                                    {.kind = SH_MARK_NOTE, .t_s = (double)NAN},
                                    {.kind = SH_MARK_OTHER, .kept = 1}};
    static const enum sh_status statuses[] = {SH_ERR_FORMAT, SH_ERR_NOT_FINITE,
                                              SH_ERR_ARGUMENT};
    const struct sh_mark good = {.kind = SH_MARK_NOTE, .text = "good"};
    for (int is_synced = 0; is_synced < 2; is_synced++) {
        written_start(&f);
        f.config.is_synced = is_synced != 0;
        written_open(&f);
        for (size_t i = 0; i < 3; i++) {
            err = (struct sh_error){0};
            assert_int_equal(sh_recording_writer_add_mark(f.writer, &wrong[i], &err),
                             statuses[i]);
            assert_string_equal(err.where, f.folder);
        }
        assert_int_equal(sh_recording_writer_add_mark(f.writer, &good, NULL), SH_OK);
        assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
        written_read_session(&f, &session);
        assert_int_equal(session.n_marks, 1);
        assert_string_equal(session.marks[0].text, "good");
        sh_session_close(&session);
        written_close(&f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_folders_are_never_overwritten),
        cmocka_unit_test(test_wrong_sessions_are_refused),
        cmocka_unit_test(test_what_does_not_follow_is_refused),
        cmocka_unit_test(test_nothing_follows_the_end),
        cmocka_unit_test(test_bad_marks_are_not_taken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
