/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_flac.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "recording/collector.h"
#include "recording/example.h"
#include "recording/recording_writer.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"

struct fixture {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_session session;
    struct sh_session_json *kept;
};

/* A recording of 3 s, ended cleanly; with the changes the caller made to the session. */
static void record(struct fixture *f, const struct sh_session *session, double until_s)
{
    struct sh_recording_writer *writer = NULL;
    const struct sh_recording_writer_config config = sh_recording_writer_config_default();
    scratch_open(&f->scratch);
    scratch_path(&f->scratch, "a", f->folder);
    assert_int_equal(sh_recording_writer_open(f->folder, session, &config, &writer, NULL),
                     SH_OK);
    const struct sh_block_sink sink = sh_recording_writer_sink(writer);
    assert_int_equal(example_push(&sink, 0.0, until_s, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(writer, false, NULL), SH_OK);
    sh_recording_writer_close(&writer);
    f->session = (struct sh_session){0};
    f->kept = NULL;
    assert_int_equal(sh_session_json_read(f->folder, &f->session, &f->kept, NULL), SH_OK);
}

static void close_fixture(struct fixture *f)
{
    sh_session_close(&f->session);
    sh_session_json_close(&f->kept);
    scratch_close(&f->scratch);
}

static void
get_path(const struct fixture *f, const char *name, char path[2 * SCRATCH_PATH_BYTES])
{
    (void)snprintf(path, (size_t)2 * SCRATCH_PATH_BYTES, "%s/%s", f->folder, name);
}

static bool has_file(const struct fixture *f, const char *name)
{
    char path[2 * SCRATCH_PATH_BYTES];
    get_path(f, name, path);
    return scratch_exists(path);
}

/* Whatever became of the files, the recording must be whole. */
static void check_whole(const struct fixture *f, double until_s)
{
    struct collector got;
    struct collector expected;
    const struct sh_block_sink into = collector_open(&expected);
    assert_int_equal(collector_read(&got, f->folder, NULL, NULL), SH_OK);
    assert_int_equal(example_push(&into, 0.0, until_s, NULL), SH_OK);
    collector_check_same(&got, &expected);
    collector_close(&got);
    collector_close(&expected);
}

static void test_files_become_flac(void **state)
{
    struct fixture f;
    struct sh_session session;
    example_open(&session);
    record(&f, &session, 3.0);
    assert_int_equal(sh_recording_flac_convert(f.folder, &f.session, f.kept, NULL), SH_OK);
    assert_string_equal(f.session.streams[0].file, "string.flac");
    assert_false(has_file(&f, "string.wav"));
    assert_false(has_file(&f, "bow.wav"));
    check_whole(&f, 3.0);
    /* a second time there is nothing left to do */
    assert_int_equal(sh_recording_flac_convert(f.folder, &f.session, f.kept, NULL), SH_OK);
    check_whole(&f, 3.0);
    close_fixture(&f);
}

static void test_what_flac_cannot_hold_stays(void **state)
{
    struct fixture f;
    struct sh_session session;
    example_open(&session);
    session.streams[0].stream.channel[0].has_range = false; /* 32 bits */
    record(&f, &session, 3.0);
    assert_int_equal(sh_recording_flac_convert(f.folder, &f.session, f.kept, NULL), SH_OK);
    assert_string_equal(f.session.streams[0].file, "string.wav");
    assert_string_equal(f.session.streams[1].file, "bow.flac");
    assert_true(has_file(&f, "string.wav"));
    assert_false(has_file(&f, "string.flac"));
    check_whole(&f, 3.0);
    close_fixture(&f);
}

static void test_streams_without_frames_stay(void **state)
{
    struct fixture f;
    struct sh_session session;
    example_open(&session);
    record(&f, &session, 0.0);
    assert_int_equal(sh_recording_flac_convert(f.folder, &f.session, f.kept, NULL), SH_OK);
    assert_true(has_file(&f, "string.wav"));
    assert_false(has_file(&f, "string.flac"));
    close_fixture(&f);
}

static void test_a_name_that_is_taken_changes_nothing(void **state)
{
    struct fixture f;
    struct sh_session session;
    struct sh_error err = {0};
    char path[2 * SCRATCH_PATH_BYTES];
    example_open(&session);
    record(&f, &session, 3.0);
    get_path(&f, "bow.flac", path);
    scratch_write(path, "mine", 4);
    assert_int_equal(sh_recording_flac_convert(f.folder, &f.session, f.kept, &err),
                     SH_ERR_EXISTS);
    assert_string_equal(err.where, path);
    assert_string_equal(f.session.streams[0].file, "string.wav");
    assert_false(has_file(&f, "string.flac")); /* the first stream's copy is gone again */
    char *text = scratch_read(path, NULL);
    assert_string_equal(text, "mine");
    free(text);
    check_whole(&f, 3.0);
    close_fixture(&f);
}

static void test_a_missing_file_is_told(void **state)
{
    struct fixture f;
    struct sh_session session;
    struct sh_error err = {0};
    char path[2 * SCRATCH_PATH_BYTES];
    example_open(&session);
    record(&f, &session, 3.0);
    get_path(&f, "bow.wav", path);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(sh_recording_flac_convert(f.folder, &f.session, f.kept, &err),
                     SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, path);
    assert_true(has_file(&f, "string.wav"));
    assert_false(has_file(&f, "string.flac"));
    close_fixture(&f);
}

/* In a child whose files may have no more than n_bytes. */
static int convert_on_full_disk(struct fixture *f, rlim_t n_bytes)
{
    const struct rlimit limit = {n_bytes, n_bytes};
    struct sh_error err = {0};
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0 || signal(SIGXFSZ, SIG_IGN) == SIG_ERR) {
        return 1;
    }
    enum sh_status status = sh_recording_flac_convert(f->folder, &f->session, f->kept, &err);
    bool is_told = status != SH_OK && err.status == status &&
                   strcmp(f->session.streams[0].file, "string.wav") == 0;
    return is_told ? 0 : 2;
}

static void test_a_full_disk_leaves_all_as_it_was(void **state)
{
    /* none, part of the first copy, nearly all of the larger copy */
    static const rlim_t limits[] = {0, 2000, 5000};
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        struct fixture f;
        struct sh_session session;
        int result = 0;
        example_open(&session);
        record(&f, &session, 3.0);
        pid_t child = fork();
        if (child == 0) {
            _exit(convert_on_full_disk(&f, limits[i]));
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(WIFEXITED(result));
        assert_int_equal(WEXITSTATUS(result), 0);
        assert_false(has_file(&f, "string.flac"));
        assert_false(has_file(&f, "bow.flac"));
        check_whole(&f, 3.0);
        close_fixture(&f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_files_become_flac),
        cmocka_unit_test(test_what_flac_cannot_hold_stays),
        cmocka_unit_test(test_streams_without_frames_stay),
        cmocka_unit_test(test_a_name_that_is_taken_changes_nothing),
        cmocka_unit_test(test_a_missing_file_is_told),
        cmocka_unit_test(test_a_full_disk_leaves_all_as_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
