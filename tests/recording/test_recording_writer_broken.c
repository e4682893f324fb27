/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is left of a recording broken off by a kill, without its end or by a full disk. */
#include <math.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "recording/example.h"
#include "recording/written.h"
#include "support/cmocka_all.h"

/* In a child: records until_s seconds and a mark, then dies in one of two ways. */
static void record_and_die(struct written *f, double until_s, bool is_killed)
{
    const struct sh_mark mark = {.t_s = 2.0, .kind = SH_MARK_NOTE, .text = "last words"};
    written_open(f);
    if (example_push(&f->sink, 0.0, until_s, NULL) != SH_OK ||
        sh_recording_writer_add_mark(f->writer, &mark, NULL) != SH_OK ||
        written_set_tag(f, "tab", "last leather") != SH_OK) {
        _exit(1);
    }
    if (is_killed) {
        (void)raise(SIGKILL);
    }
    _exit(0);
}

static void check_survivor(const struct written *f, double until_s)
{
    struct collector got;
    struct collector expected;
    struct sh_session session;
    written_play(f, &got);
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
    written_read_session(f, &session);
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
        struct written f;
        int result = 0;
        written_start(&f);
        pid_t child = fork();
        if (child == 0) {
            record_and_die(&f, untils_s[i / 2], i % 2 == 1);
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(i % 2 == 1 ? WIFSIGNALED(result)
                               : WIFEXITED(result) && WEXITSTATUS(result) == 0);
        check_survivor(&f, untils_s[i / 2]);
        char value[WRITTEN_TAG_BYTES];
        written_read_tag(&f, "tab", value);
        assert_string_equal(value, "last leather");
        written_close(&f);
    }
}

static void test_closing_without_the_end_is_as_a_kill(void **state)
{
    struct written f;
    const struct sh_mark mark = {.t_s = 2.0, .kind = SH_MARK_NOTE, .text = "last words"};
    written_start(&f);
    written_open(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 4.5, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &mark, NULL), SH_OK);
    sh_recording_writer_close(&f.writer);
    check_survivor(&f, 4.5);
    written_close(&f);
}

/*
 * In a child whose files may have no more than n_bytes: a full disk. Answers 0 where the
 * failure was told, in the block that met it and at the end.
 */
static int record_on_full_disk(struct written *f, rlim_t n_bytes)
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
        struct written f;
        struct collector got;
        struct collector expected;
        int result = 0;
        written_start(&f);
        pid_t child = fork();
        if (child == 0) {
            _exit(record_on_full_disk(&f, limits[i]));
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(WIFEXITED(result));
        assert_int_equal(WEXITSTATUS(result), i < 2 ? 10 : 0);
        if (i == 3) {
            written_play(&f, &got);
            const struct sh_block_sink into = collector_open(&expected);
            assert_int_equal(example_push(&into, 0.0, 2.0, NULL), SH_OK);
            assert_true(got.streams[1].n_frames >= 6400);
            assert_memory_equal(got.streams[1].raw, expected.streams[1].raw,
                                sizeof(double) * 3u * 6400u);
            collector_close(&got);
            collector_close(&expected);
        }
        written_close(&f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_killed_recording_is_readable),
        cmocka_unit_test(test_closing_without_the_end_is_as_a_kill),
        cmocka_unit_test(test_a_full_disk_is_told_and_loses_nothing_before),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
