/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_copy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

#define N_FRAMES ((size_t)10007) /* several parts, and not a whole number of them */

/* A file of two channels; one sample is another where odd_frame lies inside. */
static void make_file(const char *path, unsigned bits, size_t n_frames, size_t odd_frame)
{
    struct sh_audio_writer *writer = NULL;
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, bits, 2, 1000.0};
    assert_int_equal(sh_audio_writer_open(path, &config, &writer, NULL), SH_OK);
    for (size_t i = 0; i < n_frames; i++) {
        double sample = fmod((double)i * 7919.0, 60000.0) - 30000.0;
        const double frame[2] = {sample, i == odd_frame ? sample + 1.0 : sample};
        assert_int_equal(sh_audio_writer_write(writer, frame, 1, NULL), SH_OK);
    }
    assert_int_equal(sh_audio_writer_finish(writer, NULL), SH_OK);
    sh_audio_writer_close(&writer);
}

struct fixture {
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    char other_path[SCRATCH_PATH_BYTES];
};

static void open_fixture(struct fixture *f)
{
    scratch_open(&f->scratch);
    scratch_path(&f->scratch, "a.wav", f->path);
    scratch_path(&f->scratch, "b", f->other_path);
    make_file(f->path, 16, N_FRAMES, SIZE_MAX);
}

static void test_copies_hold_the_same(void **state)
{
    static const struct sh_audio_writer_config configs[] = {{SH_AUDIO_FLAC, 16, 2, 1000.0},
                                                            {SH_AUDIO_WAV, 32, 2, 1000.0},
                                                            {SH_AUDIO_RF64, 24, 2, 1000.0}};
    struct fixture f;
    open_fixture(&f);
    for (size_t i = 0; i < sizeof configs / sizeof configs[0]; i++) {
        struct sh_audio_reader *reader = NULL;
        struct sh_audio_writer *writer = NULL;
        assert_int_equal(sh_audio_reader_open(f.path, 2, 1000.0, &reader, NULL), SH_OK);
        assert_int_equal(sh_audio_writer_open(f.other_path, &configs[i], &writer, NULL), SH_OK);
        assert_int_equal(sh_audio_copy_append(reader, 2, writer, NULL), SH_OK);
        assert_int_equal(sh_audio_writer_n_frames(writer), N_FRAMES);
        assert_int_equal(sh_audio_writer_finish(writer, NULL), SH_OK);
        sh_audio_writer_close(&writer);
        sh_audio_reader_close(&reader);
        assert_int_equal(sh_audio_copy_compare(f.path, f.other_path, 2, 1000.0, NULL), SH_OK);
        assert_int_equal(unlink(f.other_path), 0);
    }
    scratch_close(&f.scratch);
}

static void test_each_difference_is_found(void **state)
{
    static const size_t odd_frames[] = {0, 4095, 4096, N_FRAMES - 1};
    struct fixture f;
    open_fixture(&f);
    for (size_t i = 0; i < sizeof odd_frames / sizeof odd_frames[0]; i++) {
        struct sh_error err = {0};
        make_file(f.other_path, 16, N_FRAMES, odd_frames[i]);
        assert_int_equal(sh_audio_copy_compare(f.path, f.other_path, 2, 1000.0, &err),
                         SH_ERR_FORMAT);
        assert_string_equal(err.where, f.other_path);
        assert_non_null(strstr(err.what, "the copy differs within 4096 frames of frame"));
        assert_int_equal(unlink(f.other_path), 0);
    }
    scratch_close(&f.scratch);
}

static void test_other_lengths_differ(void **state)
{
    static const size_t lengths[] = {1, 8192, N_FRAMES - 1, N_FRAMES + 1, 3 * N_FRAMES};
    struct fixture f;
    open_fixture(&f);
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        make_file(f.other_path, 16, lengths[i], SIZE_MAX);
        assert_int_equal(sh_audio_copy_compare(f.path, f.other_path, 2, 1000.0, NULL),
                         SH_ERR_FORMAT);
        assert_int_equal(sh_audio_copy_compare(f.other_path, f.path, 2, 1000.0, NULL),
                         SH_ERR_FORMAT);
        assert_int_equal(unlink(f.other_path), 0);
    }
    assert_int_equal(sh_audio_copy_compare(f.path, f.other_path, 2, 1000.0, NULL),
                     SH_ERR_NOT_FOUND);
    scratch_close(&f.scratch);
}

static void test_what_does_not_fit_is_told(void **state)
{
    struct fixture f;
    struct sh_audio_reader *reader = NULL;
    struct sh_audio_writer *writer = NULL;
    struct sh_error err = {0};
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 2, 1000.0};
    const double large[2] = {0.0, 40000.0};
    open_fixture(&f);
    assert_int_equal(unlink(f.path), 0);
    const struct sh_audio_writer_config wide = {SH_AUDIO_WAV, 24, 2, 1000.0};
    assert_int_equal(sh_audio_writer_open(f.path, &wide, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, large, 1, NULL), SH_OK);
    sh_audio_writer_close(&writer);
    assert_int_equal(sh_audio_reader_open(f.path, 2, 1000.0, &reader, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_open(f.other_path, &config, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_copy_append(reader, 2, writer, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.where, f.other_path);
    sh_audio_writer_close(&writer);
    sh_audio_reader_close(&reader);
    scratch_close(&f.scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_copies_hold_the_same),
        cmocka_unit_test(test_each_difference_is_found),
        cmocka_unit_test(test_other_lengths_differ),
        cmocka_unit_test(test_what_does_not_fit_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
