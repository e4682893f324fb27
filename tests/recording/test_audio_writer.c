/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_writer.h"

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

#define N_FRAMES   10000u
#define N_CHANNELS 3u

/* Counts that reach both ends of their bits; for 0 bits, fractions. */
static void fill(unsigned bits, double *raw, size_t n_values)
{
    double top = ldexp(1.0, (int)bits - 1) - 1.0;
    for (size_t i = 0; i < n_values; i++) {
        raw[i] = bits > 0 ? fmod((double)i * 7919.0, 2.0 * top) - top : (double)i / 3.0;
    }
    raw[0] = bits > 0 ? -top - 1.0 : -1e300;
    raw[1] = bits > 0 ? top : 5e-324;
}

static void check_file(const char *path, const double *raw, double rate_hz)
{
    struct sh_audio_reader *reader = NULL;
    double *got = calloc((size_t)N_FRAMES * N_CHANNELS + 1, sizeof *got);
    size_t n = 0;
    assert_non_null(got);
    assert_int_equal(sh_audio_reader_open(path, N_CHANNELS, rate_hz, &reader, NULL), SH_OK);
    assert_int_equal(sh_audio_reader_read(reader, got, N_FRAMES, &n, NULL), SH_OK);
    assert_int_equal(n, N_FRAMES);
    assert_memory_equal(got, raw, (size_t)N_FRAMES * N_CHANNELS * sizeof *got);
    assert_int_equal(sh_audio_reader_read(reader, got, N_FRAMES, &n, NULL), SH_OK);
    assert_int_equal(n, 0);
    sh_audio_reader_close(&reader);
    free(got);
}

static void test_samples_come_back_unaltered(void **state)
{
    static const struct sh_audio_writer_config configs[] = {
        {SH_AUDIO_WAV, 16, N_CHANNELS, 1000.0},   {SH_AUDIO_WAV, 24, N_CHANNELS, 999.6},
        {SH_AUDIO_WAV, 32, N_CHANNELS, 0.25},     {SH_AUDIO_WAV, 0, N_CHANNELS, 1000.0},
        {SH_AUDIO_RF64, 16, N_CHANNELS, 1000.0},  {SH_AUDIO_RF64, 32, N_CHANNELS, 25600.0},
        {SH_AUDIO_RF64, 0, N_CHANNELS, 1000.0},   {SH_AUDIO_FLAC, 16, N_CHANNELS, 1000.0},
        {SH_AUDIO_FLAC, 24, N_CHANNELS, 65535.0}, {SH_AUDIO_FLAC, 16, N_CHANNELS, 655350.0},
    };
    double *raw = calloc((size_t)N_FRAMES * N_CHANNELS, sizeof *raw);
    assert_non_null(raw);
    for (size_t i = 0; i < sizeof configs / sizeof configs[0]; i++) {
        struct scratch scratch;
        char path[SCRATCH_PATH_BYTES];
        struct sh_audio_writer *writer = NULL;
        scratch_open(&scratch);
        scratch_path(&scratch, "a", path);
        fill(configs[i].bits, raw, (size_t)N_FRAMES * N_CHANNELS);
        assert_int_equal(sh_audio_writer_open(path, &configs[i], &writer, NULL), SH_OK);
        assert_int_equal(sh_audio_writer_write(writer, raw, 7, NULL), SH_OK);
        assert_int_equal(
            sh_audio_writer_write(writer, raw + (size_t)7 * N_CHANNELS, N_FRAMES - 7, NULL),
            SH_OK);
        assert_int_equal(sh_audio_writer_n_frames(writer), N_FRAMES);
        assert_int_equal(sh_audio_writer_finish(writer, NULL), SH_OK);
        sh_audio_writer_close(&writer);
        assert_null(writer);
        check_file(path, raw, configs[i].rate_hz);
        scratch_close(&scratch);
    }
    free(raw);
}

static bool holds(const char *bytes, size_t n_bytes, const char *name)
{
    for (size_t i = 0; i + 4 <= n_bytes; i++) {
        if (memcmp(bytes + i, name, 4) == 0) {
            return true;
        }
    }
    return false;
}

static void test_the_same_samples_give_the_same_bytes(void **state)
{
    struct scratch scratch;
    static const char *const names[] = {"a", "b"};
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 0, 1, 10.0};
    const double raw[3] = {1.5, -2.25, 1e-9};
    char *bytes[2];
    size_t n_bytes[2];
    scratch_open(&scratch);
    for (size_t i = 0; i < 2; i++) {
        char path[SCRATCH_PATH_BYTES];
        struct sh_audio_writer *writer = NULL;
        scratch_path(&scratch, names[i], path);
        assert_int_equal(sh_audio_writer_open(path, &config, &writer, NULL), SH_OK);
        assert_int_equal(sh_audio_writer_write(writer, raw, 3, NULL), SH_OK);
        sh_audio_writer_close(&writer);
        bytes[i] = scratch_read(path, &n_bytes[i]);
        assert_false(holds(bytes[i], n_bytes[i], "PEAK")); /* it would hold the time */
    }
    assert_int_equal(n_bytes[0], n_bytes[1]);
    assert_memory_equal(bytes[0], bytes[1], n_bytes[0]);
    free(bytes[0]);
    free(bytes[1]);
    scratch_close(&scratch);
}

static void test_limits_of_the_bits_are_kept(void **state)
{
    const double inside16[2] = {-32768.0, 32767.0};
    const double over16 = 32768.0;
    const double under16 = -32769.0;
    const double over32 = 2147483648.0;
    const double broken = 0.5;
    const double infinite = (double)INFINITY;
    const double none = (double)NAN;
    assert_true(sh_audio_writer_fits(16, inside16, 2));
    assert_false(sh_audio_writer_fits(16, &over16, 1));
    assert_false(sh_audio_writer_fits(16, &under16, 1));
    assert_true(sh_audio_writer_fits(24, &over16, 1));
    assert_false(sh_audio_writer_fits(32, &over32, 1));
    assert_false(sh_audio_writer_fits(32, &broken, 1));
    assert_false(sh_audio_writer_fits(32, &infinite, 1));
    assert_false(sh_audio_writer_fits(32, &none, 1));
    assert_true(sh_audio_writer_fits(0, &broken, 1));
    assert_false(sh_audio_writer_fits(0, &infinite, 1));
    assert_false(sh_audio_writer_fits(0, &none, 1));
}

static void test_what_does_not_fit_is_refused(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_audio_writer *writer = NULL;
    struct sh_error err = {0};
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 1, 10.0};
    const double raw[2] = {1.0, 40000.0};
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    assert_int_equal(sh_audio_writer_open(path, &config, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, raw, 2, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.what, "a sample is no count of 16 bits");
    assert_int_equal(sh_audio_writer_n_frames(writer), 0);
    sh_audio_writer_close(&writer);
    scratch_close(&scratch);
}

static void test_wrong_settings_are_refused(void **state)
{
    static const struct {
        struct sh_audio_writer_config config;
        enum sh_status status;
    } cases[] = {
        {{SH_AUDIO_WAV, 12, 1, 10.0}, SH_ERR_ARGUMENT},
        {{SH_AUDIO_WAV, 16, 0, 10.0}, SH_ERR_ARGUMENT},
        {{SH_AUDIO_WAV, 16, 17, 10.0}, SH_ERR_ARGUMENT},
        {{SH_AUDIO_WAV, 16, 1, 0.0}, SH_ERR_ARGUMENT},
        {{SH_AUDIO_WAV, 16, 1, (double)NAN}, SH_ERR_ARGUMENT},
        {{SH_AUDIO_WAV, 16, 1, 1e10}, SH_ERR_ARGUMENT},
        {{SH_AUDIO_FLAC, 32, 1, 10.0}, SH_ERR_UNSUPPORTED},
        {{SH_AUDIO_FLAC, 0, 1, 10.0}, SH_ERR_UNSUPPORTED},
        {{SH_AUDIO_FLAC, 16, 9, 10.0}, SH_ERR_UNSUPPORTED},
        {{SH_AUDIO_FLAC, 16, 1, 655360.0}, SH_ERR_UNSUPPORTED},
        {{SH_AUDIO_FLAC, 16, 1, 65537.0}, SH_ERR_UNSUPPORTED}, /* no frame header holds it */
    };
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a", path);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_audio_writer *writer = NULL;
        struct sh_error err = {0};
        assert_int_equal(sh_audio_writer_open(path, &cases[i].config, &writer, &err),
                         cases[i].status);
        assert_int_equal(err.status, cases[i].status);
        assert_null(writer);
        assert_false(scratch_exists(path));
    }
    scratch_close(&scratch);
}

static void test_files_are_never_overwritten(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_audio_writer *writer = NULL;
    struct sh_error err = {0};
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 1, 10.0};
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    scratch_write(path, "mine", 4);
    assert_int_equal(sh_audio_writer_open(path, &config, &writer, &err), SH_ERR_EXISTS);
    assert_string_equal(err.where, path);
    char *text = scratch_read(path, NULL);
    assert_string_equal(text, "mine");
    free(text);
    assert_int_equal(sh_audio_writer_open("/nowhere/a.wav", &config, &writer, NULL),
                     SH_ERR_NOT_FOUND);
    scratch_close(&scratch);
}

static void test_a_file_takes_the_place_of_another(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    char final_path[SCRATCH_PATH_BYTES];
    struct sh_audio_writer *writer = NULL;
    struct sh_audio_reader *reader = NULL;
    struct sh_error err = {0};
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 1, 10.0};
    const double raw[2] = {1.0, 2.0};
    double got[3];
    size_t n = 0;
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav.new", path);
    scratch_path(&scratch, "a.wav", final_path);
    scratch_write(final_path, "old", 3);
    assert_int_equal(sh_audio_writer_open(path, &config, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, raw, 1, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_rename(writer, final_path, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, raw + 1, 1, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_rename(writer, "/nowhere/a.wav", &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "/nowhere/a.wav");
    sh_audio_writer_close(&writer);
    assert_false(scratch_exists(path));
    assert_int_equal(sh_audio_reader_open(final_path, 1, 10.0, &reader, NULL), SH_OK);
    assert_int_equal(sh_audio_reader_read(reader, got, 3, &n, NULL), SH_OK);
    assert_int_equal(n, 2);
    assert_memory_equal(got, raw, sizeof raw);
    sh_audio_reader_close(&reader);
    scratch_close(&scratch);
}

/* In a child: 3000 frames, synced, then 100 more, then killed. */
static void write_and_die(const char *path, enum sh_audio_container container)
{
    struct sh_audio_writer *writer = NULL;
    const struct sh_audio_writer_config config = {container, 24, 1, 1000.0};
    double raw[3000];
    for (size_t i = 0; i < 3000; i++) {
        raw[i] = (double)i;
    }
    if (sh_audio_writer_open(path, &config, &writer, NULL) == SH_OK &&
        sh_audio_writer_write(writer, raw, 3000, NULL) == SH_OK &&
        sh_audio_writer_sync(writer, NULL) == SH_OK &&
        sh_audio_writer_write(writer, raw, 100, NULL) == SH_OK) {
        (void)raise(SIGKILL);
    }
    _exit(1);
}

static void test_what_was_synced_survives_a_kill(void **state)
{
    static const enum sh_audio_container containers[] = {SH_AUDIO_WAV, SH_AUDIO_RF64};
    for (size_t i = 0; i < 2; i++) {
        struct scratch scratch;
        char path[SCRATCH_PATH_BYTES];
        struct sh_audio_reader *reader = NULL;
        double raw[4000];
        size_t n = 0;
        int result = 0;
        scratch_open(&scratch);
        scratch_path(&scratch, "a.wav", path);
        pid_t child = fork();
        if (child == 0) {
            write_and_die(path, containers[i]);
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(WIFSIGNALED(result));
        assert_int_equal(sh_audio_reader_open(path, 1, 1000.0, &reader, NULL), SH_OK);
        assert_int_equal(sh_audio_reader_read(reader, raw, 4000, &n, NULL), SH_OK);
        assert_in_range(n, 3000, 3100);
        for (size_t k = 0; k < n; k++) {
            assert_int_equal((int)raw[k], k % 3000);
        }
        sh_audio_reader_close(&reader);
        scratch_close(&scratch);
    }
}

/* In a child: a limit of 20,000 bytes a file stands for a full disk. */
static int write_over_limit(const char *path, enum sh_audio_container container)
{
    const struct rlimit limit = {20000, 20000};
    const struct sh_audio_writer_config config = {container, 16, 1, 1000.0};
    struct sh_audio_writer *writer = NULL;
    struct sh_error err = {0};
    double raw[1000];
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < 1000; i++) {
        raw[i] = fmod((double)(i * i) * 7919.0, 65536.0) - 32768.0; /* FLAC cannot shrink it */
    }
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0 || signal(SIGXFSZ, SIG_IGN) == SIG_ERR ||
        sh_audio_writer_open(path, &config, &writer, NULL) != SH_OK) {
        return 1;
    }
    for (int i = 0; i < 100 && status == SH_OK; i++) {
        status = sh_audio_writer_write(writer, raw, 1000, &err);
    }
    if (status == SH_OK) {
        status = sh_audio_writer_finish(writer, &err);
    }
    sh_audio_writer_close(&writer);
    return status == SH_ERR_IO && err.status == SH_ERR_IO && strcmp(err.where, path) == 0 ? 0
                                                                                          : 2;
}

static void test_a_full_disk_is_told(void **state)
{
    static const enum sh_audio_container containers[] = {SH_AUDIO_WAV, SH_AUDIO_RF64,
                                                         SH_AUDIO_FLAC};
    for (size_t i = 0; i < 3; i++) {
        struct scratch scratch;
        char path[SCRATCH_PATH_BYTES];
        int result = 0;
        scratch_open(&scratch);
        scratch_path(&scratch, "a", path);
        pid_t child = fork();
        if (child == 0) {
            _exit(write_over_limit(path, containers[i]));
        }
        assert_int_equal(waitpid(child, &result, 0), child);
        assert_true(WIFEXITED(result));
        assert_int_equal(WEXITSTATUS(result), 0);
        scratch_close(&scratch);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_samples_come_back_unaltered),
        cmocka_unit_test(test_the_same_samples_give_the_same_bytes),
        cmocka_unit_test(test_limits_of_the_bits_are_kept),
        cmocka_unit_test(test_what_does_not_fit_is_refused),
        cmocka_unit_test(test_wrong_settings_are_refused),
        cmocka_unit_test(test_files_are_never_overwritten),
        cmocka_unit_test(test_a_file_takes_the_place_of_another),
        cmocka_unit_test(test_what_was_synced_survives_a_kill),
        cmocka_unit_test(test_a_full_disk_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
