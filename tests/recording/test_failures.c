/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <fcntl.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#include "recording/collector.h"
#include "recording/example.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"

/*
 * A recording made and played with each call to the system or to libsndfile failing in turn:
 * each is told, and what is left plays as far as it goes.
 */

/* The linker sends the stage's calls here (--wrap); the count-down is the test's own state. */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static size_t n_left;
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static bool is_counting;
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static const char *failed_call;

int __real_open(const char *path, int flags, ...);
int __real_close(int file);
int __real_fsync(int file);
ssize_t __real_write(int file, const void *bytes, size_t n_bytes);
ssize_t __real_read(int file, void *bytes, size_t n_bytes);
int __real_rename(const char *from, const char *to);
int __real_mkdir(const char *path, mode_t mode);
int __real_fstat(int file, struct stat *about);
SNDFILE *__real_sf_open_fd(int file, int mode, SF_INFO *info, int closes);
int __real_sf_close(SNDFILE *file);
sf_count_t __real_sf_writef_int(SNDFILE *file, const int *values, sf_count_t n_frames);
sf_count_t __real_sf_readf_double(SNDFILE *file, double *values, sf_count_t n_frames);
int __wrap_open(const char *path, int flags, ...);
int __wrap_close(int file);
int __wrap_fsync(int file);
ssize_t __wrap_write(int file, const void *bytes, size_t n_bytes);
ssize_t __wrap_read(int file, void *bytes, size_t n_bytes);
int __wrap_rename(const char *from, const char *to);
int __wrap_mkdir(const char *path, mode_t mode);
int __wrap_fstat(int file, struct stat *about);
SNDFILE *__wrap_sf_open_fd(int file, int mode, SF_INFO *info, int closes);
int __wrap_sf_close(SNDFILE *file);
sf_count_t __wrap_sf_writef_int(SNDFILE *file, const int *values, sf_count_t n_frames);
sf_count_t __wrap_sf_readf_double(SNDFILE *file, double *values, sf_count_t n_frames);

static bool fails_now(const char *call)
{
    if (!is_counting || n_left-- > 0) {
        return false;
    }
    is_counting = false;
    failed_call = call;
    errno = EIO;
    return true;
}

int __wrap_open(const char *path, int flags, ...)
{
    /* whoever makes a file here makes it for all, less the process's mask */
    return fails_now("open") ? -1 : __real_open(path, flags, 0666);
}

int __wrap_close(int file)
{
    int answer = __real_close(file);
    return fails_now("close") ? -1 : answer;
}

int __wrap_fsync(int file)
{
    return fails_now("fsync") ? -1 : __real_fsync(file);
}

ssize_t __wrap_write(int file, const void *bytes, size_t n_bytes)
{
    return fails_now("write") ? -1 : __real_write(file, bytes, n_bytes);
}

ssize_t __wrap_read(int file, void *bytes, size_t n_bytes)
{
    return fails_now("read") ? -1 : __real_read(file, bytes, n_bytes);
}

int __wrap_rename(const char *from, const char *to)
{
    return fails_now("rename") ? -1 : __real_rename(from, to);
}

int __wrap_mkdir(const char *path, mode_t mode)
{
    return fails_now("mkdir") ? -1 : __real_mkdir(path, mode);
}

int __wrap_fstat(int file, struct stat *about)
{
    return fails_now("fstat") ? -1 : __real_fstat(file, about);
}

SNDFILE *__wrap_sf_open_fd(int file, int mode, SF_INFO *info, int closes)
{
    return fails_now("sf_open_fd") ? NULL : __real_sf_open_fd(file, mode, info, closes);
}

int __wrap_sf_close(SNDFILE *file)
{
    int answer = __real_sf_close(file);
    return fails_now("sf_close") ? SF_ERR_SYSTEM : answer;
}

sf_count_t __wrap_sf_writef_int(SNDFILE *file, const int *values, sf_count_t n_frames)
{
    return fails_now("sf_writef_int") ? 0 : __real_sf_writef_int(file, values, n_frames);
}

/* Half of what was asked for: a file that ends too early. */
sf_count_t __wrap_sf_readf_double(SNDFILE *file, double *values, sf_count_t n_frames)
{
    sf_count_t n = __real_sf_readf_double(file, values, n_frames);
    return n > 0 && fails_now("sf_readf_double") ? n / 2 : n;
}

/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

/* What a failed recording left must be playable, and as far as it goes the same. */
static void check_left(const char *folder, const struct collector *expected)
{
    struct collector got;
    struct sh_error err = {0};
    enum sh_status status = collector_read(&got, folder, NULL, &err);
    if (status != SH_OK && status != SH_ERR_SHORT) {
        fail_msg("after a failed %s: %s: %s", failed_call, err.where, err.what);
    }
    for (size_t i = 0; i < 2; i++) {
        const struct collected_stream *a = &got.streams[i];
        const struct collected_stream *b = &expected->streams[i];
        assert_true(a->n_frames <= b->n_frames);
        if (a->n_frames > 0) {
            assert_memory_equal(a->raw, b->raw, a->n_frames * a->n_channels * sizeof *a->raw);
        }
    }
    collector_close(&got);
}

/* Starts to count; the call after n_before others fails. */
static void arm(size_t n_before)
{
    n_left = n_before;
    is_counting = true;
}

/* Stops counting; true where a call has failed. It must have been told. */
static bool disarm(enum sh_status status, const struct sh_error *err)
{
    bool was_hit = !is_counting;
    is_counting = false;
    assert_int_equal(err->status, status);
    assert_true(status == SH_OK || err->where[0] != '\0');
    /* only closing what was read, or is being given up, may fail unnoticed */
    bool may_be_silent =
        !was_hit || strcmp(failed_call, "close") == 0 || strcmp(failed_call, "sf_close") == 0;
    if (status == SH_OK && !may_be_silent) {
        fail_msg("a failed %s was not told", failed_call);
    }
    return was_hit;
}

/* Records with the call after n_before others failing; true where there was one. */
static bool record_with_failure(size_t n_before, const struct collector *expected)
{
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, "a", folder);
    arm(n_before);
    enum sh_status status = example_record(folder, true, &err);
    bool was_hit = disarm(status, &err);
    if (scratch_exists(folder)) {
        check_left(folder, expected);
    }
    scratch_close(&scratch);
    return was_hit;
}

static bool play_with_failure(size_t n_before, const char *folder)
{
    struct collector collector;
    struct sh_error err = {0};
    arm(n_before);
    enum sh_status status = collector_read(&collector, folder, NULL, &err);
    collector_close(&collector);
    return disarm(status, &err);
}

static void test_each_failure_is_told(void **state)
{
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct collector expected;
    size_t n_recording = 0;
    size_t n_playing = 0;
    scratch_open(&scratch);
    scratch_path(&scratch, "a", folder);
    assert_int_equal(example_record(folder, true, NULL), SH_OK);
    assert_int_equal(collector_read(&expected, folder, NULL, NULL), SH_OK);
    assert_int_equal(expected.streams[0].n_frames, 1101);
    while (record_with_failure(n_recording, &expected)) {
        n_recording++;
    }
    while (play_with_failure(n_playing, folder)) {
        n_playing++;
    }
    print_message("%zu calls failed in turn recording, %zu playing\n", n_recording, n_playing);
    assert_true(n_recording > 100);
    assert_true(n_playing > 30);
    collector_close(&expected);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_failure_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
