/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_reader.h"

#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_FRAMES 1000u

/* Makes a file of two channels at 1000 Hz; integers are shifted to the top, as libsndfile
 * wants.
 */
static void make_file(const char *path, int format, unsigned left_shift)
{
    SF_INFO info = {.samplerate = 1000, .channels = 2, .format = format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    for (int i = 0; i < (int)N_FRAMES; i++) {
        const int frame[2] = {(i % 128) * (1 << left_shift), -(i % 128) * (1 << left_shift)};
        assert_int_equal(sf_writef_int(file, frame, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
}

static void make_float_file(const char *path, int format, const double *values, size_t n)
{
    SF_INFO info = {.samplerate = 1000, .channels = 1, .format = format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    assert_int_equal(sf_writef_double(file, values, (sf_count_t)n), n);
    assert_int_equal(sf_close(file), 0);
}

struct width {
    int format;
    unsigned left_shift;
    unsigned bits;
};

/* Reads in parts of 300 frames and checks each count. */
static void check_counts(const char *path, const struct width *width)
{
    struct sh_audio_reader *reader = NULL;
    double raw[2 * 300];
    size_t n = 0;
    size_t total = 0;
    assert_int_equal(sh_audio_reader_open(path, 2, 1000.0, &reader, NULL), SH_OK);
    assert_int_equal(sh_audio_reader_bits(reader), width->bits);
    assert_false(sh_audio_reader_is_physical(reader));
    assert_int_equal(sh_audio_reader_is_flac(reader),
                     (width->format & SF_FORMAT_TYPEMASK) == SF_FORMAT_FLAC);
    do {
        assert_int_equal(sh_audio_reader_read(reader, raw, 300, &n, NULL), SH_OK);
        for (size_t k = 0; k < n; k++) {
            assert_near(raw[2 * k], (double)((total + k) % 128), 0.0, 0.0);
            assert_near(raw[2 * k + 1], -(double)((total + k) % 128), 0.0, 0.0);
        }
        total += n;
        assert_int_equal(sh_audio_reader_n_frames(reader), total);
    } while (n > 0);
    assert_int_equal(total, N_FRAMES);
    sh_audio_reader_close(&reader);
    assert_null(reader);
    sh_audio_reader_close(&reader);
}

static void test_counts_of_every_width_are_read(void **state)
{
    static const struct width widths[] = {
        {SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 24, 8},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_16, 16, 16},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_24, 8, 24},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_32, 0, 32},
        {SF_FORMAT_WAVEX | SF_FORMAT_PCM_16, 16, 16},
        {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 8, 24},
        {SF_FORMAT_W64 | SF_FORMAT_PCM_16, 16, 16},
        {SF_FORMAT_FLAC | SF_FORMAT_PCM_S8, 24, 8},
        {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 16, 16},
        {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 8, 24},
    };
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a", path);
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        make_file(path, widths[i].format, widths[i].left_shift);
        check_counts(path, &widths[i]);
        assert_int_equal(unlink(path), 0);
    }
    scratch_close(&scratch);
}

static void test_floats_are_physical_values(void **state)
{
    static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_FLOAT,
                                  SF_FORMAT_WAV | SF_FORMAT_DOUBLE,
                                  SF_FORMAT_RF64 | SF_FORMAT_DOUBLE};
    const double values[3] = {178.25, -0.5, 123456.0};
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a", path);
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        struct sh_audio_reader *reader = NULL;
        double raw[5];
        size_t n = 0;
        make_float_file(path, formats[i], values, 3);
        assert_int_equal(sh_audio_reader_open(path, 1, 1000.4, &reader, NULL), SH_OK);
        assert_true(sh_audio_reader_is_physical(reader));
        assert_int_equal(sh_audio_reader_bits(reader), 0);
        assert_int_equal(sh_audio_reader_read(reader, raw, 5, &n, NULL), SH_OK);
        assert_int_equal(n, 3);
        assert_memory_equal(raw, values, sizeof values);
        sh_audio_reader_close(&reader);
        assert_int_equal(unlink(path), 0);
    }
    scratch_close(&scratch);
}

static void test_numbers_that_are_none_are_refused(void **state)
{
    const double values[6] = {1.0, 2.0, 3.0, 4.0, (double)NAN, 6.0};
    double infinite[6] = {1.0, 2.0, 3.0, 4.0, (double)-INFINITY, 6.0};
    const double *const cases[2] = {values, infinite};
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    for (size_t i = 0; i < 2; i++) {
        struct sh_audio_reader *reader = NULL;
        struct sh_error err = {0};
        double raw[3];
        size_t n = 0;
        make_float_file(path, SF_FORMAT_WAV | SF_FORMAT_DOUBLE, cases[i], 6);
        assert_int_equal(sh_audio_reader_open(path, 1, 1000.0, &reader, NULL), SH_OK);
        assert_int_equal(sh_audio_reader_read(reader, raw, 3, &n, &err), SH_OK);
        assert_int_equal(sh_audio_reader_read(reader, raw, 3, &n, &err), SH_ERR_NOT_FINITE);
        assert_int_equal(n, 0);
        assert_string_equal(err.what, "channel 0 is no number at frame 4");
        sh_audio_reader_close(&reader);
    }
    scratch_close(&scratch);
}

static void expect_refusal(const char *path, enum sh_status status, const char *what)
{
    struct sh_audio_reader *reader = NULL;
    struct sh_error err = {0};
    char line[SH_ERROR_LINE_BYTES];
    assert_int_equal(sh_audio_reader_open(path, 2, 1000.0, &reader, &err), status);
    assert_null(reader);
    assert_int_equal(err.status, status);
    assert_string_equal(err.where, path);
    assert_non_null(strstr(err.what, what));
    sh_error_format(&err, line);
    assert_null(strchr(line, '\n'));
}

static void test_what_is_no_audio_is_refused(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    expect_refusal(path, SH_ERR_NOT_FOUND, "No such file");
    scratch_write(path, "", 0);
    expect_refusal(path, SH_ERR_FORMAT, "the file is empty");
    scratch_write(path, "time,force\n0.001,12.5\n0.002,12.6\n", 33);
    expect_refusal(path, SH_ERR_FORMAT, "this is no audio file");
    scratch_write(path, "RIFF\x24\0\0\0WAVE", 12);
    expect_refusal(path, SH_ERR_FORMAT, "this is no audio file");
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkfifo(path, 0600), 0);
    expect_refusal(path, SH_ERR_FORMAT, "this is no file");
    expect_refusal(scratch.folder, SH_ERR_FORMAT, "this is no file");
    scratch_close(&scratch);
}

static void test_other_channels_and_rates_are_refused(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_audio_reader *reader = NULL;
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    make_file(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 16);
    assert_int_equal(sh_audio_reader_open(path, 3, 1000.0, &reader, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what, "the file has 2 channels, the recording says 3");
    err = (struct sh_error){0};
    assert_int_equal(sh_audio_reader_open(path, 2, 1000.6, &reader, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what,
                        "the file has 1000 frames a second, the recording says 1000.6");
    assert_int_equal(sh_audio_reader_open(path, 2, 999.6, &reader, NULL), SH_OK);
    sh_audio_reader_close(&reader);
    scratch_close(&scratch);
}

static void test_lossy_samples_are_refused(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    make_file(path, SF_FORMAT_WAV | SF_FORMAT_ULAW, 16);
    expect_refusal(path, SH_ERR_UNSUPPORTED, "the samples are coded with loss");
    scratch_close(&scratch);
}

static void test_a_file_without_frames_is_told(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    SF_INFO info = {
        .samplerate = 1000, .channels = 2, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    scratch_open(&scratch);
    scratch_path(&scratch, "a.wav", path);
    assert_int_equal(sf_close(sf_open(path, SFM_WRITE, &info)), 0);
    expect_refusal(path, SH_ERR_SHORT, "the file holds no samples");
    scratch_close(&scratch);
}

/* Opens and reads to the end; the first status that is not SH_OK. */
static enum sh_status read_all(const char *path, uint64_t *n_frames, struct sh_error *err)
{
    struct sh_audio_reader *reader = NULL;
    double raw[2 * 64];
    size_t n = 1;
    enum sh_status status = sh_audio_reader_open(path, 2, 1000.0, &reader, err);
    while (status == SH_OK && n > 0) {
        status = sh_audio_reader_read(reader, raw, 64, &n, err);
    }
    *n_frames = reader != NULL ? sh_audio_reader_n_frames(reader) : 0;
    sh_audio_reader_close(&reader);
    return status;
}

/* True where a cut file gives all its frames; else it must be refused in one line. */
static bool is_whole(const char *path)
{
    struct sh_error err = {0};
    uint64_t n_frames = 0;
    enum sh_status status = read_all(path, &n_frames, &err);
    if (status == SH_OK) {
        assert_int_equal(n_frames, N_FRAMES);
        return true;
    }
    assert_true(status == SH_ERR_FORMAT || status == SH_ERR_SHORT);
    assert_int_equal(err.status, status);
    assert_string_equal(err.where, path);
    return false;
}

static void test_each_cut_is_told(void **state)
{
    static const struct width widths[] = {{SF_FORMAT_WAV | SF_FORMAT_PCM_16, 16, 16},
                                          {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 8, 24},
                                          {SF_FORMAT_W64 | SF_FORMAT_PCM_16, 16, 16},
                                          {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 16, 16}};
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a", path);
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        size_t n_bytes = 0;
        size_t n_whole = 0;
        make_file(path, widths[i].format, widths[i].left_shift);
        char *bytes = scratch_read(path, &n_bytes);
        for (size_t cut = 0; cut < n_bytes; cut += cut < 120 ? 1 : 97) {
            scratch_write(path, bytes, cut);
            n_whole += is_whole(path) ? 1 : 0;
        }
        assert_true(n_whole <= 1); /* a pad byte, say, may go */
        free(bytes);
        assert_int_equal(unlink(path), 0);
    }
    scratch_close(&scratch);
}

static void test_long_paths_are_refused(void **state)
{
    char path[5000];
    struct sh_audio_reader *reader = NULL;
    memset(path, 'a', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    assert_int_equal(sh_audio_reader_open(path, 2, 1000.0, &reader, NULL), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_counts_of_every_width_are_read),
        cmocka_unit_test(test_floats_are_physical_values),
        cmocka_unit_test(test_numbers_that_are_none_are_refused),
        cmocka_unit_test(test_what_is_no_audio_is_refused),
        cmocka_unit_test(test_other_channels_and_rates_are_refused),
        cmocka_unit_test(test_lossy_samples_are_refused),
        cmocka_unit_test(test_a_file_without_frames_is_told),
        cmocka_unit_test(test_each_cut_is_told),
        cmocka_unit_test(test_long_paths_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
