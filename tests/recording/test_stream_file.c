/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/stream_file.h"

#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "recording/audio_reader.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define DAY_S 86400.0

struct fixture {
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_stream_file *file;
};

static void open_fixture(struct fixture *f, unsigned bits)
{
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, bits, 1, 100.0};
    f->file = NULL;
    scratch_open(&f->scratch);
    scratch_path(&f->scratch, "a.wav", f->path);
    assert_int_equal(sh_stream_file_open(f->path, &config, DAY_S, &f->file, NULL), SH_OK);
}

static void close_fixture(struct fixture *f)
{
    sh_stream_file_close(&f->file);
    assert_null(f->file);
    sh_stream_file_close(&f->file);
    scratch_close(&f->scratch);
}

/* The file must hold n samples 0, 1, 2 ... of those bits, but for the one at odd_frame. */
static void
check_samples(const char *path, size_t n, unsigned bits, size_t odd_frame, double odd)
{
    struct sh_audio_reader *reader = NULL;
    double *raw = calloc(n + 1, sizeof *raw);
    size_t n_read = 0;
    assert_non_null(raw);
    assert_int_equal(sh_audio_reader_open(path, 1, 100.0, &reader, NULL), SH_OK);
    assert_int_equal(sh_audio_reader_bits(reader), bits);
    assert_int_equal(sh_audio_reader_read(reader, raw, n + 1, &n_read, NULL), SH_OK);
    assert_int_equal(n_read, n);
    for (size_t i = 0; i < n; i++) {
        assert_near(raw[i], i == odd_frame ? odd : (double)i, 0.0, 0.0);
    }
    sh_audio_reader_close(&reader);
    free(raw);
}

static void write_counting(struct sh_stream_file *file, size_t from, size_t n)
{
    for (size_t i = from; i < from + n; i++) {
        const double sample = (double)i;
        assert_int_equal(sh_stream_file_check(file, &sample, 1, NULL), SH_OK);
        assert_int_equal(sh_stream_file_write(file, &sample, 1, NULL), SH_OK);
    }
}

static void test_a_wide_count_widens_the_file(void **state)
{
    static const size_t odd_frames[] = {0, 1, 20000};
    for (size_t i = 0; i < sizeof odd_frames / sizeof odd_frames[0]; i++) {
        struct fixture f;
        char new_path[SCRATCH_PATH_BYTES];
        size_t odd_frame = odd_frames[i];
        const double wide = -2147483648.0;
        open_fixture(&f, 16);
        write_counting(f.file, 0, odd_frame);
        assert_int_equal(sh_stream_file_check(f.file, &wide, 1, NULL), SH_OK);
        assert_int_equal(sh_stream_file_write(f.file, &wide, 1, NULL), SH_OK);
        write_counting(f.file, odd_frame + 1, 30);
        assert_int_equal(sh_stream_file_n_frames(f.file), odd_frame + 31);
        assert_int_equal(sh_stream_file_finish(f.file, NULL), SH_OK);
        check_samples(f.path, odd_frame + 31, 32, odd_frame, wide);
        scratch_path(&f.scratch, "a.wav.new", new_path);
        assert_false(scratch_exists(new_path));
        close_fixture(&f);
    }
}

static void test_what_no_file_holds_is_refused(void **state)
{
    struct fixture f;
    struct sh_error err = {0};
    const double wrong[3] = {2147483648.0, 0.5, (double)NAN};
    const double infinite = (double)INFINITY;
    const double broken = 0.5;
    open_fixture(&f, 16);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sh_stream_file_check(f.file, &wrong[i], 1, &err), SH_ERR_ARGUMENT);
    }
    assert_string_equal(err.what, "a sample is no 32-bit count");
    write_counting(f.file, 0, 3);
    assert_int_equal(sh_stream_file_finish(f.file, NULL), SH_OK);
    check_samples(f.path, 3, 16, SIZE_MAX, 0.0);
    close_fixture(&f);
    open_fixture(&f, 0);
    err = (struct sh_error){0};
    assert_int_equal(sh_stream_file_check(f.file, &infinite, 1, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.what, "a sample is not finite");
    assert_int_equal(sh_stream_file_check(f.file, &broken, 1, NULL), SH_OK);
    close_fixture(&f);
}

static void test_a_sync_is_due_each_second(void **state)
{
    struct fixture f;
    open_fixture(&f, 16);
    assert_false(sh_stream_file_is_due(f.file));
    write_counting(f.file, 0, 99);
    assert_false(sh_stream_file_is_due(f.file));
    write_counting(f.file, 99, 1);
    assert_true(sh_stream_file_is_due(f.file));
    assert_int_equal(sh_stream_file_sync(f.file, NULL), SH_OK);
    assert_false(sh_stream_file_is_due(f.file));
    check_samples(f.path, 100, 16, SIZE_MAX, 0.0); /* while it is still being written */
    close_fixture(&f);
}

static void test_nothing_follows_the_end(void **state)
{
    struct fixture f;
    struct sh_error err = {0};
    const double sample = 1.0;
    open_fixture(&f, 16);
    write_counting(f.file, 0, 5);
    assert_int_equal(sh_stream_file_finish(f.file, NULL), SH_OK);
    assert_int_equal(sh_stream_file_write(f.file, &sample, 1, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.what, "the file has ended");
    assert_int_equal(sh_stream_file_check(f.file, &sample, 1, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_stream_file_sync(f.file, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_stream_file_finish(f.file, NULL), SH_ERR_ARGUMENT);
    close_fixture(&f);
}

static void test_failures_of_opening_come_back(void **state)
{
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 1, 100.0};
    struct sh_stream_file *file = NULL;
    char path[5000];
    memset(path, 'a', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    assert_int_equal(sh_stream_file_open("/nowhere/a.wav", &config, DAY_S, &file, NULL),
                     SH_ERR_NOT_FOUND);
    assert_int_equal(sh_stream_file_open(path, &config, DAY_S, &file, NULL), SH_ERR_ARGUMENT);
    assert_null(file);
}

/*
 * In a child, whose files may have 20,000 bytes: the file fills up, or is widened when it is
 * nearly full. What was written before must stay, and the failure must come back each time.
 */
static int fill_disk(const char *path, bool is_widened)
{
    const struct rlimit limit = {20000, 20000};
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 1, 100.0};
    struct sh_stream_file *file = NULL;
    struct sh_error err = {0};
    struct sh_error again = {0};
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0 || signal(SIGXFSZ, SIG_IGN) == SIG_ERR ||
        sh_stream_file_open(path, &config, DAY_S, &file, NULL) != SH_OK) {
        return 1;
    }
    enum sh_status status = SH_OK;
    for (int i = 0; i < 20000 && status == SH_OK; i++) {
        const double sample = is_widened && i == 9000 ? 1e6 : (double)i;
        status = sh_stream_file_write(file, &sample, 1, &err);
        if (status == SH_OK && sh_stream_file_is_due(file)) {
            status = sh_stream_file_sync(file, &err);
        }
    }
    const double sample = 1.0;
    bool is_told = status == SH_ERR_IO && err.status == SH_ERR_IO &&
                   sh_stream_file_write(file, &sample, 1, &again) == SH_ERR_IO &&
                   strcmp(again.what, err.what) == 0 &&
                   sh_stream_file_finish(file, NULL) == SH_ERR_IO;
    sh_stream_file_close(&file);
    return is_told ? 0 : 2;
}

static void test_a_full_disk_stops_the_file(void **state)
{
    for (int is_widened = 0; is_widened < 2; is_widened++) {
        struct scratch scratch;
        char path[SCRATCH_PATH_BYTES];
        char new_path[SCRATCH_PATH_BYTES];
        struct sh_audio_reader *reader = NULL;
        double raw[20000];
        size_t n = 0;
        int result = 0;
        scratch_open(&scratch);
        scratch_path(&scratch, "a.wav", path);
        scratch_path(&scratch, "a.wav.new", new_path);
        pid_t child = fork();
        if (child == 0) {
            _exit(fill_disk(path, is_widened != 0));
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(WIFEXITED(result));
        assert_int_equal(WEXITSTATUS(result), 0);
        assert_false(scratch_exists(new_path));
        assert_int_equal(sh_audio_reader_open(path, 1, 100.0, &reader, NULL), SH_OK);
        assert_int_equal(sh_audio_reader_read(reader, raw, 20000, &n, NULL), SH_OK);
        assert_in_range(n, 8900, is_widened != 0 ? 9000 : 9980);
        for (size_t i = 0; i < n; i++) {
            assert_near(raw[i], (double)i, 0.0, 0.0);
        }
        sh_audio_reader_close(&reader);
        scratch_close(&scratch);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_wide_count_widens_the_file),
        cmocka_unit_test(test_what_no_file_holds_is_refused),
        cmocka_unit_test(test_a_sync_is_due_each_second),
        cmocka_unit_test(test_nothing_follows_the_end),
        cmocka_unit_test(test_failures_of_opening_come_back),
        cmocka_unit_test(test_a_full_disk_stops_the_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
