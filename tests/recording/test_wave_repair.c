/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/wave_repair.h"

#include <fcntl.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "recording/audio_reader.h"
#include "recording/scratch.h"
#include "recording/wave_size.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_FRAMES   500
#define N_CHANNELS 2
#define MORE       70 /* frames that the header does not count */

static const int formats[] = {
    SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_WAV | SF_FORMAT_DOUBLE,
    SF_FORMAT_RF64 | SF_FORMAT_PCM_24, SF_FORMAT_W64 | SF_FORMAT_PCM_32};

#define N_FORMATS (sizeof formats / sizeof formats[0])

/* A whole file in memory, as libsndfile writes it, and where its samples lie. */
struct made {
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    char *bytes;
    size_t n_bytes;
    struct sh_wave_place place;
};

static void locate(struct made *made)
{
    int file = open(made->path, O_RDONLY);
    assert_true(file >= 0);
    free(made->bytes);
    made->bytes = scratch_read(made->path, &made->n_bytes);
    assert_true(sh_wave_size_locate(file, made->n_bytes, &made->place));
    assert_int_equal(close(file), 0);
}

static void make(struct made *made, int format)
{
    SF_INFO info = {.samplerate = 1000, .channels = N_CHANNELS, .format = format};
    double *raw = calloc((size_t)N_FRAMES * N_CHANNELS, sizeof *raw);
    assert_non_null(raw);
    for (int i = 0; i < N_FRAMES * N_CHANNELS; i++) {
        raw[i] = (double)(i % 101) / 128.0;
    }
    *made = (struct made){.bytes = NULL};
    scratch_open(&made->scratch);
    scratch_path(&made->scratch, "string.wav", made->path);
    SNDFILE *file = sf_open(made->path, SFM_WRITE, &info);
    assert_non_null(file);
    assert_int_equal(sf_writef_double(file, raw, N_FRAMES), N_FRAMES);
    assert_int_equal(sf_close(file), 0);
    free(raw);
    locate(made);
}

static void unmake(struct made *made)
{
    free(made->bytes);
    scratch_close(&made->scratch);
}

/* The file with so many bytes, its first's more than once where there are not so many. */
static void resize(const struct made *made, size_t n_bytes)
{
    char *bytes = calloc(1, n_bytes + 1);
    assert_non_null(bytes);
    for (size_t i = 0; i < n_bytes; i++) {
        size_t from = i < made->n_bytes ? i : made->place.data_offset_bytes + i % 64;
        bytes[i] = made->bytes[from];
    }
    scratch_write(made->path, bytes, n_bytes);
    free(bytes);
}

static void check(const char *path,
                  enum sh_wave_repair_answer answer,
                  uint64_t before_frames,
                  uint64_t now_frames)
{
    struct sh_wave_repair repair;
    struct sh_error err = {0};
    assert_int_equal(sh_wave_repair_run(path, &repair, &err), SH_OK);
    assert_int_equal(repair.answer, answer);
    assert_int_equal(repair.before_frames, before_frames);
    assert_int_equal(repair.now_frames, now_frames);
}

static void check_frames(const char *path, size_t n_frames)
{
    struct sh_audio_reader *reader = NULL;
    struct sh_error err = {0};
    double raw[(N_FRAMES + 2 * MORE) * N_CHANNELS];
    size_t n = 0;
    assert_int_equal(sh_audio_reader_open(path, N_CHANNELS, 1000.0, &reader, &err), SH_OK);
    assert_int_equal(sh_audio_reader_read(reader, raw, N_FRAMES + 2 * MORE, &n, &err), SH_OK);
    assert_int_equal(n, n_frames);
    sh_audio_reader_close(&reader);
}

/* Not one byte from the first sample on may differ. */
static void check_samples(const struct made *made, const char *before, size_t n_before)
{
    size_t n_after = 0;
    char *after = scratch_read(made->path, &n_after);
    assert_int_equal(n_after, n_before);
    assert_memory_equal(after + made->place.data_offset_bytes,
                        before + made->place.data_offset_bytes,
                        n_before - made->place.data_offset_bytes);
    free(after);
}

static void test_whole_files_stay(void **state)
{
    for (size_t i = 0; i < N_FORMATS; i++) {
        struct made made;
        size_t n = 0;
        make(&made, formats[i]);
        check(made.path, SH_WAVE_REPAIR_WHOLE, N_FRAMES, N_FRAMES);
        char *after = scratch_read(made.path, &n);
        assert_int_equal(n, made.n_bytes);
        assert_memory_equal(after, made.bytes, n);
        free(after);
        unmake(&made);
    }
}

/* Samples behind the last header that was written, and a part of a frame. */
static void test_samples_not_counted(void **state)
{
    for (size_t i = 0; i < N_FORMATS; i++) {
        struct made made;
        size_t n = 0;
        make(&made, formats[i]);
        resize(&made,
               made.place.data_offset_bytes + (N_FRAMES + MORE) * made.place.block_bytes + 1);
        char *before = scratch_read(made.path, &n);
        check(made.path, SH_WAVE_REPAIR_DONE, N_FRAMES, N_FRAMES + MORE);
        check_frames(made.path, N_FRAMES + MORE);
        check_samples(&made, before, n);
        check(made.path, SH_WAVE_REPAIR_WHOLE, N_FRAMES + MORE, N_FRAMES + MORE);
        free(before);
        unmake(&made);
    }
}

static void test_samples_missing(void **state)
{
    for (size_t i = 0; i < N_FORMATS; i++) {
        struct made made;
        size_t n = 0;
        make(&made, formats[i]);
        resize(&made, made.place.data_offset_bytes + 300 * made.place.block_bytes + 1);
        char *before = scratch_read(made.path, &n);
        check(made.path, SH_WAVE_REPAIR_DONE, N_FRAMES, 300);
        check_frames(made.path, 300);
        check_samples(&made, before, n);
        free(before);
        unmake(&made);
    }
}

/* A writer that never came back to its header leaves 0 or all ones. */
static void test_open_sizes(void **state)
{
    static const unsigned char sizes[] = {0x00, 0xFF};
    for (size_t i = 0; i < sizeof sizes; i++) {
        struct made made;
        make(&made, formats[0]);
        memset(made.bytes + made.place.data_offset_bytes - 4, sizes[i], 4);
        resize(&made, made.n_bytes);
        check(made.path, SH_WAVE_REPAIR_DONE, 0, N_FRAMES);
        check_frames(made.path, N_FRAMES);
        unmake(&made);
    }
}

/* Chunks behind the samples are none. */
static void test_chunks_behind(void **state)
{
    static const char list[] = "LIST\x08\0\0\0INFOabcd";
    struct made made;
    make(&made, formats[0]);
    size_t n_bytes = made.n_bytes + sizeof list - 1;
    char *bytes = malloc(n_bytes);
    assert_non_null(bytes);
    memcpy(bytes, made.bytes, made.n_bytes);
    memcpy(bytes + made.n_bytes, list, sizeof list - 1);
    scratch_write(made.path, bytes, n_bytes);
    check(made.path, SH_WAVE_REPAIR_WHOLE, N_FRAMES, N_FRAMES);
    free(bytes);
    unmake(&made);
}

static void test_foreign_files(void **state)
{
    static const char flac[] = "fLaC\0\0\0\x22 and so on, long enough to be looked at";
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_wave_repair repair;
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, "bow.flac", path);
    assert_int_equal(sh_wave_repair_run(path, &repair, &err), SH_ERR_NOT_FOUND);
    err = (struct sh_error){0};
    scratch_write(path, flac, sizeof flac);
    assert_int_equal(sh_wave_repair_run(path, &repair, &err), SH_OK);
    assert_int_equal(repair.answer, SH_WAVE_REPAIR_FOREIGN);
    scratch_write(path, "", 0);
    assert_int_equal(sh_wave_repair_run(path, &repair, &err), SH_OK);
    assert_int_equal(repair.answer, SH_WAVE_REPAIR_FOREIGN);
    char *after = scratch_read(path, NULL);
    assert_string_equal(after, "");
    free(after);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_whole_files_stay), cmocka_unit_test(test_samples_not_counted),
        cmocka_unit_test(test_samples_missing),  cmocka_unit_test(test_open_sizes),
        cmocka_unit_test(test_chunks_behind),    cmocka_unit_test(test_foreign_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
